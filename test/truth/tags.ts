/** The PLC's tags: what each signal of a scenario is called, how it stands in a config and what it reads. */
import type { SignalName } from '../../edge/signals/catalogue.ts'
import { widthName } from './config-file.ts'
import { decurlerPercent, edgeOffsetMm, finishedRoll, registerErrorMm } from './joint-sensors.ts'
import type { Plant, Spindle } from './plant.ts'
import { type Random, randomStream } from './random.ts'
import { cycleSpeedMps, type Scenario, settingsAt } from './scenario.ts'

export type TagValue = number | boolean | string

export interface TruthTag {
  signal: SignalName
  spindle: Spindle | undefined
  source: 'line_plc' | 'hall_broker'
  /** As a recording names it. */
  address: string
  /** As the config maps it: keys after `source` and `address`. */
  mapping: string
  read(plant: Plant): TagValue
}

const TENSION_N = 180
const STEP_NUMBERS = { idle: 10, filling: 15, slowing: 20, stopped: 30, starting: 40, refilling: 50 } as const

const round = (value: number, decimals: number): number => {
  const scale = 10 ** decimals
  return Math.round(value * scale) / scale
}

type Reader = (s: Scenario, random: Random) => { name: string; mapping: string; read(plant: Plant): TagValue }

const speed =
  (name: string, of: (plant: Plant) => number): Reader =>
  (_s, random) => ({
    name,
    mapping: 'unit: m/min',
    read: (plant) => {
      const mpm = of(plant) * 60
      return mpm <= 0 ? 0 : Math.max(0, round(mpm * (1 + 0.0005 * random.normal()), 1))
    },
  })

const plain =
  (name: string, mapping: string, read: (plant: Plant) => TagValue): Reader =>
  () => ({ name, mapping, read })

const READERS: Partial<Record<SignalName, Reader>> = {
  line_speed: speed('Line.Speed', (p) => p.line.webMps(p.tMs) * p.scenario.tachScale),
  unwind_speed: speed('Unwind.SurfaceSpeed', (p) => p.unwind.speedMps * p.scenario.tachScale),
  buffer_position: (_s, random) => ({
    name: 'Festoon.Position',
    mapping: "unit: '%'",
    read: (p) => round((100 * p.storedM) / p.capacityM + 0.05 * random.normal(), 2),
  }),
  line_length: (s) => {
    let zeroM = 0
    let resets = [...s.totaliserResetsS]
    return {
      name: 'Line.Length',
      mapping: 'unit: m',
      read: (p) => {
        if (resets.length > 0 && p.tMs >= resets[0]! * 1000) {
          resets = resets.slice(1)
          zeroM = p.passedM
        }
        const shownM = (p.passedM - zeroM) % s.totaliserWrapsM
        return round(Math.floor(shownM / s.totaliserQuantumM) * s.totaliserQuantumM, 2)
      },
    }
  },
  spindle_speed: plain('Unwind.SpindleSpeed', 'unit: rpm', (p) =>
    round((p.unwind.speedMps / (Math.PI * p.roll.diameterM)) * 60, 1),
  ),
  speed_setpoint: plain('Line.Setpoint', 'unit: m/min', (p) =>
    round(p.scenario.shownSetpointMpm ?? p.line.setpointMps(p.tMs) * 60, 1),
  ),
  line_state: plain('Line.State', 'values: { 0: stopped, 1: thread, 2: run }', (p) =>
    p.line.speedMps < 1 / 60 ? 0 : p.line.speedMps < 0.5 * cycleSpeedMps(p.scenario) ? 1 : 2,
  ),
  splice_diameter: plain('Splicer.DiameterSetting', 'unit: mm', (p) => settingsAt(p.scenario, p.rollNumber).spliceMm),
  new_roll_ready: plain('Splicer.NewRollReady', '', (p) => p.isReady),
  splicer_auto: plain('Splicer.Auto', '', () => true),
  splice_active: plain('Splicer.Active', '', (p) => p.splicer.isActive),
  splice_step: plain(
    'Splicer.Step',
    'values: { 10: idle, 15: filling, 20: slowing, 30: stopped, 40: starting, 50: refilling }',
    (p) => STEP_NUMBERS[p.splicer.step],
  ),
  splice_fault: plain('Splicer.Fault', '', (p) => p.tMs < p.splicer.faultUntilMs),
  web_break: plain('Line.WebBreak', '', (p) => p.isBroken),
  splice_count: plain('Splicer.Count', "unit: '1'", (p) => p.splicer.count),
  active_spindle: plain('Unwind.Spindle', 'values: { 1: A, 2: B }', (p) => (p.spindle === 'A' ? 1 : 2)),
  joint_seen: plain('Station.JointSeen', '', (p) => p.tMs - p.jointSeenAtMs < 300),
  finished_roll: plain('Rewinder.RollId', '', (p) => finishedRoll(p, p.scenario.sensors)),
  edge_offset: (s, random) => ({
    name: 'Unwind.EdgeOffset',
    mapping: 'unit: mm',
    read: (p) => round(edgeOffsetMm(p, s.sensors, random), 2),
  }),
  register_error: (s, random) => ({
    name: 'Print.RegisterError',
    mapping: 'unit: mm',
    read: (p) => round(registerErrorMm(p, s.sensors, random), 2),
  }),
  decurler_position: (s, random) => ({
    name: 'Decurler.Position',
    mapping: "unit: '%'",
    read: (p) => round(decurlerPercent(p, s.sensors, random), 1),
  }),
  tension: (_s, random) => ({
    name: 'Unwind.Tension',
    mapping: 'unit: N',
    read: (p) => round(p.isBroken || p.hasRunOut ? 0 : TENSION_N + 2 * random.normal(), 1),
  }),
  tension_setpoint: plain('Unwind.TensionSetpoint', 'unit: N', () => TENSION_N),
  nominal_caliper: plain('Roll.Caliper', 'unit: um', (p) => p.scenario.caliperUm),
  material: plain('Roll.Material', '', (p) => widthName(p.roll.data.widthM ?? 1)),
  waiting_material: plain('Splicer.WaitingMaterial', '', (p) => widthName(p.rolls[p.otherSpindle].data.widthM ?? 1)),
  roll_id: plain('Roll.Id', '', (p) => p.roll.data.id),
  waiting_diameter: plain('Splicer.WaitingDiameter', 'unit: mm', (p) => round(p.sensors[p.otherSpindle].rawMm, 1)),
}

export function tagsOf(s: Scenario): TruthTag[] {
  const tags: TruthTag[] = []
  const add = (signal: SignalName, reader: Reader, spindle?: Spindle): void => {
    const { name, mapping, read } = reader(s, randomStream(s.seed, `tag ${signal} ${spindle ?? ''}`))
    const isMqtt = signal === 'buffer_position' && s.festoonOverMqtt
    tags.push({
      signal,
      spindle,
      source: isMqtt ? 'hall_broker' : 'line_plc',
      address: isMqtt ? `plant/${s.unwind}/festoon#position` : `ns=2;s=${s.unwind}.${name}`,
      mapping,
      read,
    })
  }
  for (const signal of s.signals) {
    if (signal === 'buffer_position' && s.method !== 'zero_speed') continue
    if (signal === 'roll_diameter') {
      if (!s.bySpindle)
        add(
          signal,
          plain('Unwind.Diameter', 'unit: mm', (p) => round(p.sensor.shownMm, 2)),
        )
      else
        for (const spindle of ['A', 'B'] as const)
          add(
            signal,
            plain(`Unwind${spindle}.Diameter`, 'unit: mm', (p) => round(p.sensors[spindle].shownMm, 2)),
            spindle,
          )
      continue
    }
    const reader = READERS[signal]
    if (reader === undefined) throw new RangeError(`the simulator has no tag for ${signal}`)
    add(signal, reader)
  }
  return tags
}
