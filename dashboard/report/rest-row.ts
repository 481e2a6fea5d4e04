/** What no group of a report holds, for its cause lies in what was not known of a splice (a missed one has no side). Pure. */
import type { CountsView } from '../../edge/trend-views.ts'

/**
 * @param whole - all splices of the report.
 * @param rows - of one grouping.
 * @returns the row that makes the sums agree; without a share, which so few say nothing of. Undefined where none is missing.
 */
export const restOf = (whole: CountsView, rows: readonly CountsView[]): CountsView | undefined => {
  const left = (name: Exclude<keyof CountsView, 'success'>): number =>
    Math.max(0, (whole[name] ?? 0) - rows.reduce((sum, row) => sum + (row[name] ?? 0), 0))
  const splices = left('splices')
  if (splices === 0) return undefined
  const lost = left('lost_seconds')
  return {
    splices,
    good: left('good'),
    failed: left('failed'),
    missed: left('missed'),
    aborted: left('aborted'),
    success: null,
    lost_seconds: whole.lost_seconds === null ? null : lost,
    waste: left('waste'),
  }
}
