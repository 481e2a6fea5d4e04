/**
 * All charts of one splicer: each metric over all splices, with a level per side, and again for each side by itself. Pure.
 *
 * A slow drift of the whole splicer shows first where all splices count; one of a single side shows in that side's chart.
 */
import { TREND_METRICS, type TrendMetric } from '../columns.ts'
import { charted, METRIC_KINDS, type TrendSplice } from './metrics.ts'
import { type Charted, type TrendCall, TrendChart, type TrendChartState } from './trend-chart.ts'

/** Sides with charts of their own: a turret of four arms. */
const MOST_SIDES = 4

/** A trend that stands. */
export interface StandingTrend extends TrendCall {
  metric: TrendMetric
  /** Undefined: the whole splicer. */
  side: string | undefined
}

export interface ChartName {
  metric: TrendMetric
  /** Undefined: the whole splicer. */
  side: string | undefined
}

/** One chart's answer to one splice. */
export interface ChartAnswer extends ChartName, Charted {}

/** Plain data. */
export interface TrendWatchState {
  charts: { metric: TrendMetric; side: string | null; chart: TrendChartState }[]
  visit: Visit
}

/** Services with no splice between them: the charts hear of them once. */
interface Visit {
  /** Those that nobody took back. */
  services: string[]
  /** No splice came since. */
  isOpen: boolean
}

export class TrendWatch {
  #charts: (ChartName & { chart: TrendChart })[] = []
  #visit: Visit = { services: [], isOpen: false }

  /** One good splice whose verdict is final. */
  add(splice: TrendSplice): ChartAnswer[] {
    const answers: ChartAnswer[] = []
    this.#visit.isOpen = false
    for (const metric of TREND_METRICS) {
      const value = charted(metric, splice)
      if (value === undefined) continue
      for (const side of splice.side === '' ? [undefined] : [undefined, splice.side]) {
        const chart = this.#chartOf(metric, side)
        if (chart === undefined) continue
        answers.push({ metric, side, ...chart.add(value, splice, splice.tMs) })
      }
    }
    // What a setting did to one chart of a metric it did to all of them.
    const bySetting = new Set(answers.flatMap((one) => (one.bySetting === undefined ? [] : [one.metric])))
    for (const metric of bySetting) this.relearn(metric)
    return answers.map((one) => (bySetting.has(one.metric) ? { ...one, called: undefined, ended: false } : one))
  }

  /** Told before the first splice that came after it. */
  settingChanged(signal: string, tMs: number): void {
    for (const { chart } of this.#charts) chart.settingChanged(signal, tMs)
  }

  /** In the order of the metrics; where the whole splicer drifts its sides are not named too. */
  standing(): StandingTrend[] {
    const all = this.#charts.flatMap(({ metric, side, chart }): StandingTrend[] =>
      chart.call === undefined ? [] : [{ ...chart.call, metric, side }],
    )
    const whole = new Set(all.filter(({ side }) => side === undefined).map(({ metric }) => metric))
    return all
      .filter(({ metric, side }) => side === undefined || !whole.has(metric))
      .sort((a, b) => TREND_METRICS.indexOf(a.metric) - TREND_METRICS.indexOf(b.metric))
  }

  chart(name: ChartName): TrendChart | undefined {
    return this.#charts.find(({ metric, side }) => metric === name.metric && side === name.side)?.chart
  }

  get names(): ChartName[] {
    return this.#charts.map(({ metric, side }) => ({ metric, side }))
  }

  /** The splicer was seen to. @param service - names what was done, should it be taken back. */
  serviced(service: string): void {
    const { services, isOpen } = this.#visit
    this.#visit = { services: isOpen ? [...services, service] : [service], isOpen: true }
    // What was done in the same visit is over with it, and taken back only with all of it.
    if (!isOpen) for (const { chart } of this.#charts) chart.serviced()
  }

  /** What was done was not: of the last visit, and where nothing else was done then, the charts go on as if nobody had come. */
  serviceTakenBack(service: string): void {
    const { services, isOpen } = this.#visit
    if (!services.includes(service)) return
    const left = services.filter((one) => one !== service)
    this.#visit = { services: left, isOpen: isOpen && left.length > 0 }
    if (left.length === 0) for (const { chart } of this.#charts) chart.serviceTakenBack()
  }

  /** People take the present level as the usual one. @param metric - undefined: every one. */
  relearn(metric?: TrendMetric): void {
    for (const one of this.#charts) if (metric === undefined || one.metric === metric) one.chart.relearn()
  }

  #chartOf(metric: TrendMetric, side: string | undefined): TrendChart | undefined {
    const known = this.chart({ metric, side })
    if (known !== undefined) return known
    const sides = new Set(this.#charts.flatMap((one) => (one.side === undefined ? [] : [one.side])))
    if (side !== undefined && !sides.has(side) && sides.size >= MOST_SIDES) return undefined
    const chart = newChart({ metric, side })
    this.#charts.push({ metric, side, chart })
    return chart
  }

  snapshot(): TrendWatchState {
    return {
      charts: this.#charts.map(({ metric, side, chart }) => ({ metric, side: side ?? null, chart: chart.snapshot() })),
      visit: { ...this.#visit, services: [...this.#visit.services] },
    }
  }

  restore({ charts, visit }: TrendWatchState): void {
    this.#visit = { ...visit, services: [...visit.services] }
    this.#charts = charts.map(({ metric, side, chart: state }) => {
      const chart = newChart({ metric, side: side ?? undefined })
      chart.restore(state)
      return { metric, side: side ?? undefined, chart }
    })
  }
}

/** Stop length of the whole splicer is watched most closely: nearly all that gets worse shows there first. */
const newChart = ({ metric, side }: ChartName): TrendChart =>
  new TrendChart(METRIC_KINDS[metric].worse, metric === 'stop' && side === undefined ? 'close' : 'usual')
