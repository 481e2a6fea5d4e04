/** Whether a roll was changed by hand. Pure. */
import type { CycleWatch } from './cycle/cycle-watch.ts'
import type { RollChange } from './estimators/running-roll.ts'
import type { SignalsNow } from './signals/now.ts'

/** A reading this near to the core shows no web, m. */
const BARE_CORE_M = 3e-3

/** The estimate took a reading for another roll: in a cycle that is the splice, and a bare core that was not expected is none. */
export const isOtherRollByHand = (
  change: RollChange | undefined,
  now: SignalsNow,
  coreM: number,
  cycle: CycleWatch,
): boolean =>
  change === 'by_hand' && !((now.readingM ?? Number.POSITIVE_INFINITY) < coreM + BARE_CORE_M) && !cycle.current

/** A spindle that changes while the line stands brings another roll; running, only the cycle decides. */
export const isSpindleChangedByHand = (before: string | undefined, now: SignalsNow, cycle: CycleWatch): boolean =>
  before !== undefined && before !== (now.spindle ?? before) && cycle.current === undefined && cycle.isStanding
