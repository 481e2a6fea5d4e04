/** One unwind: roll, splicer, buffer and signals, and what has to fit between them. */
import type { SignalConfig, SplicerConfig, UnwindConfig } from './config.ts'
import type { Path } from './document.ts'
import type { Limits, Loose, Reading } from './reading.ts'
import { resolveBuffer } from './resolve-buffer.ts'
import { type KnownSources, resolveSignals } from './resolve-signals.ts'
import { checkStationSignals, resolveStations } from './resolve-stations.ts'
import type { SplicerFile, UnwindFile } from './schema.ts'
import { shown } from './validate.ts'

/** Wide limits that catch a wrong unit, not an unusual machine. */
export const CORE: Limits = { min: 0.01, max: 1, words: '10 mm and 1 m' }
export const CALIPER: Limits = { min: 1e-6, max: 0.03, words: '1 um and 30 mm', example: '80 um' }
const DIAMETER: Limits = { min: 0.01, max: 6, words: '10 mm and 6 m' }
const SPEED: Limits = { min: 0.001, max: 60, words: '0.06 m/min and 3600 m/min' }
const RAMP: Limits = { min: 0.01, max: 100, words: '0.01 m/s2 and 100 m/s2' }
const STOP: Limits = { min: 0, max: 3600, words: '0 s and 1 h' }
const PREPARATION: Limits = { min: 0, max: 86_400, words: '0 s and 1 d' }
export const PATH: Limits = { min: 0, max: 20_000, words: '0 m and 20 km' }
export const WIDTH: Limits = { min: 0.001, max: 20, words: '1 mm and 20 m' }
const OVERSPEED: Limits = { min: 0.001, max: 2, words: '0.1 % and 200 %' }
export const RISK: Limits = { min: 1e-9, max: 0.5, words: '0.0000001 % and 50 %' }
const WAVE: Limits = { min: 1e-5, max: 1, words: '0.01 mm and 1 m' }
/** Speed at which `out_of_round_limit` is stated: 300 m/min. */
const WAVE_SPEED_MPS = 5

/** Inside diameters of the commonest cores (3 in and 6 in): written where the outside belongs, the last metres are wrong. */
const INSIDE_DIAMETERS_M = [0.0762, 0.1524]

function resolvePreparation(
  reading: Reading,
  path: Path,
  raw: Loose<SplicerFile>['preparation'],
): SplicerConfig['preparation'] {
  if (typeof raw !== 'object') {
    const totalS = reading.quantity(path, raw, 'duration', PREPARATION)
    // One figure for all: what it consists of is not known, so it counts as work at the splicer.
    return { fetchS: 0, loadS: 0, splicePrepS: totalS, totalS }
  }
  const part = (key: 'fetch' | 'load' | 'splice_prep') =>
    reading.quantity([...path, key], raw[key], 'duration', PREPARATION)
  const [fetchS, loadS, splicePrepS] = [part('fetch'), part('load'), part('splice_prep')]
  return { fetchS, loadS, splicePrepS, totalS: fetchS + loadS + splicePrepS }
}

function resolveSpliceSpeed(reading: Reading, path: Path, raw: string | undefined): number | undefined {
  if (raw === undefined || raw === 'none') return undefined
  if (/^[-+.\d]/.test(raw.trim())) return reading.quantity(path, raw, 'speed', SPEED)
  reading.fault(
    path,
    `${shown(raw)} is no speed: write for example "120 m/min", or none where the line does not slow down`,
  )
  return Number.NaN
}

function resolveSplicer(reading: Reading, path: Path, raw: Loose<SplicerFile>): SplicerConfig {
  const quantity = (key: keyof SplicerFile, measured: Parameters<Reading['quantity']>[2], limits: Limits) =>
    reading.quantity([...path, key], raw[key], measured, limits)
  const pathLengthM = quantity('path_length', 'length', PATH)
  const { stations, sideLay, register } = resolveStations(reading, path, raw, pathLengthM)
  return {
    method: raw.method ?? 'zero_speed',
    trigger: raw.trigger ?? 'diameter',
    spliceDiameterM: reading.optionalQuantity([...path, 'splice_diameter'], raw.splice_diameter, 'length', DIAMETER),
    spliceSpeedMps: resolveSpliceSpeed(reading, [...path, 'splice_speed'], raw.splice_speed),
    stopS: quantity('stop', 'duration', STOP),
    decelerationMps2: quantity('deceleration', 'acceleration', RAMP),
    accelerationMps2: quantity('acceleration', 'acceleration', RAMP),
    overspeed: quantity('overspeed', 'share', OVERSPEED),
    unwind: raw.unwind ?? 'driven',
    preparation: resolvePreparation(reading, [...path, 'preparation'], raw.preparation),
    pathLengthM,
    runOutRisk: quantity('run_out_risk', 'share', RISK),
    refusesWithinS: quantity('refuses_within', 'duration', STOP),
    tailM: quantity('tail', 'length', PATH),
    spareWraps: raw.spare_wraps ?? 0,
    wasteLimitM: quantity('waste_limit', 'length', PATH),
    stations,
    sideLay,
    register,
  }
}

/** `written` has what the file wrote, refused parts included: whether a signal is mapped at all. */
export function resolveUnwind(
  reading: Reading,
  path: Path,
  id: string,
  raw: Loose<UnwindFile>,
  written: Loose<UnwindFile>,
  known: KnownSources,
): UnwindConfig {
  const coreDiameterM = reading.quantity([...path, 'roll', 'core_diameter'], raw.roll?.core_diameter, 'length', {
    ...CORE,
    example: '100 mm',
  })
  const nominalCaliperM = reading.quantity(
    [...path, 'roll', 'nominal_caliper'],
    raw.roll?.nominal_caliper,
    'length',
    CALIPER,
  )
  if (INSIDE_DIAMETERS_M.some((inside) => Math.abs(coreDiameterM - inside) < 1e-6)) {
    reading.warn(
      [...path, 'roll', 'core_diameter'],
      'is the inside diameter of a common core; the outside belongs here, larger by twice the wall: measure one',
    )
  }
  const splicer = resolveSplicer(reading, [...path, 'splicer'], raw.splicer ?? {})
  const signals = resolveSignals(reading, [...path, 'signals'], raw.signals ?? {}, known)
  checkStationSignals(reading, path, splicer.stations, signals)
  const isMapped = (name: string): boolean => Object.hasOwn(written.signals ?? {}, name)
  const needed = (name: string, remedy: string): void => {
    // Without the section itself, its absence is all there is to tell.
    if (written.signals !== undefined && !isMapped(name)) reading.missing([...path, 'signals', name], remedy)
  }

  needed('line_speed', 'map the tag of the web speed downstream of the buffer; no forecast is possible without it')
  needed('roll_diameter', 'map the tag of the running roll, or one per spindle under by_spindle')
  if (
    splicer.spliceDiameterM === undefined &&
    written.splicer?.splice_diameter === undefined &&
    written.splicer !== undefined
  ) {
    if (splicer.trigger === 'diameter' && !isMapped('splice_diameter')) {
      reading.missing(
        [...path, 'splicer', 'splice_diameter'],
        'write the diameter at which the cycle starts, for example "130 mm", or map the signal splice_diameter',
      )
    }
  }
  if (splicer.spliceDiameterM !== undefined && splicer.spliceDiameterM <= coreDiameterM) {
    reading.fault(
      [...path, 'splicer', 'splice_diameter'],
      `is not above core_diameter (${raw.roll?.core_diameter}), so no web would be left: correct one of the two`,
    )
  }

  const position = signals.find(({ signal }) => signal === 'buffer_position')
  const hasBuffer = written.buffer !== undefined
  if (written.splicer?.method === 'zero_speed') {
    if (!hasBuffer)
      reading.missing([...path, 'buffer'], 'a zero_speed splicer runs from a buffer, so state what it holds')
    needed('buffer_position', 'a zero_speed splicer runs from a buffer, so map the tag of its carriage')
  } else if (hasBuffer && !isMapped('buffer_position')) {
    needed('buffer_position', 'buffer is stated, so map the tag of its carriage, or delete buffer')
  } else if (!hasBuffer && isMapped('buffer_position') && written.splicer?.method !== undefined) {
    reading.missing(
      [...path, 'buffer'],
      'buffer_position is mapped, so state what the buffer holds, or delete the signal',
    )
  }
  const buffer = resolveBuffer(
    reading,
    [...path, 'buffer'],
    raw.buffer ?? {},
    hasBuffer ? knownUnit(position) : undefined,
  )
  return {
    id,
    name: raw.name ?? id,
    roll: {
      coreDiameterM,
      nominalCaliperM,
      outOfRoundLimitM2PerS:
        WAVE_SPEED_MPS *
        reading.quantity([...path, 'roll', 'out_of_round_limit'], raw.roll?.out_of_round_limit, 'length', WAVE),
    },
    job: {
      material: raw.job?.material,
      widthM: reading.optionalQuantity([...path, 'job', 'width'], raw.job?.width, 'length', WIDTH),
      winding: raw.job?.winding,
    },
    splicer,
    buffer: hasBuffer ? buffer : undefined,
    service: Object.entries(raw.service ?? {}).map(([item, one]) => ({
      item,
      name: one?.name,
      every: one?.every,
      hasBatch: one?.batch ?? false,
    })),
    signals,
  }
}

/** The unit of a signal, undefined where it was refused. */
const knownUnit = (signal: SignalConfig | undefined): string | undefined =>
  signal === undefined || Number.isNaN(signal.toSi) ? undefined : signal.unit
