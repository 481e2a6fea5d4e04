/**
 * What waits for the next commit. Bounded: while the disk fails, each kind keeps its newest records and counts what it had
 * to drop. A store commits the whole group in one transaction, then clears it.
 */
import type { LogEntry } from '../trend-views.ts'
import type { Kept, SignalPoint } from './store.ts'

export interface PendingForecast {
  unwind: string
  tMs: number
  row: string
}
/** A splice or an alarm: what it is found by, and the whole of it as JSON. */
export interface PendingRecord {
  id: string
  unwind: string
  tMs: number
  /** `outcome` of a splice, `state` of an alarm. */
  state: string | null
  view: string
}
export interface PendingEntry {
  spliceId: string
  /** The whole of it as JSON. */
  entry: string
}
export interface PendingTrace {
  spliceId: string
  point: SignalPoint
}
export interface PendingSnapshot {
  key: string
  tMs: number
  data: string
}
export interface PendingLetter {
  point: string
  reason: string
}

/** How many records of a kind wait at most: at some 200 bytes each, about 100 MB when all are full. */
const MOST = { forecasts: 50_000, signals: 200_000, traces: 100_000, spool: 150_000, records: 20_000 } as const
/** Dropping moves the whole list, so it is done by the piece. */
const DROPPED_AT_ONCE = 1000

export class Group {
  forecasts: PendingForecast[] = []
  signals: SignalPoint[] = []
  splices: PendingRecord[] = []
  entries: PendingEntry[] = []
  log: LogEntry[] = []
  traces: PendingTrace[] = []
  alarms: PendingRecord[] = []
  kept: Kept[] = []
  snapshots = new Map<string, PendingSnapshot>()
  spool: string[] = []
  letters: PendingLetter[] = []
  removed = new Set<number>()
  /** Dropped since the last commit, by kind. */
  dropped = new Map<string, number>()

  size(): number {
    const { forecasts, signals, splices, entries, log, traces, alarms, kept, spool, letters } = this
    const lists = [forecasts, signals, splices, entries, log, traces, alarms, kept, spool, letters]
    return lists.reduce((sum, list) => sum + list.length, this.snapshots.size + this.removed.size)
  }

  /** Drops the oldest of each kind that grew over its limit. */
  bound(): void {
    this.cut('forecasts', this.forecasts, MOST.forecasts)
    this.cut('signals', this.signals, MOST.signals)
    this.cut('traces', this.traces, MOST.traces)
    this.cut('spool', this.spool, MOST.spool)
    this.cut('splices', this.splices, MOST.records)
    this.cut('log', this.log, MOST.records)
    this.cut('splice_entries', this.entries, MOST.records)
    this.cut('alarms', this.alarms, MOST.records)
    this.cut('kept', this.kept, MOST.records)
    this.cut('dead_letters', this.letters, MOST.records)
  }

  countDropped(kind: string, n: number): void {
    this.dropped.set(kind, (this.dropped.get(kind) ?? 0) + n)
  }

  private cut(kind: string, list: unknown[], most: number): void {
    if (list.length <= most) return
    const n = Math.min(list.length, list.length - most + DROPPED_AT_ONCE)
    list.splice(0, n)
    this.countDropped(kind, n)
  }
}
