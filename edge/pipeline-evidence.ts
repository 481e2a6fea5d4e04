/** What the cycle's machines are told beside the motion: signals and the estimate of the step before. Pure. */
import { type CycleEvidence, type CycleWatch, isActive } from './cycle/cycle-watch.ts'
import type { Motion } from './cycle/motion.ts'
import type { Assessment } from './estimators/assessment.ts'
import { usualRefillRatio } from './estimators/buffer.ts'
import type { UnwindSpeeds } from './estimators/computed-diameter.ts'
import { likeness } from './estimators/deviation.ts'
import type { LearnedSplicer } from './estimators/learning/splicer.ts'
import type { RollContext, RunningRoll } from './estimators/running-roll.ts'
import type { RollData, SignalsNow } from './signals/now.ts'

/** A reading has to stand this far above the old roll to be another one: in any case, and as a share of the diameter. */
const JUMP_M = 10e-3
const JUMP_SHARE = 0.02
/** Past its setting before anything is known of the trigger, m (recording contract). */
const OVERDUE_M = 3e-3

export interface EvidenceInput {
  now: SignalsNow
  /** Web that the line took, m. */
  webM: number
  roll: RunningRoll
  rollData: RollData
  assessment: Assessment | undefined
  learned: LearnedSplicer
}

export function cycleEvidence({ now, webM, roll, rollData, assessment, learned }: EvidenceInput): CycleEvidence {
  const { estimator } = roll
  const { deviation } = estimator
  const diameterM = assessment?.diameterM
  const isSet = rollData.spliceDiameterM > rollData.coreM
  const clearlyAboveM = Math.max(JUMP_M, JUMP_SHARE * (diameterM ?? 0))
  return {
    webM,
    active: isActive(now.spliceActive, now.spliceStep),
    spindle: now.spindle,
    // A reading that stands still while the roll shrinks has not jumped, and an arm in the beam does not shrink like a roll.
    jump:
      deviation !== undefined &&
      deviation.byM > clearlyAboveM &&
      // What runs on after the web has ended is expected to be smaller than its core: a reading of the core is none of another roll.
      deviation.meanM > rollData.coreM + clearlyAboveM &&
      !estimator.isStuck &&
      estimator.filter !== undefined &&
      likeness(deviation, estimator.filter.caliperM) !== 'no_roll'
        ? deviation
        : undefined,
    followsOldRoll:
      deviation === undefined && !estimator.isMisled && estimator.filter !== undefined && !estimator.isStuck,
    hasReading: now.readingM !== undefined,
    diameterM,
    diameterSdM: assessment?.diameterSdM ?? estimator.noiseM,
    diameterAtM: (lineWebM) => roll.at(lineWebM + (now.storedM ?? 0))?.diameterM,
    settingM: rollData.spliceDiameterM,
    isSet,
    expectedM: rollData.spliceDiameterM + (isSet ? 0 : (assessment?.trigger?.offsetM ?? 0)),
    coreM: rollData.coreM,
    newRollReady: now.newRollReady,
    needM: assessment?.forecast?.bufferNeededM,
    readingPeriodMs: 1000 * roll.readingPeriodS,
    dueM: assessment?.forecast?.metres,
    dueSdM: assessment?.forecast?.metresSd ?? 0,
    overdueM: assessment?.overdueM ?? OVERDUE_M,
    usualRefillRatio: () => usualRefillRatio(learned),
  }
}

/** Within this time of its trigger a splice is due, s: longer than a fill may be off (common practice, no source). */
const DUE_S = 10
/** Span over which the stored web shows how the unwind runs against the line, ms. */
const SLOPE_MS = 1000

/** Another roll may run although no cycle was seen. */
function isSpliceDue(assessment: Assessment | undefined, lineMps: number): boolean {
  const forecast = assessment?.forecast
  return forecast !== undefined && forecast.metres <= Math.max(3 * forecast.metresSd, DUE_S * lineMps)
}

/** An unwind answers an indexed line's strokes: its measured speed counts over so many of them as last so long, ms. */
const STROKES_MS = 1500

function overStrokes({ tMs, lineMps, unwindMps }: SignalsNow, { points, strokeM }: Motion): number | undefined {
  if (unwindMps === undefined || strokeM === 0 || !lineMps) return undefined
  const wholeMs = (1000 * strokeM) / lineMps
  const overMs = wholeMs * Math.ceil(STROKES_MS / wholeMs)
  const speeds = points.flatMap((point) => (point.tMs > tMs - overMs ? (point.unwindMps ?? []) : []))
  return speeds.length === 0 ? undefined : speeds.reduce((sum, one) => sum + one, 0) / speeds.length
}

/** How the unwind runs against the line: by its tag, else by the web balance. */
function unwindSpeeds(now: SignalsNow, motion: Motion): UnwindSpeeds {
  const isMeasured = now.unwindMps !== undefined
  const [first] = motion.points
  const seenMs = first === undefined ? 0 : now.tMs - first.tMs
  // Of two reports close together a slope is all noise.
  const slope = (overMs: number): number | undefined =>
    now.storedM === undefined || seenMs < overMs ? undefined : motion.storedSlopeMps(overMs)
  const secondMps = isMeasured ? undefined : slope(SLOPE_MS)
  const balanceMps =
    secondMps === undefined || now.lineMps === undefined ? undefined : Math.max(0, now.lineMps + secondMps)
  return {
    unwindMps: overStrokes(now, motion) ?? now.unwindMps ?? balanceMps,
    isMeasured,
    newestMps: motion.last?.unwindMps,
    slopeMps: slope(3 * SLOPE_MS),
    noiseM: motion.noiseM,
  }
}
/** What the line and the unwind do at this step. */
export const cycleMotion = (now: SignalsNow, lineMps: number): Parameters<CycleWatch['step']>[0] => ({
  tMs: now.tMs,
  lineMps,
  setpointMps: now.setpointMps,
  measuredUnwindMps: now.unwindMps,
  storedM: now.storedM,
  step: now.spliceStep,
})

/** What the running roll is told beside its readings. */
export const rollContext = (
  now: SignalsNow,
  lineMps: number,
  cycle: CycleWatch,
  assessment: Assessment | undefined,
): RollContext => ({
  isStanding: cycle.isStanding,
  isInCycle: cycle.current !== undefined,
  isRefilling: cycle.isRefilling,
  isHeard: now.isDiameterHeard,
  isDue: isSpliceDue(assessment, lineMps),
  lineMps,
  speeds: unwindSpeeds(now, cycle.motion),
})
