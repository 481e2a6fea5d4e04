/**
 * What is told of trends, settings, services and counts: shared by the core, the API and the dashboard. Units are the
 * contract's (m, mm, m/min, s; m/s² for ramps), times ISO 8601 UTC, null is not known.
 */
import type { TrendMetric } from './columns.ts'

/** What happened to a splicer besides its splices. */
export const LOG_KINDS = ['setting', 'service', 'trend', 'trend_ended', 'usual'] as const
export type LogKind = (typeof LOG_KINDS)[number]

export interface LogEntry {
  /** `<unwind>-<kind>-<subject>-<time in UTC ms>`. */
  id: string
  unwind: string
  time: string
  kind: LogKind
  /** The signal that was set, the service item, or the metric. */
  subject: string
  /** Of a trend: the side whose own chart shows it; null is the whole splicer. */
  side: string | null
  /** Of a setting: what it was and what it became; of a trend: usual and newest level. */
  from: number | string | null
  to: number | string | null
  unit: string
  /** Who did it; null where the machine says so. */
  person: string | null
  /** A batch, a word; empty where none. */
  note: string
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
