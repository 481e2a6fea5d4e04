/** Joints by the finished roll in which they lie: the list that goes with a roll. Pure. */
import type { FinishedRollView, JointView } from '../joint-columns.ts'

/** @param joints - oldest first. @returns the newest roll first; joints of a roll from its start on. */
export function finishedRolls(joints: readonly JointView[]): FinishedRollView[] {
  const rolls: FinishedRollView[] = []
  for (const { id, unwind, stations } of joints) {
    for (const { station, arrived, finished_roll: roll, finished_roll_metres: metres } of stations) {
      if (roll === null || arrived === null) continue
      const at = { joint: id, arrived, metres, out: stations.find(({ out }) => out !== null)?.station ?? null }
      const same = rolls.findLast((one) => one.unwind === unwind && one.station === station)
      // Numbers may begin anew: what lies before the last joint is in another roll of that name.
      const isSame = same?.roll === roll && (same.joints.at(-1)?.metres ?? 0) <= (metres ?? Number.POSITIVE_INFINITY)
      if (isSame) same.joints.push(at)
      else rolls.push({ unwind, station, roll, joints: [at] })
    }
  }
  return rolls.reverse()
}
