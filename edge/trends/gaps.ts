/** Gaps at joints as people measured them: before and after a knife, in the halves of its time. Pure. */
import { median } from '../estimators/statistics.ts'
import type { GapsView } from '../trend-views.ts'

/** Fewer say nothing. */
const LEAST = 3

export function gapsOf(mm: readonly number[]): GapsView | null {
  const middle = median(mm)
  return mm.length < LEAST || middle === undefined ? null : { joints: mm.length, median: middle }
}
