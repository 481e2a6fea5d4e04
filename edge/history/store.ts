/**
 * What the daemon keeps on this machine. Implemented by `sqlite-store.ts`.
 *
 * - `put…` and `add…` are taken into the present group; a group is committed durably at least once a second by `flush`.
 * - `putSplice` commits at once: a splice's id is durable before anybody is told of it.
 * - Never half a record: a group is one transaction. A full or failing disk makes `trouble` a sentence; nothing throws, the
 *   group is kept (bounded, drops counted) and tried again.
 */
import type { AlarmFilter, AlarmView, SpliceFilter, SpliceView } from '../api/messages.ts'
import type { ForecastRow } from '../columns.ts'
import type { Point } from '../outputs/output.ts'

/** One value of one signal, in contract units. */
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

export interface Store {
  addForecasts(rows: readonly ForecastRow[]): void
  /** Samples at reduced rate. */
  addSignals(points: readonly SignalPoint[]): void
  /** Inserts or revises by id. */
  putSplice(splice: SpliceView): void
  /** Full-rate points of a splice's trace; may come in pieces. */
  addTrace(spliceId: string, points: readonly SignalPoint[]): void
  /** Inserts or revises by id. */
  putAlarm(alarm: AlarmView): void
  /** Plain data to go on from after a restart; one per key. */
  putSnapshot(key: string, tMs: number, data: unknown): void
  snapshot(key: string): { tMs: number; data: unknown } | undefined

  splices(filter: SpliceFilter): SpliceView[]
  splice(id: string): SpliceView | undefined
  tracePoints(spliceId: string): SignalPoint[]
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
