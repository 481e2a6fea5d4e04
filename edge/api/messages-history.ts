/** What was, as a chart needs it: shared with the dashboard. */
export interface HistoryView {
  unwind: string
  from: string
  to: string
  /** Length of each span, s. */
  span_seconds: number
  /** Middle of each span, ms since 1970 UTC, ascending. */
  time: number[]
  /** Least and greatest value in each span, null where there was none; no peak is left out. */
  columns: { name: string; unit: string; low: (number | null)[]; high: (number | null)[] }[]
}

export interface HistoryQuery {
  unwind: string
  fromTMs: number
  toTMs: number
  columns: readonly string[]
  /** At most so many spans. */
  points: number
  /** True when nobody waits for the answer any more. */
  isCancelled: () => boolean
}

export interface HistoryPort {
  /** Whether the unwind has a forecast column or a signal of that name. */
  hasColumn(unwind: string, name: string): boolean
  /** Undefined where it was cancelled. */
  history(query: HistoryQuery): Promise<HistoryView | undefined>
}
