/** A record that nobody goes on with: the monitor or its plant ended before the verdict. What is known stays. Pure. */
import type { SpliceView } from '../api/messages.ts'

/** @param lastTMs - until then it was seen, ms. */
export function cutShort(splice: SpliceView, lastTMs: number): SpliceView {
  const last = new Date(lastTMs).toISOString()
  // The new web ran and the buffer was back: nothing that was seen spoke against it.
  const isGood = splice.outcome === null && splice.transfer !== null && splice.ended !== null
  return {
    ...splice,
    outcome: isGood ? 'good' : splice.outcome,
    ended: splice.ended ?? last,
    closed: true,
    details: { ...splice.details, cut_short: last },
  }
}
