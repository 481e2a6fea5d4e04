/** From reduced history to the lines of a chart: forecast, its interval, and how long it really was until the next splice. Pure. */
import type { HistoryView } from '../../edge/api/messages-history.ts'

export interface PastSeries {
  /** s since 1970 UTC. */
  time: number[]
  /** Minutes. */
  forecast: (number | null)[]
  low: (number | null)[]
  high: (number | null)[]
  /** Until the splice that then came; null after the last one. */
  actual: (number | null)[]
}

/** A moment's forecast from a line that starts would squeeze everything else: so many shares of the forecasts set the scale. */
const SHARE_SHOWN = 0.97
const HEADROOM = 1.1

/** Where the axis ends, min: all that came, and all of the forecasts but a few spikes, which go out at the top. */
export const topMinutes = ({ forecast, high, actual }: PastSeries): number => {
  const known = (values: readonly (number | null)[]): number[] => values.filter((value) => value !== null)
  const most = (values: readonly number[], share: number): number => {
    const sorted = [...values].sort((a, b) => a - b)
    return sorted[Math.max(0, Math.ceil(share * sorted.length) - 1)] ?? 0
  }
  return Math.max(
    1,
    HEADROOM * Math.max(most(known(actual), 1), most(known(forecast), SHARE_SHOWN), most(known(high), SHARE_SHOWN)),
  )
}

const S_PER_MIN = 60
const minutes = (seconds: number | null | undefined): number | null => (seconds == null ? null : seconds / S_PER_MIN)

/**
 * Each span becomes two points, its greatest before its least: time left falls, and so neither end is left out.
 * @param startedTMs - when each splice began.
 */
export const pastSeries = (past: HistoryView, startedTMs: readonly number[]): PastSeries => {
  const column = (name: string) => past.columns.find((one) => one.name === name)
  const [middle, lower, upper] = [column('seconds_to_splice'), column('seconds_low'), column('seconds_high')]
  const starts = [...startedTMs].sort((a, b) => a - b)
  const quarterMs = past.span_seconds * 250
  const series: PastSeries = { time: [], forecast: [], low: [], high: [], actual: [] }
  let next = 0
  past.time.forEach((tMs, index) => {
    for (const [at, value] of [
      [tMs - quarterMs, middle?.high[index]],
      [tMs + quarterMs, middle?.low[index]],
    ] as const) {
      while (next < starts.length && starts[next]! < at) next += 1
      const start = starts[next]
      series.time.push(at / 1000)
      series.forecast.push(minutes(value))
      series.low.push(minutes(lower?.low[index]))
      series.high.push(minutes(upper?.high[index]))
      // Where nothing was forecast there is nothing to compare.
      series.actual.push(start === undefined || value == null ? null : (start - at) / 1000 / S_PER_MIN)
    }
  })
  return series
}
