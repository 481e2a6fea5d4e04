/** What a splice that came early still asks for. Pure. */
import type { SpliceView } from '../../edge/api/messages.ts'
import { verdictOf } from '../../edge/splice-review.ts'

/** Of an early splice that was aborted the old roll ran on: nothing is left of it to ask for. */
export const isAborted = (splice: SpliceView): boolean => verdictOf(splice).outcome === 'aborted'

/** Something of an early splice that nobody has said yet. */
export const isEarlyUnsaid = (splice: SpliceView): boolean => {
  const { flags, review } = splice
  if (!flags.split(';').includes('early')) return false
  return (review?.early_reason ?? null) === null || (!isAborted(splice) && (review?.rest ?? null) === null)
}
