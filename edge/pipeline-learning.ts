/** What a step of the cycle teaches, and what the new roll does once it has been seen. Pure. */

import type { SplicerConfig } from './config/config.ts'
import type { CycleWatch, WatchChange } from './cycle/cycle-watch.ts'
import type { AssessInput, Assessment } from './estimators/assessment.ts'
import { remember } from './estimators/learning/evidence.ts'
import { learnFromCycle, learnLoad } from './estimators/learning/learn.ts'
import { notePreparation } from './estimators/learning/preparation.ts'
import { learnRoll } from './estimators/learning/rolls.ts'
import type { LearnedSplicer } from './estimators/learning/splicer.ts'
import { forgetWords, noteTruth, noteWord } from './estimators/learning/track-record.ts'
import type { RollFilter } from './estimators/roll-filter.ts'
import { loadedSinceTMs } from './pipeline-entries.ts'
import type { RollData } from './signals/now.ts'
import type { UnwindSignals } from './signals/unwind-signals.ts'

/** A diameter that was preset has converged, and a sensor that was blind sees again, after so long (trade notes), s. */
const SEEN_AFTER_S = 30
/** A roll seen first after so long is not the one of the last cycle any more, s. */
const SEEN_WITHIN_S = 600

/** Splices whose slow-down is remembered. */
const SLOW_DOWNS = 8

/** Cycles that failed or were reset teach nothing. @param noiseM - of one reading of the diameter, m. */
export function learnFromChange(
  learned: LearnedSplicer,
  { started, ended, slowDown, refillRatio }: WatchChange,
  splicer: SplicerConfig,
  cycle: CycleWatch,
  noiseM: number,
): void {
  if (started?.rollWebM !== undefined) noteTruth(learned.trackRecord, started.rollWebM)
  if (ended !== undefined && ended.transferTMs !== null && ended.lineFellTMs === null) {
    learnFromCycle(learned, ended, noiseM, splicer, cycle.motion.periodMs)
  }
  if (slowDown !== undefined) {
    learned.slowDowns.push(slowDown)
    if (learned.slowDowns.length > SLOW_DOWNS) learned.slowDowns.shift()
  }
  if (refillRatio !== undefined) remember(learned.refillRatio, refillRatio, learned.tMs)
}

/** Once per look: how long preparing took, how large the roll is that the last cycle brought up to speed, what was said last. */
export function learnFromMoment(input: AssessInput, signals: UnwindSignals, last: Assessment | undefined): void {
  const { learned, roll, webM, now, config, rollData } = input
  const { tMs } = now
  if (last?.forecast !== undefined) noteWord(learned.trackRecord, last.forecast, last.rollWebM)
  const since = roll.sinceChange(tMs, webM)
  const loadedTMs = loadedSinceTMs(signals, rollData, tMs)
  notePreparation(learned.preparation, config.splicer, {
    tMs,
    begunTMs: since === undefined ? undefined : tMs - since.seconds * 1000,
    isReady: now.newRollReady,
    doneTMs: { ...(loadedTMs === undefined ? {} : { load: loadedTMs }), ...signals.entered.stages },
  })
  learnNewRoll(input)
}

/** The roll that the newest cycle brought up to speed, as large as it was then. */
function learnNewRoll({ learned, roll, webM, now, rollData, config, cycle }: AssessInput): void {
  const newest = learned.ramps[learned.ramps.length - 1]
  if (newest === undefined || newest.load !== null || cycle.current !== undefined) return
  const since = roll.sinceChange(now.tMs, webM)
  const filter = roll.at(webM)
  const begunM = roll.begunAtWebM
  if (since === undefined || filter === undefined || begunM === undefined) return
  if (since.seconds < SEEN_AFTER_S || now.tMs - newest.tMs > SEEN_WITHIN_S * 1000) return
  const diameterM = Math.sqrt(filter.trueDiameterM ** 2 + (4 * filter.caliperM * Math.max(0, webM - begunM)) / Math.PI)
  learnLoad(learned, { diameterM, coreM: rollData.coreM, widthM: rollData.widthM ?? null }, config.splicer)
}

/** What the roll that leaves taught of its material and of its spindle's sensor. */
export function learnFromRoll(
  learned: LearnedSplicer,
  filter: RollFilter | undefined,
  { material, labelM }: RollData,
  spindle: string | undefined,
  tMs: number,
): void {
  forgetWords(learned.trackRecord)
  if (filter !== undefined) learnRoll(learned.rolls, filter.lesson, { sensor: spindle ?? '', material, labelM, tMs })
}
