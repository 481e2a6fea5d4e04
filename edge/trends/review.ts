/** Charts of a splicer's newest splices, drawn anew from its records, and what changed before and after what was done. Pure. */
import type { SpliceView } from '../api/messages.ts'
import { TREND_METRICS, type TrendMetric } from '../columns.ts'
import { median, scatter } from '../estimators/statistics.ts'
import type { ChangeView, LogEntry, TrendChartView } from '../trend-views.ts'
import { METRIC_UNITS, trendSplice } from './from-record.ts'
import { uncharted } from './metrics.ts'
import { TrendWatch } from './trend-watch.ts'

/** Nearly all splices lie within so many standard deviations. */
const BAND = 3
/** Splices that are compared on either side of a change; fewer than the least say nothing. */
const MOST_COMPARED = 30
const LEAST_COMPARED = 5

interface Point {
  id: string
  tMs: number
  side: string
  value: number
  adjusted: number
}

/**
 * @param splices - oldest first.
 * @param log - of the same time, in any order: what was set, served and taken as usual is what the live charts heard of.
 * @param side - undefined: the charts of the whole splicer.
 */
export function reviewCharts(
  splices: readonly SpliceView[],
  dueM: number | undefined,
  log: readonly LogEntry[] = [],
  side?: string,
): TrendChartView[] {
  const watch = new TrendWatch()
  const heard = log.filter(({ taken_back }) => taken_back === null).toSorted((a, b) => a.time.localeCompare(b.time))
  const points = new Map<TrendMetric, Point[]>(TREND_METRICS.map((metric) => [metric, []]))
  for (const view of splices) {
    const splice = trendSplice(view, dueM)
    if (splice === undefined) continue
    while (heard.length > 0 && Date.parse(heard[0]!.time) <= splice.tMs) hear(watch, heard.shift()!)
    const { id, tMs, side: made, values } = splice
    for (const { metric, side: ofSide, adjusted } of watch.add(splice)) {
      if (ofSide === side) points.get(metric)!.push({ id, tMs, side: made, value: values[metric]!, adjusted })
    }
  }
  return TREND_METRICS.flatMap((metric): TrendChartView[] => {
    const own = points.get(metric)!
    if (own.length === 0) return []
    const usual = watch.chart({ metric, side })?.usual
    const at = (deviations: number): number | null =>
      usual === undefined ? null : uncharted(metric, usual.level + deviations * usual.deviation, dueM)
    return [
      {
        metric,
        unit: METRIC_UNITS[metric],
        usual: at(0),
        low: at(-BAND),
        high: at(BAND),
        points: own.map(({ id, tMs, side, value, adjusted }) => ({
          id,
          time: new Date(tMs).toISOString(),
          side,
          value,
          adjusted: uncharted(metric, adjusted, dueM),
        })),
      },
    ]
  })
}

function hear(watch: TrendWatch, { id, kind, subject, time }: LogEntry): void {
  if (kind === 'setting') watch.settingChanged(subject, Date.parse(time))
  else if (kind === 'service') watch.serviced(id)
  else if (kind === 'usual') watch.relearn(TREND_METRICS.find((metric) => metric === subject))
}

/** Only people's doing has a before and an after. */
export function reviewChanges(charts: readonly TrendChartView[], log: readonly LogEntry[]): ChangeView[] {
  return log
    .filter(({ kind, taken_back }) => (kind === 'setting' || kind === 'service') && taken_back === null)
    .flatMap(({ id, time }) =>
      charts.flatMap(({ metric, unit, points }): ChangeView[] => {
        const at = points.findIndex((point) => point.time >= time)
        if (at < 0) return []
        const before = summary(points.slice(Math.max(0, at - MOST_COMPARED), at))
        const after = summary(points.slice(at, at + MOST_COMPARED))
        return before === undefined || after === undefined ? [] : [{ entry: id, metric, unit, before, after }]
      }),
    )
}

function summary(points: readonly { adjusted: number }[]): ChangeView['before'] | undefined {
  if (points.length < LEAST_COMPARED) return undefined
  const values = points.map(({ adjusted }) => adjusted)
  return { splices: points.length, middle: median(values)!, spread: scatter(values)! }
}
