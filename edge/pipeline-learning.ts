/** What is learned after a cycle, once the new roll has been seen. Pure. */
import type { SplicerConfig } from './config/config.ts'
import type { Cycle } from './cycle/cycle.ts'
import type { CycleWatch } from './cycle/cycle-watch.ts'
import type { AssessInput } from './estimators/assessment.ts'
import { learnFromCycle, learnLoad } from './estimators/learning/learn.ts'
import type { LearnedSplicer } from './estimators/learning/splicer.ts'
import type { RunningRoll } from './estimators/running-roll.ts'

/** A diameter that was preset has converged, and a sensor that was blind sees again, after so long (trade notes), s. */
const SEEN_AFTER_S = 30
/** A roll seen first after so long is not the one of the last cycle any more, s. */
const SEEN_WITHIN_S = 600

/** The roll that the newest cycle brought up to speed, as large as it was then. */
export function learnNewRoll({ learned, roll, webM, now, rollData, config, cycle }: AssessInput): void {
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

/** A cycle that is complete teaches; one that failed on the way says nothing of the next. @param ended - at this step. */
export function learnCompleted(
  learned: LearnedSplicer,
  ended: Cycle | undefined,
  roll: RunningRoll,
  splicer: SplicerConfig,
  { motion }: CycleWatch,
): void {
  if (ended === undefined || ended.transferTMs === null || ended.lineFellTMs !== null) return
  learnFromCycle(learned, ended, roll.estimator.noiseM, splicer, motion.periodMs)
}
