/**
 * What the daemon keeps on this machine. Implemented by `sqlite-store.ts`.
 *
 * - `put…` and `add…` are taken into the present group; a group is committed durably at least once a second by `flush`.
 * - `putSplice` commits at once: a splice's id is durable before anybody is told of it.
 * - Never half a record: a group is one transaction. A full or failing disk makes `trouble` a sentence; nothing throws, the
 *   group is kept (bounded, drops counted) and tried again.
 */
import type { AlarmFilter, AlarmView, SpliceFilter, SpliceView } from '../api/messages.ts'
import type { StoredForecast } from '../columns.ts'
import type { Point } from '../outputs/output.ts'
import type { SpliceEntry } from '../splice-review.ts'
import type { LogEntry, LogKind } from '../trend-views.ts'

/** One value of one signal, in contract units; booleans are 0 and 1, null is "no value from here on". */
export interface SignalPoint {
  unwind: string
  signal: string
  tMs: number
  value: number | null
}

export interface SpooledPoint {
  id: number
  point: Point
}

/** What is kept by kind beside splices and alarms. */
export type KeptKind = 'joint' | 'joint_event' | 'count_difference' | 'entered'
export interface Kept {
  kind: KeptKind
  /** Unique within its kind; a later one replaces it. */
  id: string
  unwind: string
  /** What it is listed by, ms since 1970 UTC. */
  tMs: number
  /** All of it as JSON. */
  view: string
}
export interface KeptFilter {
  unwind?: string | undefined
  fromTMs?: number | undefined
  toTMs?: number | undefined
  limit: number
}

export interface Store {
  addForecasts(rows: readonly StoredForecast[]): void
  /** Samples at reduced rate. */
  addSignals(points: readonly SignalPoint[]): void
  /** Inserts or revises by id. */
  putSplice(splice: SpliceView): void
  /** What a person adds to a splice; durable before it returns. */
  putSpliceEntry(spliceId: string, entry: SpliceEntry): void
  /** Full-rate points of a splice's trace; may come in pieces. */
  addTrace(spliceId: string, points: readonly SignalPoint[]): void
  /** Inserts or revises by id. */
  putAlarm(alarm: AlarmView): void
  /** Inserts or replaces by kind and id. */
  putKept(kept: Kept): void
  /** Newest first. */
  kept(kind: KeptKind, filter: KeptFilter): Kept[]
  /** Plain data to go on from after a restart; one per key. */
  putSnapshot(key: string, tMs: number, data: unknown): void
  snapshot(key: string): { tMs: number; data: unknown } | undefined

  /** Newest first. */
  splices(filter: SpliceFilter): SpliceView[]
  splice(id: string): SpliceView | undefined
  /** By time. */
  tracePoints(spliceId: string): SignalPoint[]
  /** Newest first. */
  alarms(filter: AlarmFilter): AlarmView[]

  /** The durable queue for an output. */
  spool(points: readonly Point[]): void
  spooled(limit: number): SpooledPoint[]
  spoolSize(): number
  removeSpooled(ids: readonly number[]): void
  addDeadLetter(point: Point, reason: string): void
  deadLetters(): { point: Point; reason: string }[]

  /** Deletes what is older than the config keeps. */
  prune(nowTMs: number): void
  /** Commits the present group durably. */
  flush(): void
  trouble(): string | undefined
  close(): void
}

/** A span of one signal: how many values, least, greatest, mean (null without a value). */
export interface SignalRollup {
  tMs: number
  n: number
  low: number | null
  high: number | null
  mean: number | null
}

/** Where to look: from (inclusive) to (exclusive), ms since 1970 UTC. */
export interface TimeSpan {
  fromTMs: number
  toTMs: number
}

export interface LogFilter {
  unwind?: string | undefined
  kind?: LogKind
  subject?: string
  /** Without services that were taken back. */
  standing?: boolean
  fromTMs?: number
  toTMs?: number
  limit: number
}

/** The embedded store with what only it can tell. */
export interface HistoryStore extends Store {
  /** A setting, a service or a trend; durable before it returns. */
  putLog(entry: LogEntry): void
  /** Newest first. */
  log(filter: LogFilter): LogEntry[]
  /** Good and failed splices of a span. */
  countSplices(unwind: string, span: TimeSpan): { splices: number; failures: number }
  /** Gaps at joints that people measured at splices of a span, the newest word of each, mm. */
  gaps(unwind: string, span: TimeSpan): { tMs: number; mm: number }[]
  forecasts(unwind: string, span: TimeSpan): StoredForecast[]
  signals(unwind: string, signal: string, span: TimeSpan): SignalPoint[]
  /** By minute as long as samples are kept, by hour for ever. */
  signalRollups(unwind: string, signal: string, per: 'minute' | 'hour', span: TimeSpan): SignalRollup[]
  /** Every revision of a splice as long as traces of good ones are kept, oldest first; the last is what `splice` gives. */
  spliceRevisions(id: string): SpliceView[]
  /** What was dropped because a limit was reached, by kind, since the store was begun. */
  dropped(): Readonly<Record<string, number>>
  /** What happened to the file itself, one sentence each: worth a line in the log at start. */
  notices(): readonly string[]
}
