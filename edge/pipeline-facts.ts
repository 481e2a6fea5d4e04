/**
 * The facts that alarms are judged by, and the little that has to be remembered for them. Pure.
 */
import type { AlarmFacts } from './alarms/facts.ts'
import type { Cause, Outcome } from './columns.ts'
import type { UnwindConfig } from './config/config.ts'
import type { Cycle } from './cycle/cycle.ts'
import type { CycleWatch } from './cycle/cycle-watch.ts'
import { MPS_PER_MPMIN } from './cycle/speeds.ts'
import { type Assessment, LEARNED_AFTER } from './estimators/assessment.ts'
import { preparationTime } from './estimators/learning/preparation.ts'
import type { LearnedSplicer } from './estimators/learning/splicer.ts'
import type { RunningRoll } from './estimators/running-roll.ts'
import { LINE_RAMP_MPS2, lineRampMps2 } from './estimators/slow-down.ts'
import { spliceId } from './outcome/record.ts'
import type { Verdict } from './outcome/verdict.ts'
import type { UnwindAdvisor } from './pipeline-advisor.ts'
import { type EntriesInput, nextRollFacts } from './pipeline-entries.ts'
import { WrongRoll, type WrongRollState } from './pipeline-wrong-roll.ts'
import type { RollData, SignalsNow } from './signals/now.ts'
import type { LostSignal } from './signals/unwind-signals.ts'

/** Below this share of the usual speed the line is being threaded or run up. */
const PRODUCING_SHARE = 0.3
/** A line that has just left production still has to answer for it: a miss is certain only when it stands, ms. */
const PRODUCING_HOLD_MS = 4000
/** At a start every signal is silent until it was heard once, s. */
const START_GRACE_S = 10
/** A reading departs for so long before it is called implausible, ms. */
const DEPARTED_MS = 1500
/** Refills that have to be seen before one is held against them. */
const REFILLS_SEEN = 3
/** A fault of the calculation is told for so long, ms. */
const FAULT_TOLD_MS = 60_000

interface MemoryState {
  spindle: string | null
  lastSplice: AlarmFacts['lastSplice'] | null
  overdueSinceTMs: number | null
  producingTMs: number | null
  fault: { reason: string; tMs: number } | null
  wrongRoll: WrongRollState
}

export class FactMemory {
  readonly wrongRoll = new WrongRoll()
  spindle: string | undefined
  lastSplice: AlarmFacts['lastSplice']
  overdueSinceTMs: number | undefined
  /** When the line last ran at production speed. */
  producingTMs: number | undefined
  fault: { reason: string; tMs: number } | undefined

  noteVerdict(unwind: string, cycle: Cycle, verdict: Verdict): void {
    this.#note(spliceId(unwind, cycle.startedTMs), verdict.outcome, verdict.cause, verdict.endedTMs)
  }

  noteMissed(id: string, cause: Cause, tMs: number): void {
    this.#note(id, 'missed', cause, tMs)
  }

  #note(id: string, outcome: Outcome, cause: Cause | undefined, endedTMs: number): void {
    this.lastSplice = { id, outcome, cause, endedTMs }
  }

  rollChanged(): void {
    this.wrongRoll.rollChanged()
    this.overdueSinceTMs = undefined
  }

  snapshot(): MemoryState {
    return {
      spindle: this.spindle ?? null,
      lastSplice: this.lastSplice ?? null,
      overdueSinceTMs: this.overdueSinceTMs ?? null,
      producingTMs: this.producingTMs ?? null,
      fault: this.fault ?? null,
      wrongRoll: this.wrongRoll.snapshot(),
    }
  }
}

export function newFactMemory(state?: MemoryState): FactMemory {
  const memory = new FactMemory()
  memory.spindle = state?.spindle ?? undefined
  memory.lastSplice = state?.lastSplice ?? undefined
  memory.overdueSinceTMs = state?.overdueSinceTMs ?? undefined
  memory.producingTMs = state?.producingTMs ?? undefined
  memory.fault = state?.fault ?? undefined
  if (state !== undefined) memory.wrongRoll.restore(state.wrongRoll)
  return memory
}

export interface FactsInput {
  now: SignalsNow
  config: UnwindConfig
  assessment: Assessment
  rollData: RollData
  roll: RunningRoll
  webM: number
  cycle: CycleWatch
  learned: LearnedSplicer
  lost: readonly LostSignal[]
  startedTMs: number
  memory: FactMemory
  advisor: UnwindAdvisor
  disagreement: AlarmFacts['disagreement']
  spindleUnit: AlarmFacts['spindleUnit']
  trend: AlarmFacts['trend']
  entries: EntriesInput
  joints: AlarmFacts['joints']
}

export function alarmFacts(input: FactsInput): AlarmFacts {
  const { now, config, assessment, rollData, roll, cycle, memory, entries } = input
  const { state } = assessment
  // Back at speed, and not known yet whose web it is: the old roll's countdown says nothing, the new one's is not there.
  const isUndecided = cycle.current !== undefined && cycle.current.backTMs !== null
  const forecast = isUndecided ? undefined : assessment.forecast
  const isProducing = isProducingNow(input)
  noteOverdue(input)
  memory.wrongRoll.look(entries, cycle.current !== undefined)
  const refillS = cycle.refill.elapsedS(now.tMs)
  // What leaves the buffer once the cycle has begun is missing from no fill.
  const mayFill = !cycle.isSplicing && !cycle.isRefilling && !isUnwindSlowing(now, cycle)
  return {
    tMs: now.tMs,
    state,
    isProducing,
    lineSpeedMps: now.lineMps,
    lineRampMps2: lineRampMps2(input.learned),
    secondsToSplice: forecast?.seconds,
    secondsLow: forecast?.secondsLow,
    metresToSplice: forecast?.metres,
    fillLeadS: forecast?.fillLeadS ?? 0,
    newRollReady: now.newRollReady,
    isReadyUnknown: now.newRollReady === undefined && entries.signals.has('new_roll_ready'),
    splicerAuto: now.splicerAuto,
    spliceFault: now.spliceFault,
    webBreak: now.webBreak,
    preparationS: preparationTime(config.splicer, input.learned.preparation, now.tMs).mean,
    nextRoll: nextRollFacts(entries),
    isLastRoll: input.advisor.isLastRoll,
    wrongRoll: memory.wrongRoll.fault(entries),
    storedM: now.storedM,
    bufferMarginM: forecast?.bufferMarginM,
    bufferNeededM: forecast?.bufferNeededM,
    reserveM: config.buffer?.reserveM,
    highestSpeedMps: forecast?.highestSpeedMps,
    fillShortM: mayFill ? forecast?.fillShortM : undefined,
    fillOverdueS: mayFill ? forecast?.fillOverdueS : undefined,
    tension: tensionOf(now),
    spliceDiameterM: rollData.spliceDiameterM,
    diameterM: assessment.diameterM,
    coreDiameterM: rollData.coreM,
    diameterNoiseM: roll.estimator.noiseM,
    overdueS: memory.overdueSinceTMs === undefined ? undefined : (now.tMs - memory.overdueSinceTMs) / 1000,
    lastSplice: memory.lastSplice,
    refill: refillS === undefined ? undefined : { elapsedS: refillS, expectedS: refillPatienceS(input) },
    diameterFault: diameterFault(input),
    notResetS: now.readingM === undefined ? undefined : roll.notResetS(now.tMs),
    sinceRollChange: roll.sinceChange(now.tMs, input.webM),
    lost: lostOf(input),
    caliper:
      assessment.caliperM === undefined || assessment.caliperSdM === undefined || roll.isConverging
        ? undefined
        : { valueM: assessment.caliperM, sdM: assessment.caliperSdM, labelM: rollData.labelM },
    disagreement: input.disagreement,
    spindleUnit: input.spindleUnit?.spindle === now.spindle ? input.spindleUnit : undefined,
    outOfRound: outOfRoundOf(input),
    joints: input.joints,
    waste: wasteOf(input),
    trend: input.trend,
    pipelineFault: faultAt(memory, now.tMs)?.reason,
  }
}

function tensionOf({ tension, tensionSetpoint }: FactsInput['now']): AlarmFacts['tension'] {
  if (tension === undefined || tensionSetpoint === undefined || tensionSetpoint <= 0) return undefined
  return { value: tension, setpoint: tensionSetpoint }
}

/** The newest fault, while it is news. */
export function faultAt(memory: FactMemory, tMs: number): FactMemory['fault'] {
  return memory.fault !== undefined && tMs - memory.fault.tMs < FAULT_TOLD_MS ? memory.fault : undefined
}

/** All that is known right after a fault: that there was one. */
export function faultFacts(config: UnwindConfig, rollData: RollData, reason: string, tMs: number): AlarmFacts {
  return {
    tMs,
    state: 'unknown',
    isProducing: true,
    lineSpeedMps: undefined,
    lineRampMps2: LINE_RAMP_MPS2,
    secondsToSplice: undefined,
    secondsLow: undefined,
    metresToSplice: undefined,
    fillLeadS: 0,
    newRollReady: undefined,
    isReadyUnknown: false,
    splicerAuto: undefined,
    spliceFault: undefined,
    webBreak: undefined,
    preparationS: config.splicer.preparation.totalS,
    nextRoll: { isRefused: false, usualS: config.splicer.preparation.totalS, leastS: 0 },
    isLastRoll: false,
    wrongRoll: undefined,
    storedM: undefined,
    bufferMarginM: undefined,
    bufferNeededM: undefined,
    reserveM: config.buffer?.reserveM,
    highestSpeedMps: undefined,
    fillShortM: undefined,
    fillOverdueS: undefined,
    tension: undefined,
    spliceDiameterM: rollData.spliceDiameterM,
    diameterM: undefined,
    coreDiameterM: rollData.coreM,
    diameterNoiseM: undefined,
    overdueS: undefined,
    lastSplice: undefined,
    refill: undefined,
    diameterFault: undefined,
    notResetS: undefined,
    sinceRollChange: undefined,
    lost: [],
    caliper: undefined,
    disagreement: undefined,
    spindleUnit: undefined,
    outOfRound: undefined,
    joints: { unconfirmed: undefined, sideLay: undefined, decurler: undefined },
    waste: undefined,
    trend: undefined,
    pipelineFault: reason,
  }
}

/** The time that this refill is given before it is late. */
function refillPatienceS({ now, cycle, config, learned }: FactsInput): number {
  const leftM = now.storedM === undefined ? undefined : (config.buffer?.runningStoredM ?? 0) - now.storedM
  return cycle.refill.patienceS(now.tMs, leftM, learned.refillRatio.length >= REFILLS_SEEN)
}

/** Neither standing, threading nor jogging; what only means something running is suppressed otherwise. */
function isProducingNow({ now, cycle, memory }: FactsInput): boolean {
  if (now.lineMps === undefined) return false
  const isRun = now.lineState === undefined || now.lineState === 'run'
  const isFast = now.lineMps > Math.max(3 * MPS_PER_MPMIN, PRODUCING_SHARE * (cycle.line.runningMps ?? 0))
  if (isRun && isFast && !cycle.isStanding) memory.producingTMs = now.tMs
  return memory.producingTMs !== undefined && now.tMs - memory.producingTMs <= PRODUCING_HOLD_MS
}

/** A splice overdue for longer than this is no start that is being recognised, ms. */
const STANDS_MS = 2000
/** Slower than this share of the line the unwind has begun to slow; of its own speed the line has: beyond noise and trim. */
const SLOWING_SHARE = 0.9
const LINE_SLOWING_SHARE = 0.97

function isUnwindSlowing({ lineMps }: SignalsNow, { motion }: CycleWatch): boolean {
  const unwindMps = motion.last?.unwindMps
  return lineMps !== undefined && unwindMps !== undefined && unwindMps < SLOWING_SHARE * lineMps
}

/** A turret that turns blinds the sensor for 10 to 30 s (trade notes), and a little on either side, s. */
const TURNING_S = 35

/** The diameter has no value since about a splice, recognised or due: that is a turret that turns, and no fault yet. */
function mayBeTurning({ now, roll, webM, cycle, assessment }: FactsInput): boolean {
  if (now.readingM !== undefined || roll.blindMs(now.tMs) > TURNING_S * 1000) return false
  const since = roll.sinceChange(now.tMs, webM)
  const isDue = assessment.forecast !== undefined && assessment.forecast.metres <= 0
  return cycle.current !== undefined || isDue || (since !== undefined && since.seconds < TURNING_S)
}

/** Past its splice diameter by more than the trigger ever scatters, with no cycle. */
function noteOverdue(input: FactsInput): void {
  const { now, assessment, rollData, cycle, memory } = input
  const { diameterM, trigger } = assessment
  // An unwind or a line that has begun to slow is what was waited for, before it can be named a cycle.
  const isSlowing =
    isUnwindSlowing(now, cycle) ||
    (now.lineMps !== undefined && now.lineMps < LINE_SLOWING_SHARE * (cycle.line.runningMps ?? 0))
  const isPast =
    diameterM !== undefined &&
    trigger !== undefined &&
    !isSlowing &&
    !cycle.isSplicing &&
    !cycle.isRefilling &&
    cycle.current === undefined &&
    !mayBeTurning(input) &&
    diameterM <
      rollData.spliceDiameterM +
        Math.min(0, trigger.offsetM) -
        Math.max(1e-3, 3 * trigger.sdM, 3 * (assessment.diameterSdM ?? 0))
  // A splice that was overdue before the line slowed stays so until it comes or is missed: the wall must not fall silent between.
  const stands =
    memory.overdueSinceTMs !== undefined &&
    now.tMs - memory.overdueSinceTMs > STANDS_MS &&
    cycle.current === undefined &&
    !cycle.isSplicing
  if (isPast) memory.overdueSinceTMs ??= now.tMs
  else if (!(isSlowing && stands)) memory.overdueSinceTMs = undefined
}

/** Before its usual time a fill may begin by so much, s; that it has shows so much later, ms (common practice, no source). */
const FILL_EARLY_S = 15
const FILL_SHOWS_MS = 4000

/** The reading stands still just as a fill may begin, and it does not show yet whether line and unwind part. */
function mayBeginToFill({ now, roll, config, assessment }: FactsInput): boolean {
  const { forecast } = assessment
  if (config.buffer?.mode !== 'fill_before' || forecast?.seconds === undefined) return false
  const stillMs = now.tMs - roll.estimator.lastChangeTMs
  return stillMs < FILL_SHOWS_MS && forecast.seconds < forecast.fillLeadS + FILL_EARLY_S
}

function diameterFault(input: FactsInput): AlarmFacts['diameterFault'] {
  const { now, roll, cycle } = input
  if (cycle.current !== undefined || cycle.isRefilling) return undefined
  const { estimator } = roll
  if (mayBeTurning(input)) return undefined
  if (now.isReadingRefused) return { kind: 'out_of_range', valueM: undefined, limitM: undefined }
  if (now.readingM === undefined) return { kind: 'no_value', valueM: undefined, limitM: undefined }
  // A program that computes the diameter may hold it while the speeds part: that is no fault to mend.
  if (estimator.isStuck && (roll.isHeldByProgram || mayBeginToFill(input))) return undefined
  if (estimator.isStuck) return { kind: 'stuck', valueM: now.readingM, limitM: undefined }
  const { deviation } = estimator
  if (deviation === undefined || now.tMs - deviation.sinceTMs < DEPARTED_MS) return undefined
  return { kind: deviation.byM > 0 ? 'rising' : 'jump', valueM: now.readingM, limitM: now.readingM - deviation.byM }
}

function outOfRoundOf({ now, roll, config, webM }: FactsInput): AlarmFacts['outOfRound'] {
  const filter = roll.at(webM)
  if (filter === undefined || now.lineMps === undefined) return undefined
  return {
    amplitudeM: filter.waveAmplitudeM,
    sdM: filter.waveAmplitudeSdM,
    limitM: config.roll.outOfRoundLimitM2PerS / Math.max(MPS_PER_MPMIN, now.lineMps),
  }
}

function wasteOf({ advisor, config, learned }: FactsInput): AlarmFacts['waste'] {
  const limitM = config.splicer.wasteLimitM
  // Nobody is told before: the sums need not be done.
  if (learned.cycles < LEARNED_AFTER) return { avoidableM: 0, leftM: 0, limitM, isLearned: false }
  const left = advisor.waste()
  return left === undefined ? undefined : { avoidableM: left.avoidableM, leftM: left.metres, limitM, isLearned: true }
}

/** Of what is not required, these say whether the splicer may begin; what is unknown of them must not look like "no". */
const ARMED: ReadonlySet<string> = new Set(['new_roll_ready', 'splicer_auto', 'splice_fault'])

/** Only what is required, and what says whether the splicer may begin: nothing else needs hands. */
function lostOf(input: FactsInput): readonly LostSignal[] {
  const { lost, now, startedTMs, config } = input
  if (lost.length === 0) return lost
  const isTurning = mayBeTurning(input)
  const hasStarted = (now.tMs - startedTMs) / 1000 >= START_GRACE_S
  return lost.filter(({ signal, hasSpoken }) => {
    if (signal === 'roll_diameter' && isTurning) return false
    const isRequired =
      ARMED.has(signal) ||
      signal === 'line_speed' ||
      signal === 'roll_diameter' ||
      (signal === 'buffer_position' && config.buffer !== undefined)
    return isRequired && (hasSpoken || hasStarted)
  })
}
