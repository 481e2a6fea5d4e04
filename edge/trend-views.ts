/**
 * What is told of trends, settings, services and counts: shared by the core, the API and the dashboard. Units are the
 * contract's (m, mm, m/min, s; m/s² for ramps), times ISO 8601 UTC, null is not known.
 */

import type { Cause, SpliceRow, TrendMetric } from './columns.ts'
import type { Words } from './messages/render.ts'
import type { ListedVerdict, PeopleSaid } from './splice-review.ts'

/** What happened besides the splices: to a splicer, and what one crew leaves for the next. */
export const LOG_KINDS = [
  'setting',
  'service',
  'service_taken_back',
  'trend',
  'trend_ended',
  'since_setting',
  'usual',
  'note',
  'note_closed',
  'handover',
] as const
export type LogKind = (typeof LOG_KINDS)[number]

export interface LogEntry {
  /** `<unwind>-<kind>-<subject>-<time in UTC ms>`. */
  id: string
  unwind: string
  time: string
  kind: LogKind
  /** The signal that was set, the service item, or the metric; `since_setting` is a step of it that a setting made. */
  subject: string
  /** Of a trend: the side whose own chart shows it; null is the whole splicer. */
  side: string | null
  /**
   * Of a setting: what it was and what it became; of a trend: usual and newest level; of a handover: who was signed in; of a
   * service that was taken back: its time.
   */
  from: number | string | null
  to: number | string | null
  unit: string
  /** Who did it; null where the machine says so. */
  person: string | null
  /** A batch, a word; of `since_setting` the signals that were set; empty where none. */
  note: string
  /** Of a service that was none, as somebody said later: it counts for nothing. */
  taken_back: { time: string; person: string | null } | null
}

/** A trend that stands: one metric has left what is usual and kept going. */
export interface TrendView {
  metric: TrendMetric
  side: string | null
  /** Slow drift, or a step from one level to another. */
  kind: 'drift' | 'step'
  way: 'up' | 'down'
  called: string
  since: string
  /** Splices from its beginning until it was called. */
  splices: number
  /** Usual level and that of the newest splices, at the usual speed, roll and material, in the metric's unit. */
  usual: number
  newest: number
  unit: string
}

/** One metric of one splicer over its newest splices. */
export interface TrendChartView {
  metric: TrendMetric
  unit: string
  /** Usual level at the usual speed, roll, side and material, and where nearly all splices lie (three standard deviations). */
  usual: number | null
  low: number | null
  high: number | null
  /** Oldest first; `adjusted` is what it would have been at the usual speed, roll, side and material. */
  points: { id: string; time: string; side: string; value: number; adjusted: number }[]
}

/** A metric before and after a setting, a service or a trend. */
export interface ChangeView {
  /** Of the log entry. */
  entry: string
  metric: TrendMetric
  unit: string
  /** Median and spread (standard deviation, outliers left out) of up to 30 splices on either side. */
  before: { splices: number; middle: number; spread: number }
  after: { splices: number; middle: number; spread: number }
}

/** A share with its 95 % interval (Wilson). */
export interface ShareView {
  share: number
  low: number
  high: number
}

/** Joints of pre-printed or pre-punched webs that a sensor of the register saw. */
export interface RegisterView {
  joints: number
  /** In register at the joint. */
  in_register: ShareView
  /** Web until the others were back: waste, m; of those that did not come back while they were watched there is none. */
  metres: number
  not_back: number
}

export interface TrendsView {
  unwind: string
  /** Whose charts these are; null is the whole splicer. And all sides that there are. */
  side: string | null
  sides: string[]
  time: string
  /** Good splices that the charts are of, and how many it takes until a trend can be called. */
  splices: number
  needed: number
  standing: TrendView[]
  charts: TrendChartView[]
  /** Newest first: what was set, served and called in the time that the charts show. */
  log: LogEntry[]
  changes: ChangeView[]
  /** Null where no register was measured. */
  register: RegisterView | null
}

/** Gaps at joints that people measured, mm. */
export interface GapsView {
  joints: number
  median: number
}

/** Something that is done to a splicer now and then, as its config lists it. */
export interface ServiceView {
  unwind: string
  item: string
  name: string
  /** The config names it; else a screen says its usual name in its own language. */
  has_own_name: boolean
  /** A batch is asked for. */
  has_batch: boolean
  last: LogEntry | null
  /** Splices and failures since then (since the record began where nobody entered it yet). */
  splices: number
  failures: number
  /** Splices after which it is due: as configured, else as people have done it (median of three or more times); null unknown. */
  limit: number | null
  limit_by: 'config' | 'habit' | null
  is_due: boolean
  /** Share of failures in the first and in the second half of each count between two services; null where too few. */
  failures_early: ShareView | null
  failures_late: ShareView | null
  /** Measured gaps since then, and in both halves of each count between two services; null where too few. */
  gaps: GapsView | null
  gaps_early: GapsView | null
  gaps_late: GapsView | null
}

/** One line of maintenance's list. */
export interface MaintenanceLine {
  unwind: string
  name: string
  kind: 'trend' | 'service' | 'waste'
  since: string | null
  text: string
  /** The same before language and units are chosen, where neither trend nor service says it. */
  words?: Words[]
  /** Of a trend. */
  trend: TrendView | null
  /** Of a service. */
  service: ServiceView | null
}

/** Splices of one group, counted. */
export interface CountsView {
  splices: number
  good: number
  failed: number
  missed: number
  aborted: number
  /** Good of all; null of nothing. */
  success: ShareView | null
  /** Time that the line stood or crawled for them, s; null where only people saw them and nobody measured it. */
  lost_seconds: number | null
  /** Web that went to waste (not what was returned, nor what is not yet said), m. */
  waste: number
}

/** What splices can be grouped by. A person is none of them. */
export const GROUPINGS = ['unwind', 'side', 'material', 'supplier', 'tape_batch', 'temperature', 'humidity'] as const
export type Grouping = (typeof GROUPINGS)[number]

export interface ReportView {
  from: string
  to: string
  unwind: string | null
  counts: CountsView
  /** Splices without a verdict yet: in no figure. */
  open: number
  waste_kilograms: number | null
  waste_cost: number | null
  currency: string | null
  /** Splices from one failed or missed to the next, on average; null with fewer than two. */
  between_failures: number | null
  /** Laplace's test: above 1.96 failures come ever faster, below −1.96 ever more seldom (95 %); null where too few. */
  failure_trend: number | null
  /** Most frequent first. */
  causes: { cause: Cause | null; splices: number; lost_seconds: number | null; waste: number }[]
  groups: { by: Grouping; rows: ({ key: string; unit: string } & CountsView)[] }[]
  /** Newest first. */
  log: LogEntry[]
  /** Failed, missed and aborted ones, newest first, with what people found, did and noted. */
  bad: (Pick<SpliceRow, 'id' | 'unwind' | 'started'> & ListedVerdict & PeopleSaid)[]
  /** False where there were more splices than are counted at once. */
  is_whole: boolean
  /** Null where no register was measured. */
  register: RegisterView | null
}

/** What the API needs from the daemon for trends. Undefined where there is no such unwind. */
export interface TrendsPort {
  /** @param splices - how many of the newest good ones; @param side - undefined: the whole splicer. */
  trends(unwind: string, splices: number, side?: string): Promise<TrendsView | undefined>
  services(unwind: string): ServiceView[] | undefined
  maintenance(): MaintenanceLine[]
  /** Newest first. */
  log(filter: { unwind: string | undefined; fromTMs: number; toTMs: number; limit: number }): LogEntry[]
  /** @param unwind - undefined: all. */
  report(span: { fromTMs: number; toTMs: number }, unwind: string | undefined): Promise<ReportView>
}
