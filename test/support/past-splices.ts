/** Two dozen splices of the invented plant with every outcome, cause and flag, and a trace for most: for tests and for developing pages. */
import type { SpliceView, TraceView } from '../../edge/api/messages.ts'
import type { Cause, Outcome, Phase, PhaseSpan } from '../../edge/columns.ts'
import { pastDetails } from './past-details.ts'
import { type Motion, type MotionOptions, spliceMotion } from './splice-motion.ts'

const MINUTE_MS = 60_000

export const MOTION_BY_UNWIND: Readonly<Record<string, MotionOptions>> = {
  label_press: {
    lineSpeedMps: 5,
    decelerationMps2: 2.5,
    stopS: 1.1,
    accelerationMps2: 1.2,
    overspeed: 0.12,
    runningStoredM: 7.5,
    fillStoredM: 28.5,
    triggerDiameterM: 0.13,
    newDiameterM: 0.62,
    caliperM: 80e-6,
  },
  laminator_inner: {
    lineSpeedMps: 3,
    decelerationMps2: 1.5,
    stopS: 1.4,
    accelerationMps2: 0.8,
    overspeed: 0.1,
    runningStoredM: 22,
    fillStoredM: 24,
    triggerDiameterM: 0.118,
    newDiameterM: 0.8,
    caliperM: 38e-6,
  },
  sack_line: {
    lineSpeedMps: 2.2,
    decelerationMps2: 1,
    stopS: 1.6,
    accelerationMps2: 0.6,
    overspeed: 0.15,
    runningStoredM: 6,
    fillStoredM: 18,
    triggerDiameterM: 0.19,
    newDiameterM: 1.25,
    caliperM: 120e-6,
  },
}

interface Past {
  minutesAgo: number
  unwind: string
  outcome: Outcome
  cause?: Cause
  flags?: string
  motion?: Partial<MotionOptions>
  /** Too old for its trace to be kept. */
  withoutTrace?: boolean
}

const PAST: readonly Past[] = [
  { minutesAgo: 7, unwind: 'label_press', outcome: 'good' },
  { minutesAgo: 19, unwind: 'laminator_inner', outcome: 'good' },
  { minutesAgo: 31, unwind: 'label_press', outcome: 'failed', cause: 'web_break', motion: { breakAfterS: 6 } },
  { minutesAgo: 44, unwind: 'sack_line', outcome: 'missed', cause: 'no_new_roll' },
  { minutesAgo: 58, unwind: 'label_press', outcome: 'good', flags: 'slow_cycle', motion: { stopS: 1.6 } },
  { minutesAgo: 75, unwind: 'laminator_inner', outcome: 'aborted', cause: 'splicer_fault' },
  {
    minutesAgo: 77,
    unwind: 'laminator_inner',
    outcome: 'good',
    flags: 'late;manual',
    motion: { triggerDiameterM: 0.113 },
  },
  { minutesAgo: 92, unwind: 'label_press', outcome: 'good', flags: 'early', motion: { triggerDiameterM: 0.142 } },
  {
    minutesAgo: 110,
    unwind: 'sack_line',
    outcome: 'failed',
    cause: 'cycle_too_slow',
    flags: 'slow_cycle;low_buffer',
    motion: { stopS: 7.8, breakAfterS: 0.3 },
  },
  { minutesAgo: 131, unwind: 'label_press', outcome: 'good' },
  {
    minutesAgo: 150,
    unwind: 'laminator_inner',
    outcome: 'failed',
    cause: 'buffer_empty',
    flags: 'low_buffer',
    motion: { runningStoredM: 9, fillStoredM: 10 },
  },
  { minutesAgo: 172, unwind: 'label_press', outcome: 'missed', cause: 'ran_out' },
  { minutesAgo: 200, unwind: 'sack_line', outcome: 'good', flags: 'slowed_line' },
  { minutesAgo: 233, unwind: 'label_press', outcome: 'failed', cause: 'unknown' },
  { minutesAgo: 265, unwind: 'laminator_inner', outcome: 'good' },
  { minutesAgo: 300, unwind: 'label_press', outcome: 'good', withoutTrace: true },
  { minutesAgo: 420, unwind: 'label_press', outcome: 'good', withoutTrace: true },
  { minutesAgo: 560, unwind: 'sack_line', outcome: 'good', withoutTrace: true },
  { minutesAgo: 900, unwind: 'laminator_inner', outcome: 'missed', cause: 'no_new_roll', withoutTrace: true },
  { minutesAgo: 1500, unwind: 'label_press', outcome: 'good', flags: 'low_buffer', withoutTrace: true },
  { minutesAgo: 2900, unwind: 'sack_line', outcome: 'aborted', cause: 'splicer_fault', withoutTrace: true },
]

/** What an uneventful week leaves behind: good ones to compare with, their stops scattered by a few hundredths. */
const USUAL: readonly Past[] = ['label_press', 'laminator_inner', 'sack_line'].flatMap((unwind, place) =>
  [0, 3, -2, 1, -1, 4, -3, 2].map((hundredths, index) => ({
    minutesAgo: 3000 + 100 * index + place,
    unwind,
    outcome: 'good' as const,
    motion: { stopS: MOTION_BY_UNWIND[unwind]!.stopS + hundredths / 100 },
  })),
)

const iso = (tMs: number): string => new Date(tMs).toISOString()
/** Never −0, which JSON does not know. */
const rounded = (value: number, digits: number): number => Number(value.toFixed(digits)) + 0

const phasesOf = (motion: readonly Motion[], startedTMs: number): PhaseSpan[] => {
  const spans: { phase: Phase; from: number; to: number }[] = []
  for (const { phase, second } of motion) {
    const last = spans.at(-1)
    if (phase === 'run') continue
    if (last?.phase === phase) last.to = second
    else spans.push({ phase, from: second, to: second })
  }
  return spans.map(({ phase, from, to }) => ({
    phase,
    started: iso(startedTMs + from * 1000),
    seconds: rounded(to - from + 0.1, 1),
  }))
}

export interface PastSplice {
  view: SpliceView
  trace: TraceView | undefined
}

/** A whole splice that began to slow at `startedTMs`, with its verdict and its trace. */
export const spliceOf = (past: Omit<Past, 'minutesAgo'>, startedTMs: number): PastSplice => {
  const goes = past.outcome === 'missed' || past.outcome === 'aborted' ? past.outcome : undefined
  const options = { ...MOTION_BY_UNWIND[past.unwind]!, ...past.motion, ...(goes && { goes }) }
  const happened = past.outcome !== 'missed'
  const motion = spliceMotion(options)
  const cycle = motion.filter(({ second, phase }) => second >= 0 && phase !== 'run')
  const stopped = cycle.filter(({ phase }) => phase === 'stopped').length / 10
  const atStart = motion.find(({ second }) => second >= 0)!
  const down = cycle.filter(({ phase }) => phase !== 'refill')
  const lowest = Math.min(...down.map(({ storedM }) => storedM))
  const transfer = motion.find(({ phase, second }) => second > 0 && phase === 'accelerate')
  const transferred = happened && past.outcome !== 'aborted'
  const id = `${past.unwind}-${startedTMs}`
  const phases = happened ? phasesOf(motion, startedTMs) : []
  const transferTime = transferred && transfer !== undefined ? iso(startedTMs + transfer.second * 1000) : null
  const hasTrace = past.withoutTrace !== true
  const record = {
    id,
    unwind: past.unwind,
    started: iso(startedTMs),
    ended: iso(startedTMs + (happened ? (cycle.at(-1)?.second ?? 0) * 1000 : 0)),
    outcome: past.outcome,
    cause: past.cause ?? null,
    flags: past.flags ?? '',
    diameter: rounded(atStart.diameterM * 1000, 1),
    speed: rounded(options.lineSpeedMps * 60, 1),
    stopped_seconds: happened ? rounded(stopped, 2) : null,
    web_from_buffer: transferred ? rounded(atStart.storedM - lowest, 2) : null,
    buffer_low: happened ? rounded(lowest, 2) : null,
    left_on_roll: transferred
      ? rounded((Math.PI * (options.triggerDiameterM ** 2 - 0.1 ** 2)) / (4 * options.caliperM), 1)
      : null,
    phases,
    transfer: transferTime,
    closed: true,
    has_trace: hasTrace,
  }
  const view: SpliceView = { ...record, details: pastDetails(record, motion, options), review: null }
  const column = (signal: string, unit: string, value: (step: Motion) => number | null) => ({
    signal,
    unit,
    is_state: false,
    values: motion.map(value),
  })
  const trace: TraceView | undefined = hasTrace
    ? {
        id,
        unwind: past.unwind,
        time: motion.map(({ second }) => startedTMs + Math.round(second * 1000)),
        columns: [
          column('roll_diameter', 'mm', (step) => rounded(step.diameterM * 1000, 1)),
          column('line_speed', 'm/min', (step) => rounded(step.lineSpeedMps * 60, 1)),
          // A gap, as when the drive's tag had no value for four seconds.
          column('unwind_speed', 'm/min', (step) =>
            step.second > 40 && step.second < 44 ? null : rounded(step.unwindSpeedMps * 60, 1),
          ),
          column('buffer_stored', 'm', (step) => rounded(step.storedM, 2)),
          column('tension', 'N', (step) => rounded(step.tensionN, 0)),
          {
            // The web is pulled aside while it stands, and the guide brings it back.
            ...column('extra.guide', 'mm', ({ second }) =>
              rounded(3 * Math.sin(second / 9) + (second < 0 ? 0 : 16 * Math.exp(-second / 6)), 1),
            ),
            ends: [-20, 25],
          },
          {
            ...column('extra.splicer_mode', '', ({ phase }) =>
              phase === 'run' ? 0 : phase === 'fill' || phase === 'refill' ? 10 : 20,
            ),
            meanings: [
              { value: 0, text: 'waiting' },
              { value: 10, text: 'festoon fills' },
              { value: 20, text: 'splicing' },
            ],
          },
        ],
        phases,
        started: view.started,
        transfer: transferTime,
      }
    : undefined
  return { view, trace }
}

/** Newest first, relative to `nowMs`. */
export const pastSplices = (nowMs: number): PastSplice[] =>
  [...PAST, ...USUAL]
    .toSorted((a, b) => a.minutesAgo - b.minutesAgo)
    .map((past) => spliceOf(past, nowMs - past.minutesAgo * MINUTE_MS))
