/** Which alarms belong on the wall, and which one is said first. */
import type { AlarmView, UnwindView } from '../../edge/api/messages.ts'
import type { Priority } from '../../edge/columns.ts'

const RANK: Record<Priority, number> = { high: 0, medium: 1, low: 2 }

const byWeight = (a: AlarmView, b: AlarmView): number =>
  RANK[a.priority] - RANK[b.priority] ||
  Number(a.acknowledged !== null) - Number(b.acknowledged !== null) ||
  Date.parse(b.raised) - Date.parse(a.raised)

/** Stands now and needs somebody here. Low priority goes to lists, not to the wall. */
export const standingTrouble = (view: Pick<UnwindView, 'alarms'>): AlarmView[] =>
  view.alarms.filter((alarm) => alarm.cleared === null && alarm.priority !== 'low').sort(byWeight)

/** Is over, but nobody has said that they saw it. */
export const unseenTrouble = (view: Pick<UnwindView, 'alarms'>): AlarmView[] =>
  view.alarms.filter((alarm) => alarm.state === 'returned_unacknowledged' && alarm.priority !== 'low').sort(byWeight)

/** 0 for high, 1 for medium; undefined where nothing stands. */
export const troubleRank = (view: Pick<UnwindView, 'alarms'>): number | undefined => {
  const first = standingTrouble(view)[0]
  return first === undefined ? undefined : RANK[first.priority]
}
