/**
 * What a pipeline knows of its splicer over weeks: charts of its splices, settings that changed, services that people
 * entered. Pure; the log entries go out through `onLog`.
 */
import type { AlarmFacts } from './alarms/facts.ts'
import type { SpliceView } from './api/messages.ts'
import { TREND_METRICS, type TrendMetric } from './columns.ts'
import type { UnwindConfig } from './config/config.ts'
import { isoTime } from './outcome/record.ts'
import type { Sample } from './sample.ts'
import { settingReadings } from './signals/settings.ts'
import type { UnwindSignals } from './signals/unwind-signals.ts'
import type { LogEntry, TrendView } from './trend-views.ts'
import { METRIC_UNITS, trendSplice } from './trends/from-record.ts'
import { uncharted } from './trends/metrics.ts'
import { type ServiceTap, ServiceTaps } from './trends/service-taps.ts'
import { SettingWatch, type SettingWatchState } from './trends/setting-watch.ts'
import { type ChartAnswer, type StandingTrend, TrendWatch, type TrendWatchState } from './trends/trend-watch.ts'

/** Records are revised after their verdict: these were taken already. */
const MOST_TAKEN = 8
/** What the alarm speaks of: the cycle itself. Trigger and preparation have no cycle that slows. */
const OF_THE_CYCLE: readonly TrendMetric[] = ['stop', 'deceleration', 'acceleration', 'refill', 'web_used', 'low_point']

export interface UnwindTrendsState {
  watch: TrendWatchState
  settings: SettingWatchState
  taps: Record<string, ServiceTap>
  taken: string[]
}

/** Web that is due in the buffer when a cycle starts, m. */
export const bufferDueM = ({ buffer }: UnwindConfig): number | undefined =>
  buffer === undefined ? undefined : Math.max(buffer.fillStoredM, buffer.runningStoredM)

const nameOf = (item: string, tMs: number): string => `${item} ${tMs}`

export class UnwindTrends {
  readonly #config: UnwindConfig
  readonly #onLog: (entry: LogEntry) => void
  readonly #watch = new TrendWatch()
  readonly #settings = new SettingWatch()
  readonly #taps = new ServiceTaps()
  #taken: string[] = []
  /** The charts' state, which only a splice or a person changes: a snapshot comes every few seconds. Never changed itself. */
  #kept: TrendWatchState | undefined

  constructor(config: UnwindConfig, onLog: (entry: LogEntry) => void) {
    this.#config = config
    this.#onLog = onLog
  }

  /**
   * What people enter: `service/<unwind>/<item>` with a note, `service_taken_back/<unwind>/<item>` with that service's time (ISO
   * 8601), `usual/<unwind>/<metric>`. @returns true where it was one.
   */
  accept({ address, value, tMs, person }: Sample): boolean {
    const [verb, unwind, subject] = address.split('/')
    if (unwind !== this.#config.id || subject === undefined) return false
    this.#kept = undefined
    const who = { person: person ?? null, note: typeof value === 'string' ? value : '' }
    if (verb === 'service') {
      const tap = this.#taps.accept(subject, { tMs, ...who })
      if (tap?.isNew === true) this.#watch.serviced(nameOf(subject, tap.kept.tMs))
      if (tap !== undefined) {
        const { tMs: enteredTMs, person: by, note } = tap.kept
        this.#log('service', subject, enteredTMs, { person: by, note })
      }
      return true
    }
    if (verb === 'service_taken_back') {
      const servicedTMs = Date.parse(who.note)
      this.#taps.takeBack(subject, servicedTMs)
      this.#watch.serviceTakenBack(nameOf(subject, servicedTMs))
      this.#log(verb, subject, tMs, { person: who.person, from: who.note })
      return true
    }
    const metric = TREND_METRICS.find((name) => name === subject)
    if (verb !== 'usual' || metric === undefined) return false
    this.#watch.relearn(metric)
    this.#log('usual', metric, tMs, who)
    return true
  }

  /** A record was made or revised. */
  record(view: SpliceView, tMs: number): void {
    if (this.#taken.includes(view.id)) return
    const splice = trendSplice(view, bufferDueM(this.#config))
    if (splice === undefined) return
    this.#taken = [...this.#taken, view.id].slice(-MOST_TAKEN)
    this.#kept = undefined
    const answers = this.#watch.add(splice)
    this.#tellSettings(answers, tMs)
    for (const { metric, side, called, ended } of answers) {
      if (called === undefined && !ended) continue
      // Where the whole splicer drifts its sides are not news.
      if (side !== undefined && this.#watch.chart({ metric, side: undefined })?.call !== undefined) continue
      const { usual, newest } = this.#levels(metric, side)
      this.#log(ended ? 'trend_ended' : 'trend', metric, tMs, {
        side: side ?? null,
        from: usual,
        to: newest,
        unit: METRIC_UNITS[metric],
      })
    }
  }

  /** A step that a setting made is no warning: it is told once for each metric, of the whole splicer where that shows it. */
  #tellSettings(answers: readonly ChartAnswer[], tMs: number): void {
    const told = new Set<TrendMetric>()
    for (const { metric, side, bySetting } of answers) {
      if (bySetting === undefined || told.has(metric)) continue
      told.add(metric)
      const level = (value: number): number => uncharted(metric, value, bufferDueM(this.#config))
      this.#log('since_setting', metric, tMs, {
        side: side ?? null,
        from: level(bySetting.usual),
        to: level(bySetting.newest),
        unit: METRIC_UNITS[metric],
        note: bySetting.signals.join(', '),
      })
    }
  }

  /** Looks at the settings. */
  step(signals: UnwindSignals, tMs: number): void {
    for (const { signal, unit, tMs: changedTMs, from, to } of this.#settings.step(settingReadings(signals, tMs), tMs)) {
      this.#log('setting', signal, changedTMs, { from, to, unit })
      this.#watch.settingChanged(signal, changedTMs)
      this.#kept = undefined
    }
  }

  /** The first trend of the cycle that stands. */
  fact(): AlarmFacts['trend'] {
    const trend = this.#watch.standing().find(({ metric }) => OF_THE_CYCLE.includes(metric))
    if (trend === undefined) return undefined
    const { usual, newest } = this.#levels(trend.metric, trend.side)
    return { metric: trend.metric, side: trend.side, share: Math.abs(newest / usual - 1), splices: trend.splices }
  }

  view(): TrendView[] {
    return this.#watch.standing().map((trend) => this.#viewOf(trend))
  }

  #viewOf({ metric, side, kind, way, tMs, sinceTMs, splices }: StandingTrend): TrendView {
    return {
      metric,
      side: side ?? null,
      kind,
      way,
      called: isoTime(tMs),
      since: isoTime(sinceTMs),
      splices,
      ...this.#levels(metric, side),
      unit: METRIC_UNITS[metric],
    }
  }

  #levels(metric: TrendMetric, side: string | undefined): { usual: number; newest: number } {
    const chart = this.#watch.chart({ metric, side })
    const level = chart?.usual?.level ?? 0
    return {
      usual: uncharted(metric, level, bufferDueM(this.#config)),
      newest: uncharted(metric, level + (chart?.recentShift ?? 0), bufferDueM(this.#config)),
    }
  }

  #log(kind: LogEntry['kind'], subject: string, tMs: number, rest: Partial<LogEntry>): void {
    const unwind = this.#config.id
    const blank = { side: null, from: null, to: null, unit: '', person: null, note: '', taken_back: null }
    const side = rest.side == null ? '' : `-${rest.side}`
    this.#onLog({
      id: `${unwind}-${kind}-${subject}${side}-${tMs}`,
      unwind,
      time: isoTime(tMs),
      kind,
      subject,
      ...blank,
      ...rest,
    })
  }

  snapshot(): UnwindTrendsState {
    this.#kept ??= this.#watch.snapshot()
    return {
      watch: this.#kept,
      settings: this.#settings.snapshot(),
      taps: this.#taps.snapshot(),
      taken: [...this.#taken],
    }
  }

  restore({ watch, settings, taps, taken }: UnwindTrendsState): void {
    this.#watch.restore(watch)
    this.#kept = undefined
    this.#settings.restore(settings)
    this.#taps.restore(taps)
    this.#taken = [...taken]
  }
}
