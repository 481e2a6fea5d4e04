/** Which alarms belong on the wall, and which one is said first. */
import type { AlarmView, UnwindView } from '../../edge/api/messages.ts'
import type { AlarmId, Priority } from '../../edge/columns.ts'
import { readinessShown } from './lane-words.ts'

const RANK: Record<Priority, number> = { high: 0, medium: 1, low: 2 }

const byWeight = (a: AlarmView, b: AlarmView): number =>
  RANK[a.priority] - RANK[b.priority] ||
  Number(a.acknowledged !== null) - Number(b.acknowledged !== null) ||
  Date.parse(b.raised) - Date.parse(a.raised)

/** A splice that went wrong asks for a look at its joint and cause, a wrong roll for one at what was made of it, though the line runs. */
const STAYS_UNTIL_SEEN: ReadonlySet<AlarmId> = new Set([
  'splice_missed',
  'splice_failed',
  'web_break',
  'wrong_roll_spliced',
])

type Troubled = Pick<
  UnwindView,
  'alarms' | 'new_roll_ready' | 'splicer_auto' | 'preparation' | 'job_end' | 'waiting_roll'
>

/** An alarm ends a moment after its cause: nobody is told to slow or stop beside a roll that is ready. */
const isJustOver = ({ alarm }: AlarmView, view: Troubled): boolean =>
  alarm === 'roll_not_ready' && view.new_roll_ready === true && readinessShown(view) !== 'no'

/** Stands now and needs somebody here. Low priority goes to lists, not to the wall. */
export const standingTrouble = (view: Troubled): AlarmView[] =>
  view.alarms
    .filter((alarm) => alarm.cleared === null && alarm.priority !== 'low' && !isJustOver(alarm, view))
    .sort(byWeight)

/** Is over, but nobody has said that they saw it. */
export const unseenTrouble = (view: Pick<UnwindView, 'alarms'>): AlarmView[] =>
  view.alarms.filter((alarm) => alarm.state === 'returned_unacknowledged' && alarm.priority !== 'low').sort(byWeight)

/** For so long a splice that went wrong keeps its place in large letters; then it is work for a list, ms. */
const NEWS_MS = 5 * 60_000

/** A splice that went wrong a short while ago, is over, and that nobody has seen yet. */
export const overTrouble = (view: Pick<UnwindView, 'alarms' | 'time'>): AlarmView[] =>
  unseenTrouble(view).filter(
    ({ alarm, cleared }) => STAYS_UNTIL_SEEN.has(alarm) && Date.parse(view.time) - Date.parse(cleared ?? '') < NEWS_MS,
  )

/** The alarm that a tap acknowledges: what stands in large letters, then what does not. */
export const toAcknowledge = (view: Troubled & Pick<UnwindView, 'time'>): AlarmView | undefined =>
  standingTrouble(view).find((alarm) => alarm.acknowledged === null) ?? overTrouble(view)[0] ?? unseenTrouble(view)[0]

/** A roll that the job can't take, as tags or people say. */
export const isWrongRoll = ({ preparation: { missing } }: Pick<UnwindView, 'preparation'>): boolean =>
  missing === 'hold' || missing === 'wrong_roll'

/** 0 for high, 1 for medium; undefined where nothing is wrong now. */
export const troubleRank = (view: Troubled): number | undefined => {
  const first = standingTrouble(view)[0]
  if (first === undefined) return isWrongRoll(view) && view.job_end === null ? RANK.medium : undefined
  return RANK[first.priority]
}
