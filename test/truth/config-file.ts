/** The config that belongs to a scenario, as a controls engineer would write it: label values and data sheet, not the truth. */
import { capacityM, type Scenario } from './scenario.ts'
import type { TruthTag } from './tags.ts'

export interface Unwound {
  scenario: Scenario
  tags: readonly TruthTag[]
}

const mapping = (tag: TruthTag): string => {
  const [address, valuePath] = tag.address.split('#')
  const path = valuePath === undefined ? '' : `, value_path: ${valuePath}`
  return `{ source: ${tag.source}, address: '${address}'${path}${tag.mapping === '' ? '' : `, ${tag.mapping}`} }`
}

const off = (value: number, factor = 1): number => Math.round(value * factor * 1e4) / 1e4

function unwindLines({ scenario: s, tags }: Unwound): string[] {
  const lines = [
    `  ${s.unwind}:`,
    `    name: ${s.unwind.replaceAll('_', ' ')}`,
    '    roll:',
    `      core_diameter: ${s.coreMm} mm`,
    `      nominal_caliper: ${s.caliperUm} um`,
    '    splicer:',
    `      method: ${s.method}`,
    `      trigger: ${s.trigger}`,
    // Who triggers by length or by the end itself sets no diameter.
    ...(s.trigger === 'length' || s.trigger === 'end_sensor' ? [] : [`      splice_diameter: ${s.spliceMm} mm`]),
    ...(s.spliceSpeedMpm === undefined || s.hidesSpliceSpeed ? [] : [`      splice_speed: ${s.spliceSpeedMpm} m/min`]),
    `      stop: ${off(s.method === 'stopped' ? s.joinS : s.stopS, s.sheet.stop)} s`,
    `      deceleration: ${off(s.decelerationMps2, s.sheet.deceleration)} m/s2`,
    `      acceleration: ${off(s.accelerationMps2, s.sheet.acceleration)} m/s2`,
    `      overspeed: ${off(Math.round(s.overspeed * 1000) / 10, s.sheet.overspeed)} %`,
    `      unwind: ${s.unwindDrive}`,
    `      preparation: ${off(s.preparationS, s.sheet.preparation)} s`,
    `      path_length: ${s.pathM} m`,
  ]
  if (s.stationsM.length > 0) {
    const stations = s.stationsM.map((distanceM, i) => `{ name: Station ${i + 1}, distance: ${distanceM} m }`)
    lines.push(`      stations: [${stations.join(', ')}]`)
  }
  lines.push(...judgedLines(s))
  if (s.method === 'zero_speed')
    lines.push(
      '    buffer:',
      `      mode: ${s.bufferMode}`,
      '      empty: { position: 0 %, stored: 0 m }',
      `      full: { position: 100 %, stored: ${capacityM(s)} m }`,
      `      running_position: ${100 * (s.bufferMode === 'rides_full' ? s.fillShare : s.runningShare)} %`,
      `      fill_position: ${100 * s.fillShare} %`,
      `      trip_position: ${100 * s.tripShare} %`,
      `      reserve: ${s.reserveM} m`,
    )
  lines.push('    signals:')
  for (const tag of tags) {
    const station = tag.signal === 'joint_seen' ? 1 : tag.signal === 'finished_roll' ? s.stationsM.length : undefined
    const one = station === undefined ? mapping(tag) : `{ by_station: { Station ${station}: ${mapping(tag)} } }`
    if (tag.spindle === undefined) lines.push(`      ${tag.signal}: ${one}`)
  }
  if (s.bySpindle) {
    lines.push('      roll_diameter:', '        by_spindle:')
    for (const tag of tags) if (tag.spindle !== undefined) lines.push(`          ${tag.spindle}: ${mapping(tag)}`)
  }
  return lines
}

/** How the joints' sensors are judged, where they are mapped. */
function judgedLines({ signals, sensors: { sideLay, register } }: Scenario): string[] {
  const lay = `side_lay: { distance: ${sideLay.sensorM} m, tolerance: ${sideLay.toleranceMm} mm }`
  const print = `distance: ${register.sensorM} m, repeat: ${register.repeatMm} mm, tolerance: ${register.toleranceMm} mm`
  return [
    ...(signals.includes('edge_offset') ? [`      ${lay}`] : []),
    ...(signals.includes('register_error') ? [`      register: { ${print} }`] : []),
  ]
}

/** A material per width, so that the width is known. */
export const widthName = (widthM: number): string => `W${Math.round(widthM * 1000)}`
function materialLines(unwinds: readonly Unwound[]): string[] {
  const names = new Map(
    unwinds.flatMap(({ scenario: s }) =>
      s.widthsM.map((widthM) => [
        widthName(widthM),
        `  ${widthName(widthM)}: { core_diameter: ${s.coreMm} mm, caliper: ${s.caliperUm} um, width: ${widthM} m }`,
      ]),
    ),
  )
  return names.size === 0 ? [] : ['materials:', ...names.values()]
}

/** YAML in the shape that `lastwrap --config` reads. */
export function configFile(unwinds: readonly Unwound[]): string {
  const usesBroker = unwinds.some(({ tags }) => tags.some((tag) => tag.source === 'hall_broker'))
  const lines = [
    'version: 1',
    'site:',
    '  name: Alder Quay Works',
    '  time_zone: Europe/Berlin',
    'sources:',
    '  line_plc:',
    '    kind: opcua',
    '    endpoint: opc.tcp://127.0.0.1:4840',
    '    security: { policy: Basic256Sha256, mode: sign_and_encrypt }',
    ...(usesBroker ? ['  hall_broker:', '    kind: mqtt', '    url: mqtt://127.0.0.1:1883'] : []),
    ...materialLines(unwinds),
    'unwinds:',
    ...unwinds.flatMap(unwindLines),
  ]
  return `${lines.join('\n')}\n`
}
