/** What is learned after a cycle, once the new roll has been seen. Pure. */
import type { AssessInput } from './estimators/assessment.ts'
import { learnLoad } from './estimators/learning/learn.ts'

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
