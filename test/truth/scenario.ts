/**
 * What one simulated unwind is and what happens to it. Everything has a default, so a test names only what it is about.
 * Units here are those of the shop floor (mm, µm, m/min, s): a scenario reads like a machine's data sheet.
 */
import type { SignalName } from '../../edge/signals/catalogue.ts'
import { JOINT_SENSORS, type JointSensors } from './joint-sensors.ts'

/** What goes wrong at the splice that ends the roll with this number (0 is the first roll). */
export interface SpliceEvent {
  roll: number
  kind:
    | 'no_new_roll' // the waiting roll is not ready when due; the roll runs to its core
    | 'ran_out' // ready, but the splicer does not start
    | 'web_break' // the web parts after the transfer, inside the web path
    | 'cycle_too_slow' // the stop takes three times as long; the buffer reaches its end
    | 'buffer_empty' // the buffer was not filled; a normal stop empties it
    | 'aborted' // the cycle starts and resets; the old roll runs on and is spliced at a second attempt
    | 'manual_early' // a person presses the button well above the splice diameter
    | 'slow_stop' // the stop takes 1.6 times as long; the buffer carries it
    | 'slow_fill' // the fill comes at a quarter of its rate
}

/** A machine that is set anew: what holds from the roll with this number on. */
export interface Change {
  roll: number
  stopS?: number
  spliceMm?: number
  fillShare?: number
}

/** What spoils the tags (`stuck` and `arm` spoil the splicer's own reading as well; `zero` is a sensor that sees nothing). */
export interface Disturbance {
  kind: 'stuck' | 'arm' | 'zero' | 'dropout' | 'bad' | 'gap'
  fromS: number
  toS: number
}

/** From `atS` on the line is set to this speed. */
export interface SpeedChange {
  atS: number
  speedMpm: number
}

export interface Scenario {
  unwind: string
  seed: number
  durationS: number
  startTMs: number

  // The web and its rolls.
  caliperUm: number
  /** What the label says is wrong by, share: true caliper is label × (1 + this). */
  caliperOff: number
  /** Standard deviation between rolls; drift from outside to core; random walk over a whole roll; shares. */
  caliperScatter: number
  caliperDrift: number
  caliperWander: number
  coreMm: number
  /** How long a roll lasts from full to the splice diameter at the running speed. */
  rollS: number
  /** The same for single rolls by their number, where it differs. */
  rollsS: readonly (number | undefined)[]
  /** How much of the first roll is left at the start, share. */
  firstRoll: number

  // The line.
  speedMpm: number
  lineRampMps2: number
  tripRampMps2: number
  schedule: readonly SpeedChange[]
  /** At these times a roll is changed by hand, where the line stands. */
  handChangesS: readonly number[]
  repairS: number
  pathM: number
  /** Distances of stations along the web from the splicer, without what the buffer holds, m. */
  stationsM: readonly number[]
  /** What looks at joints along the web. */
  sensors: JointSensors
  /** The `line_speed` tag reads true speed × this. */
  tachScale: number
  /** The web is taken in steps: so long it moves, so long it rests; `speedMpm` is the mean. */
  indexing: { moveMs: number; restMs: number } | undefined
  /** What the setpoint's tag shows, whatever the line was told. */
  shownSetpointMpm: number | undefined

  // The splicer.
  method: 'zero_speed' | 'flying' | 'stopped'
  spliceMm: number
  /**
   * What starts the cycle: the filtered diameter; a counter of web taken, against the roll's length on its label; a sensor
   * that sees the web's end come (a mark, bare core); a person's button, near the splice diameter.
   */
  trigger: 'diameter' | 'length' | 'end_sensor' | 'manual'
  spliceSpeedMpm: number | undefined
  stopS: number
  /** Standard deviation of the stop, share. */
  stopScatter: number
  decelerationMps2: number
  accelerationMps2: number
  /**
   * What limits the unwind's acceleration: its ramp, the motor's torque on the core (1/a ∝ w(R⁴ − r⁴)/R) or the force that
   * the web may take (1/a ∝ w(R⁴ − r⁴)/R²); `accelerationMps2` is that of a usual roll.
   */
  accelerationLimit: 'ramp' | 'torque' | 'force'
  /** Time in which the unwind's drive builds up and takes back its full acceleration: S-curved ramps, s. */
  jerkS: number
  overspeed: number
  unwindDrive: 'driven' | 'braked'
  triggerDelayS: number
  scanMs: number
  filterS: number
  preparationS: number
  /** Standard deviation of the preparation, share. */
  preparationScatter: number
  joinS: number
  events: readonly SpliceEvent[]
  changes: readonly Change[]
  /** What the data sheet (the config) says ÷ what is true. */
  sheet: { stop?: number; deceleration?: number; acceleration?: number; overspeed?: number; preparation?: number }
  /** The config does not know that the line slows down for a splice. */
  hidesSpliceSpeed: boolean
  /** Widths of the rolls, m, in turn; empty: all alike and of no known width. */
  widthsM: readonly number[]

  // The buffer.
  bufferMode: 'fill_before' | 'rides_full'
  /** Undefined: sized so that a cycle at `speedMpm` leaves `spareM` over the reserve. */
  capacityM: number | undefined
  spareM: number
  runningShare: number
  fillShare: number
  tripShare: number
  reserveM: number

  // The diameter sensor.
  noiseMm: number
  quantumMm: number
  offsetMm: number
  scale: number
  outOfRoundMm: number
  oncePerTurn: boolean
  /** By a sensor, or by the PLC: line speed over the spindle's turns, once a turn. The splicer has its own reading. */
  diameterBy: 'sensor' | 'line_speed'
  /** A program that computes the diameter holds it during fill, stop and refill. */
  freezes: boolean
  /** At a roll change the reading is set to this and comes to the roll's own over so many turns; mm. */
  presetMm: number | undefined
  convergeTurns: number
  /** The reading of one roll may never rise. */
  onlyFalls: boolean
  /** After each transfer the turret turns and the sensor sees nothing for so long, s; what its tag does meanwhile. */
  blindS: number
  blindBy: 'bad' | 'hold' | 'zero'

  // The tags.
  signals: readonly SignalName[]
  bySpindle: boolean
  festoonOverMqtt: boolean
  periodMs: number
  /** Tags that are polled more slowly than the others. */
  periodsMs: Partial<Record<SignalName, number>>
  /** The festoon's stamps are ahead of the line's. */
  brokerAheadMs: number
  totaliserWrapsM: number
  totaliserQuantumM: number
  totaliserResetsS: readonly number[]
  onChange: boolean
  disorderMs: number
  duplicateShare: number
  disturbances: readonly Disturbance[]
}

export const REQUIRED: readonly SignalName[] = ['line_speed', 'roll_diameter', 'buffer_position']
/** Eight tags, as many lines have them. */
export const USUAL: readonly SignalName[] = [
  ...REQUIRED,
  'unwind_speed',
  'speed_setpoint',
  'new_roll_ready',
  'splice_active',
  'active_spindle',
]
export const ALL: readonly SignalName[] = [
  ...USUAL,
  'line_length',
  'spindle_speed',
  'line_state',
  'splice_diameter',
  'splicer_auto',
  'splice_step',
  'splice_fault',
  'web_break',
  'splice_count',
  'tension',
  'tension_setpoint',
  'waiting_diameter',
  'nominal_caliper',
  'roll_id',
]

/** Invented but usual figures of six webs. */
export const SUBSTRATES = {
  label: { caliperUm: 80, coreMm: 100, spliceMm: 130, speedMpm: 300, noiseMm: 0.5 },
  board: { caliperUm: 400, coreMm: 172, spliceMm: 235, speedMpm: 150, noiseMm: 1 },
  medium: { caliperUm: 180, coreMm: 115, spliceMm: 160, speedMpm: 240, noiseMm: 2 },
  film: { caliperUm: 12, coreMm: 92, spliceMm: 100, speedMpm: 400, noiseMm: 0.1 },
  nonwoven: { caliperUm: 500, coreMm: 90, spliceMm: 180, speedMpm: 200, noiseMm: 3 },
  foil: { caliperUm: 30, coreMm: 160, spliceMm: 172, speedMpm: 60, noiseMm: 0.3 },
} as const satisfies Record<string, Partial<Scenario>>

const DEFAULTS: Scenario = {
  unwind: 'label_press',
  seed: 1,
  durationS: 900,
  startTMs: Date.parse('2026-03-02T06:00:00Z'),
  ...SUBSTRATES.label,
  caliperOff: 0,
  caliperScatter: 0.01,
  caliperDrift: 0,
  caliperWander: 0.01,
  rollS: 240,
  rollsS: [],
  firstRoll: 0.6,
  lineRampMps2: 0.3,
  tripRampMps2: 1.5,
  schedule: [],
  handChangesS: [],
  repairS: 60,
  pathM: 60,
  stationsM: [],
  sensors: JOINT_SENSORS,
  tachScale: 1,
  indexing: undefined,
  shownSetpointMpm: undefined,
  method: 'zero_speed',
  trigger: 'diameter',
  spliceSpeedMpm: undefined,
  stopS: 1.1,
  stopScatter: 0.03,
  decelerationMps2: 2.5,
  accelerationMps2: 1.2,
  accelerationLimit: 'ramp',
  jerkS: 0,
  overspeed: 0.12,
  unwindDrive: 'driven',
  triggerDelayS: 0.1,
  scanMs: 20,
  filterS: 0.3,
  preparationS: 60,
  preparationScatter: 0,
  joinS: 40,
  events: [],
  changes: [],
  sheet: {},
  hidesSpliceSpeed: false,
  widthsM: [],
  bufferMode: 'fill_before',
  capacityM: undefined,
  spareM: 2,
  runningShare: 0.25,
  fillShare: 0.95,
  tripShare: 0.03,
  reserveM: 1,
  quantumMm: 0.1,
  offsetMm: 0,
  scale: 1,
  outOfRoundMm: 0,
  oncePerTurn: false,
  diameterBy: 'sensor',
  freezes: false,
  presetMm: undefined,
  convergeTurns: 6,
  onlyFalls: false,
  blindS: 0,
  blindBy: 'bad',
  signals: USUAL,
  bySpindle: false,
  festoonOverMqtt: false,
  periodMs: 100,
  periodsMs: {},
  brokerAheadMs: 0,
  totaliserWrapsM: 10_000,
  totaliserQuantumM: 0.01,
  totaliserResetsS: [],
  onChange: false,
  disorderMs: 0,
  duplicateShare: 0,
  disturbances: [],
}

/** A scenario from what differs from the usual. @throws RangeError where the times do not fit the 5 ms step. */
export function defineScenario(given: Partial<Scenario> = {}): Scenario {
  const scenario = { ...DEFAULTS, ...given }
  for (const key of ['scanMs', 'periodMs'] as const)
    if (scenario[key] <= 0 || scenario[key] % 5 !== 0) throw new RangeError(`${key} has to be a multiple of 5 ms`)
  return scenario
}

export const mps = (mpm: number): number => mpm / 60

/** Net web that one zero-speed cycle takes at speed v with ramps a_dec, a_acc: v·stop + v²/(2a_dec) + v²/(2a_acc), and v·jerk, m. */
export const netWebM = (s: Scenario, v: number): number =>
  s.method === 'zero_speed'
    ? v * (s.stopS + s.jerkS) + (v * v) / (2 * s.decelerationMps2) + (v * v) / (2 * s.accelerationMps2)
    : 0

/** The scenario with what holds at the roll with this number. */
export function settingsAt(s: Scenario, roll: number): { stopS: number; spliceMm: number; fillShare: number } {
  const { stopS, spliceMm, fillShare } = s
  let at = { stopS, spliceMm, fillShare }
  for (const { roll: from, ...change } of s.changes) if (roll >= from) at = { ...at, ...change }
  return at
}

/** Web of a roll from full to the splice diameter, m. */
export const usualWebM = (s: Scenario, rollS = s.rollS): number => rollS * mps(s.speedMpm)

/** The speed at which the line splices, m/s. */
export const cycleSpeedMps = (s: Scenario): number => mps(Math.min(s.speedMpm, s.spliceSpeedMpm ?? s.speedMpm))

export const capacityM = (s: Scenario): number =>
  s.capacityM ?? Math.ceil((netWebM(s, cycleSpeedMps(s)) + s.reserveM + s.spareM) / s.fillShare)

export const hasBuffer = (s: Scenario): boolean => s.method === 'zero_speed'
