/** How many joints of a pre-printed or pre-punched web were in register at the joint. Pure. */
import type { JointRegister } from '../joint-columns.ts'
import type { RegisterView } from '../trend-views.ts'
import { wilson } from './control-charts.ts'

/** A joint that took no web to be back was in register. */
export function registerShare(joints: readonly JointRegister[]): RegisterView | null {
  const share = wilson(joints.filter(({ metres }) => metres === 0).length, joints.length)
  if (share === undefined) return null
  return {
    joints: joints.length,
    in_register: share,
    metres: joints.reduce((sum, { metres }) => sum + (metres ?? 0), 0),
    not_back: joints.filter(({ metres }) => metres === null).length,
  }
}
