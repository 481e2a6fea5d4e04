/** In which order alarms stand, and that no card moves under the hand of somebody who works in the list. Pure. */
import type { AlarmView } from '../../edge/api/messages.ts'
import type { Priority } from '../../edge/columns.ts'

const RANK: Record<Priority, number> = { high: 0, medium: 1, low: 2 }

/** By priority, the newest first. */
export const byPriority = (a: AlarmView, b: AlarmView): number =>
  RANK[a.priority] - RANK[b.priority] || Date.parse(b.raised) - Date.parse(a.raised)

/** For so long after the last touch the cards keep their places, ms. */
export const HELD_FOR_MS = 10_000
/** A second tap within so long belongs to the first: it takes no other alarm, ms. */
export const SAME_TAP_MS = 1000

/**
 * @param shown - as they stand on the screen; @param aside - ids that a person put aside: they leave at once.
 * @returns while somebody works in the list those stay where they are, gone ones too, and new ones come last.
 */
export const steady = (
  shown: readonly AlarmView[],
  standing: readonly AlarmView[],
  aside: ReadonlySet<string>,
  isHeld: boolean,
): AlarmView[] => {
  const sorted = [...standing].sort(byPriority)
  if (!isHeld) return sorted
  const now = new Map(sorted.map((alarm) => [alarm.id, alarm]))
  const before = new Set(shown.map(({ id }) => id))
  return [
    ...shown.filter(({ id }) => !aside.has(id)).map((alarm) => now.get(alarm.id) ?? alarm),
    ...sorted.filter(({ id }) => !before.has(id)),
  ]
}
