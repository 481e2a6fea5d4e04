/** Which unwinds' newest cycle was aborted. Pure. */
import type { SpliceView } from '../../edge/api/messages.ts'

/** The newest cycle of each unwind was aborted: its old roll runs on, and no alarm stands for it. */
export const abortedUnwinds = (splices: ReadonlyMap<string, SpliceView>): ReadonlySet<string> => {
  const newest = new Map<string, SpliceView>()
  for (const splice of splices.values()) {
    const other = newest.get(splice.unwind)
    if (other === undefined || other.started < splice.started) newest.set(splice.unwind, splice)
  }
  return new Set([...newest.values()].filter(({ outcome }) => outcome === 'aborted').map(({ unwind }) => unwind))
}
