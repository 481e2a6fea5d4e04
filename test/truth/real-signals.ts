/**
 * What real signals do and how arrangements differ, one short seeded scenario each, with what has to come of it. Shop-floor
 * knowledge behind every one: common practice, no source.
 */
import type { AlarmId } from '../../edge/columns.ts'
import { REQUIRED, type Scenario, SUBSTRATES, USUAL } from './scenario.ts'

export interface RealSignal {
  name: string
  scenario: Partial<Scenario>
  /** Largest RMS error of the metres, at the usual speed as s, 30, 20 and 10 s before the cycle. */
  allowedS: readonly [number, number, number]
  /** Alarms that have to come, and no others but those of a roll that is not ready. */
  alarms: readonly AlarmId[]
  /** Share of the seconds at which the state agrees; edges of phases fall on either side of one. */
  statesAgree: number
}

/** Three short rolls at 5 m/s, sampled five times a second. */
const SHORT: Partial<Scenario> = {
  rollS: 90,
  firstRoll: 0.9,
  preparationS: 30,
  repairS: 25,
  periodMs: 200,
  durationS: 230,
  signals: REQUIRED,
}

/**
 * Twice what sound signals reach on rolls as short as these (0.4, 0.3 and 0.2 s, bounded below by the trigger's own scatter of
 * 0.1 s); single cases that cannot know as much are let off with more and say why.
 */
const SOUND = [0.9, 0.7, 0.5] as const

/** Where a fill tells nothing new the estimate is reckoned over it: the caliper's last half per cent shows until the cycle. */
const RECKONED = [1.2, 1.2, 1.2] as const

const real = (
  name: string,
  scenario: Partial<Scenario>,
  { allowedS = SOUND, alarms = [], statesAgree = 0.85 }: Partial<Omit<RealSignal, 'name' | 'scenario'>> = {},
): RealSignal => ({ name, scenario: { ...SHORT, ...scenario }, allowedS, alarms, statesAgree })

const stop = (fromS: number, toS: number, speedMpm = 300): Scenario['schedule'] => [
  { atS: fromS, speedMpm: 0 },
  { atS: toS, speedMpm },
]
const threading: Partial<Scenario> = {
  rollsS: [undefined, 80],
  handChangesS: [40],
  schedule: [
    { atS: 25, speedMpm: 0 },
    { atS: 50, speedMpm: 15 },
    { atS: 75, speedMpm: 300 },
  ],
  durationS: 200,
}
const indexing: Partial<Scenario> = {
  speedMpm: 60,
  caliperUm: 300,
  spliceMm: 160,
  overspeed: 0.25,
  periodMs: 100,
  indexing: { moveMs: 530, restMs: 383 },
}
const slowPolls: Partial<Scenario> = {
  signals: [...REQUIRED, 'line_length'],
  periodsMs: { line_speed: 5000 },
  schedule: [
    { atS: 20, speedMpm: 100 },
    { atS: 33, speedMpm: 300 },
  ],
}

export const REAL_SIGNALS: readonly RealSignal[] = [
  // Computed diameters: a tenth low in the fill, nought while the unwind stands, far too high as it comes back.
  real('computed from the line speed', { diameterBy: 'line_speed' }, { allowedS: RECKONED }),
  real(
    'computed from the line speed, surface speed mapped',
    {
      diameterBy: 'line_speed',
      signals: [...REQUIRED, 'unwind_speed'],
    },
    { allowedS: RECKONED },
  ),
  real(
    'computed, festoon rides full',
    { diameterBy: 'line_speed', bufferMode: 'rides_full', signals: USUAL },
    {
      // The newest roll is seen only after its refill, which takes a third of it.
      allowedS: [1.6, 0.9, 0.6],
    },
  ),
  real('computed and held by the program', { diameterBy: 'line_speed', freezes: true }, { allowedS: RECKONED }),
  real('computed, with a stop', { diameterBy: 'line_speed', schedule: stop(25, 45) }, { allowedS: RECKONED }),
  real(
    'computed, roll changed while the line stood',
    { diameterBy: 'line_speed', ...threading },
    { allowedS: RECKONED, statesAgree: 0.8 },
  ),
  // Presets.
  real('preset to a full roll, then a stub', { presetMm: 900, rollsS: [undefined, 75] }),
  real('preset that takes fifteen turns', { presetMm: 500, convergeTurns: 15, signals: USUAL }),
  real('preset too low', { presetMm: 200, signals: USUAL }),
  // The lowest of a noise is what only falls: it knows less than the noise's mean.
  real('only allowed to fall', { onlyFalls: true }),
  real('only allowed to fall, preset', { onlyFalls: true, presetMm: 900, signals: USUAL }),
  // A turret.
  real('blind after the transfer, bad quality', { blindS: 15 }),
  real('blind after the transfer, value holds', { blindS: 20, blindBy: 'hold', signals: USUAL }),
  real('blind after the transfer, reads nought', { blindS: 15, blindBy: 'zero' }),
  real('blind at a flying splice', { method: 'flying', signals: ['line_speed', 'roll_diameter'], blindS: 20 }),
  real(
    'index before the splice reads nought',
    { disturbances: [{ kind: 'zero', fromS: 40, toS: 60 }] },
    {
      alarms: ['diameter_implausible'],
    },
  ),
  // Sensors.
  real(
    'arm in the beam for twenty seconds',
    { firstRoll: 1, disturbances: [{ kind: 'arm', fromS: 25, toS: 45 }] },
    {
      alarms: ['diameter_implausible'],
    },
  ),
  real('arm in the beam, passing', {
    disturbances: [30, 55].map((fromS) => ({ kind: 'arm', fromS, toS: fromS + 0.8 })),
  }),
  real(
    'dropouts',
    {
      disturbances: [
        { kind: 'dropout', fromS: 20, toS: 30 },
        { kind: 'bad', fromS: 42, toS: 50 },
      ],
    },
    { alarms: ['diameter_implausible', 'source_lost'] },
  ),
  real(
    'stuck sensor',
    { firstRoll: 1, disturbances: [{ kind: 'stuck', fromS: 20, toS: 45 }] },
    {
      alarms: ['diameter_implausible'],
    },
  ),
  real(
    'stuck sensor on film',
    {
      ...SUBSTRATES.film,
      firstRoll: 1,
      disturbances: [{ kind: 'stuck', fromS: 10, toS: 32 }],
    },
    { alarms: ['diameter_implausible'] },
  ),
  real('noise of 0.1 mm', { noiseMm: 0.1, quantumMm: 0.05 }),
  real('noise of 5 mm in steps of 1 mm', { noiseMm: 5, quantumMm: 1 }, { allowedS: [4.5, 4, 3.5] }),
  real('once per turn', { oncePerTurn: true, onChange: true }),
  real('reading 3 mm and 1 % off', { offsetMm: 3, scale: 1.01 }),
  real('out of round by 3 mm', { outOfRoundMm: 3 }, { allowedS: [1.8, 1.5, 1.5] }),
  // Speed and length.
  real('tach 1 % off', { tachScale: 1.01, signals: USUAL }),
  real('line speed every 5 s beside a totaliser', { ...slowPolls, totaliserWrapsM: 1000 }),
  real('totaliser in whole metres that is set to nought', {
    ...slowPolls,
    tachScale: 1.01,
    totaliserQuantumM: 1,
    totaliserResetsS: [30, 90],
  }),
  real(
    'gap of half a minute beside a totaliser',
    {
      signals: [...REQUIRED, 'line_length'],
      firstRoll: 1,
      disturbances: [{ kind: 'gap', fromS: 30, toS: 60 }],
      schedule: [
        { atS: 33, speedMpm: 60 },
        { atS: 40, speedMpm: 300 },
      ],
    },
    { alarms: ['source_lost'], statesAgree: 0.78 },
  ),
  real('indexing web', indexing),
  real('indexing web, surface speed mapped', { ...indexing, signals: USUAL }),
  real('indexing web, four strokes a second', { ...indexing, indexing: { moveMs: 147, restMs: 110 } }),
  real('indexing web on change, with a stop', { ...indexing, onChange: true, schedule: stop(30, 50, 60) }),
  real('setpoint that says 300 at 60', { ...indexing, indexing: undefined, signals: USUAL, shownSetpointMpm: 300 }),
  real('ramps, stops and crawls', {
    schedule: [20, 30, 45, 60].map((atS, i) => ({ atS, speedMpm: [150, 20, 0, 300][i]! })),
  }),
  // Reporting.
  real('on change, disordered by 5 s, doubled', {
    signals: USUAL,
    onChange: true,
    disorderMs: 5000,
    duplicateShare: 0.03,
  }),
  real('clocks half a second apart', { festoonOverMqtt: true, brokerAheadMs: -500 }),
  // Rolls and machines.
  real('caliper 5 % off, drifting 3 %', { caliperOff: 0.05, caliperDrift: 0.03 }, { allowedS: [1.1, 0.8, 0.6] }),
  real('caliper 5 % thinner, drifting', { caliperOff: -0.05, caliperDrift: -0.03 }, { allowedS: [1.3, 1, 0.7] }),
  real('stubs', { rollsS: [undefined, 75, 75] }),
  real('half-used roll after threading', threading),
  real('festoon rides full', { bufferMode: 'rides_full' }),
  real('braked unwind', { unwindDrive: 'braked' }),
  // By the carriage alone rounded ramps look like a longer stop.
  real('ramps rounded over half a second', { jerkS: 0.5 }),
  real('ramps rounded over 0.8 s', { jerkS: 0.8, periodMs: 100 }, { allowedS: [1.1, 0.9, 0.7] }),
  real('planned slow-down', { spliceSpeedMpm: 150 }),
]
