/** What the cycle's machines are told beside the motion: signals and the estimate of the step before. Pure. */
import { type CycleEvidence, type CycleWatch, isActive } from './cycle/cycle-watch.ts'
import type { Assessment } from './estimators/assessment.ts'
import { usualRefillRatio } from './estimators/buffer.ts'
import type { LearnedSplicer } from './estimators/learning/splicer.ts'
import type { RunningRoll } from './estimators/running-roll.ts'
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
  const clearlyAboveM = Math.max(JUMP_M, JUMP_SHARE * (diameterM ?? 0))
  return {
    webM,
    active: isActive(now.spliceActive, now.spliceStep),
    spindle: now.spindle,
    // A reading that stands still while the roll shrinks has not jumped.
    jump: deviation !== undefined && deviation.byM > clearlyAboveM && !estimator.isStuck ? deviation : undefined,
    followsOldRoll: deviation === undefined && estimator.filter !== undefined && !estimator.isStuck,
    hasReading: now.readingM !== undefined,
    diameterM,
    diameterSdM: assessment?.diameterSdM ?? estimator.noiseM,
    settingM: rollData.spliceDiameterM,
    coreM: rollData.coreM,
    newRollReady: now.newRollReady,
    needM: assessment?.forecast?.bufferNeededM,
    readingPeriodMs: 1000 * roll.readingPeriodS,
    dueM: assessment?.forecast?.metres,
    dueSdM: assessment?.forecast?.metresSd ?? 0,
    overdueM: assessment?.overdueM ?? OVERDUE_M,
    usualRefillRatio: usualRefillRatio(learned),
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
