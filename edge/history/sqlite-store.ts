/**
 * The embedded store over `node:sqlite`: WAL, `synchronous = FULL`, one group commit a second. `store.ts` has the promises.
 *
 * What is put waits in a group in memory, is committed whole or not at all, and stays there while the disk fails.
 * Reading never fails either: what can't be read is left out and `trouble` says why.
 */
import type { AlarmFilter, AlarmView, SpliceFilter, SpliceView } from '../api/messages.ts'
import type { Clock } from '../clock.ts'
import type { StoredForecast } from '../columns.ts'
import type { HistoryConfig } from '../config/config.ts'
import type { Point } from '../outputs/output.ts'
import { reviewOf, type SpliceEntry } from '../splice-review.ts'
import { wordsOf } from '../splice-words.ts'
import type { LogEntry } from '../trend-views.ts'
import { Group, type PendingRecord } from './group.ts'
import { LivingFile, type Tables } from './living-file.ts'
import type { Migration } from './migrations/migrate.ts'
import type {
  HistoryStore,
  Kept,
  KeptFilter,
  KeptKind,
  LogFilter,
  SignalPoint,
  SpooledPoint,
  TimeSpan,
} from './store.ts'

export interface StoreOptions {
  clock: Clock
  keep: Omit<HistoryConfig, 'keepAuditS'>
  /** Group commits by the clock; false where the caller calls `flush` itself. Default true. */
  flushEverySecond?: boolean
  /** Points that may wait for the output's database; 5 million are about 1 GB. */
  mostSpooled?: number
  mostDeadLetters?: number
  /** The file never takes more than this, bytes; undefined is no limit. */
  maxBytes?: number
  migrations?: readonly Migration[]
}

const FLUSH_MS = 1000
const MOST_SPOOLED = 5_000_000
const MOST_DEAD_LETTERS = 100_000
const DAY_S = 86_400
/** Pages that one `prune` gives back to the file system: bounds how long it takes. */
const PAGES_GIVEN_BACK = 2000

/** @throws LastwrapError where there can be no store at `path`. */
export function openStore(path: string, options: StoreOptions): HistoryStore {
  return new SqliteStore(path, options)
}

class SqliteStore implements HistoryStore {
  private readonly path: string
  private readonly options: StoreOptions
  private readonly file: LivingFile
  private readonly stopFlushing: () => void
  private group = new Group()
  private isClosed = false
  private spoolIsFull = false

  constructor(path: string, options: StoreOptions) {
    this.path = path
    this.options = options
    const { clock, maxBytes, migrations } = options
    this.file = new LivingFile(path, { nowMs: () => clock.nowMs(), maxBytes, migrations })
    this.stopFlushing = options.flushEverySecond === false ? () => undefined : clock.every(FLUSH_MS, () => this.flush())
  }

  addForecasts(rows: readonly StoredForecast[]): void {
    for (const row of rows) {
      this.group.forecasts.push({ unwind: row.unwind, tMs: this.time(row.time), row: JSON.stringify(row) })
    }
    this.group.bound()
  }

  addSignals(points: readonly SignalPoint[]): void {
    for (const point of points) {
      if (Number.isFinite(point.tMs)) this.group.signals.push(wholeMs(point))
      else this.group.countDropped('signals', 1)
    }
    this.group.bound()
  }

  putSplice(splice: SpliceView): void {
    // Whether there is a trace and what people added are the store's to know, and no revision of the splice.
    const view = JSON.stringify({ ...splice, has_trace: false, review: null })
    const { id, unwind, outcome } = splice
    this.group.splices.push({ id, unwind, tMs: this.time(splice.started), state: outcome, view })
    this.group.bound()
    this.flush()
  }

  putSpliceEntry(spliceId: string, entry: SpliceEntry): void {
    this.group.entries.push({ spliceId, entry: JSON.stringify(entry) })
    this.group.bound()
    this.flush()
  }

  addTrace(spliceId: string, points: readonly SignalPoint[]): void {
    for (const point of points) {
      if (Number.isFinite(point.tMs)) this.group.traces.push({ spliceId, point: wholeMs(point) })
      else this.group.countDropped('traces', 1)
    }
    this.group.bound()
  }

  putAlarm(alarm: AlarmView): void {
    const { id, unwind, state } = alarm
    this.group.alarms.push({ id, unwind, tMs: this.time(alarm.raised), state, view: JSON.stringify(alarm) })
    this.group.bound()
    this.flush()
  }

  putKept(kept: Kept): void {
    this.group.kept.push({ ...kept, tMs: Math.round(kept.tMs) })
    this.group.bound()
  }

  kept(kind: KeptKind, filter: KeptFilter): Kept[] {
    // A list that people look up now and then: what waits goes to disk first.
    if (this.group.kept.length > 0) this.flush()
    const written = this.file.read([], (tables) => tables.kept.newest(kind, filter))
    const waiting = new Map(this.group.kept.filter((one) => one.kind === kind).map((one) => [one.id, one]))
    if (waiting.size === 0) return written
    const isIn = (one: Kept): boolean =>
      (filter.unwind === undefined || one.unwind === filter.unwind) &&
      one.tMs >= (filter.fromTMs ?? -Infinity) &&
      one.tMs <= (filter.toTMs ?? Infinity)
    const all = [...written.filter(({ id }) => !waiting.has(id)), ...[...waiting.values()].filter(isIn)]
    return all.sort((a, b) => b.tMs - a.tMs).slice(0, filter.limit)
  }

  putSnapshot(key: string, tMs: number, data: unknown): void {
    this.group.snapshots.set(key, { key, tMs: Math.round(tMs), data: JSON.stringify(data ?? null) })
  }

  snapshot(key: string): { tMs: number; data: unknown } | undefined {
    const waiting = this.group.snapshots.get(key)
    if (waiting !== undefined) return { tMs: waiting.tMs, data: JSON.parse(waiting.data) }
    return this.file.read(undefined, (tables) => tables.records.snapshot(key))
  }

  splices(filter: SpliceFilter): SpliceView[] {
    const waiting = this.waitingViews<SpliceView>(this.group.splices, (record) => {
      const isIn = record.tMs >= (filter.fromTMs ?? -Infinity) && record.tMs <= (filter.toTMs ?? Infinity)
      return (
        isIn &&
        isBehind(record, filter.before) &&
        isAskedFor(filter.unwind, record.unwind) &&
        isAskedFor(filter.outcome, record.state) &&
        (filter.cause === undefined || record.view.includes(`"cause":"${filter.cause}"`)) &&
        wordsOf(filter.text ?? '').every((word) => record.view.toLowerCase().includes(word))
      )
    })
    const written = this.file.read([], (tables) =>
      tables.records.splices({ ...filter, limit: filter.limit + waiting.all.size }),
    )
    return merged(written, waiting, filter.limit, (splice) => splice.started).map((splice) => this.reviewed(splice))
  }

  putLog(entry: LogEntry): void {
    this.group.log.push(entry)
    this.group.bound()
    this.flush()
  }

  log(filter: LogFilter): LogEntry[] {
    return this.file.read([], (tables) => tables.log.entries(filter))
  }

  countSplices(unwind: string, span: TimeSpan): { splices: number; failures: number } {
    const none = { splices: 0, failures: 0 }
    return this.file.read(none, (tables) => tables.log.count(unwind, span.fromTMs, span.toTMs))
  }

  gaps(unwind: string, { fromTMs, toTMs }: TimeSpan): { tMs: number; mm: number }[] {
    return this.file.read([], (tables) => tables.records.gaps(unwind, fromTMs, toTMs))
  }

  splice(id: string): SpliceView | undefined {
    const waiting = this.group.splices.findLast((record) => record.id === id)
    const written = this.file.read(undefined, (tables) => tables.records.splice(id))
    if (waiting === undefined) return written && this.reviewed(written)
    const view = JSON.parse(waiting.view) as SpliceView
    return this.reviewed({ ...view, has_trace: written?.has_trace ?? false, review: written?.review ?? null })
  }

  /** With what people added and the disk does not have yet. */
  private reviewed(splice: SpliceView): SpliceView {
    const waiting = this.group.entries.filter(({ spliceId }) => spliceId === splice.id)
    if (waiting.length === 0) return splice
    const added = waiting.map(({ entry }) => JSON.parse(entry) as SpliceEntry)
    return { ...splice, review: reviewOf([...(splice.review?.entries ?? []), ...added]) }
  }

  spliceRevisions(id: string): SpliceView[] {
    return this.file.read([], (tables) => tables.records.spliceRevisions(id))
  }

  tracePoints(spliceId: string): SignalPoint[] {
    const written = this.file.read([], (tables) => tables.records.tracePoints(spliceId))
    const waiting = this.group.traces.filter((trace) => trace.spliceId === spliceId).map(({ point }) => point)
    return waiting.length === 0 ? written : [...written, ...waiting].sort((a, b) => a.tMs - b.tMs)
  }

  alarms(filter: AlarmFilter): AlarmView[] {
    const waiting = this.waitingViews<AlarmView>(this.group.alarms, (record) => {
      return isAskedFor(filter.unwind, record.unwind) && (filter.standing !== true || record.state !== 'normal')
    })
    const written = this.file.read([], (tables) =>
      tables.records.alarms({ ...filter, limit: filter.limit + waiting.all.size }),
    )
    return merged(written, waiting, filter.limit, (alarm) => alarm.raised)
  }

  forecasts(unwind: string, span: TimeSpan): StoredForecast[] {
    return this.file.read([], (tables) => tables.samples.forecasts(unwind, span))
  }

  signals(unwind: string, signal: string, span: TimeSpan): SignalPoint[] {
    return this.file.read([], (tables) => tables.samples.signals(unwind, signal, span))
  }

  signalRollups(unwind: string, signal: string, per: 'minute' | 'hour', span: TimeSpan) {
    return this.file.read([], (tables) => tables.samples.rollups(unwind, signal, per, span))
  }

  spool(points: readonly Point[]): void {
    for (const point of points) this.group.spool.push(JSON.stringify(point))
    this.group.bound()
  }

  spooled(limit: number): SpooledPoint[] {
    const { removed } = this.group
    const head = this.file.read([], (tables) => tables.spool.head(limit + removed.size))
    return removed.size === 0 ? head : head.filter(({ id }) => !removed.has(id)).slice(0, limit)
  }

  spoolSize(): number {
    return this.file.tables.spool.size() - this.group.removed.size + this.group.spool.length
  }

  removeSpooled(ids: readonly number[]): void {
    for (const id of ids) this.group.removed.add(id)
    this.flush()
  }

  addDeadLetter(point: Point, reason: string): void {
    this.group.letters.push({ point: JSON.stringify(point), reason })
    this.group.bound()
  }

  deadLetters(): { point: Point; reason: string }[] {
    const waiting = this.group.letters.map(({ point, reason }) => ({ point: JSON.parse(point) as Point, reason }))
    return [...this.file.read([], (tables) => tables.spool.deadLetters()), ...waiting]
  }

  dropped(): Readonly<Record<string, number>> {
    const counts = this.file.read({} as Record<string, number>, (tables) => tables.spool.dropped())
    for (const [kind, n] of this.group.dropped) counts[kind] = (counts[kind] ?? 0) + n
    return counts
  }

  notices(): readonly string[] {
    return this.file.notices
  }

  prune(nowTMs: number): void {
    const { keepSamplesS, keepTracesS, keepBadTracesS } = this.options.keep
    this.file.write(({ samples, records, kept }) => {
      samples.prune(nowTMs - keepSamplesS * 1000)
      kept.prune(nowTMs - keepSamplesS * 1000)
      records.pruneRevisions(nowTMs - keepTracesS * 1000)
      records.pruneTraces(nowTMs - keepTracesS * 1000, nowTMs - Math.max(keepTracesS, keepBadTracesS) * 1000)
    })
    this.file.giveBack(PAGES_GIVEN_BACK)
  }

  flush(): void {
    if (this.isClosed || !this.file.write((tables) => this.writeGroup(tables))) return
    this.group = new Group()
    // Apart from the group: what is old already must not hold up what is new.
    this.file.write(({ samples, spool }) => {
      const damaged = samples.pack(this.options.clock.nowMs())
      if (damaged > 0) spool.countDropped('damaged_minutes', damaged)
    })
  }

  trouble(): string | undefined {
    if (this.file.writeFault !== undefined) {
      const lost = [...this.group.dropped.values()].reduce((sum, n) => sum + n, 0)
      return (
        `The history ${this.path} can't be written (${this.file.writeFault}): ${this.group.size()} records wait in memory, ` +
        `${lost} were dropped. Make room on the disk, and see that the file is writable.`
      )
    }
    if (this.spoolIsFull) {
      return (
        `The database has been away for so long that its queue in ${this.path} is full: the oldest points are dropped ` +
        `(${this.dropped()['spool'] ?? 0} so far). See to the database.`
      )
    }
    return this.file.readFault && `The history ${this.path} can't be read (${this.file.readFault}): check the disk.`
  }

  close(): void {
    if (this.isClosed) return
    this.stopFlushing()
    this.flush()
    this.isClosed = true
    this.file.close()
  }

  private writeGroup({ samples, records, log, kept, spool }: Tables): void {
    const nowMs = this.options.clock.nowMs()
    const { group } = this
    for (const splice of group.splices) records.putSplice(splice, nowMs)
    for (const entry of group.log) log.put(entry)
    for (const entry of group.entries) records.addEntry(entry, nowMs)
    for (const alarm of group.alarms) records.putAlarm(alarm, nowMs)
    for (const one of group.kept) kept.put(one, nowMs)
    for (const snapshot of group.snapshots.values()) records.putSnapshot(snapshot)
    records.addTraces(group.traces, nowMs)
    samples.addForecasts(group.forecasts)
    samples.addSignals(group.signals)
    spool.add(group.spool)
    spool.remove(group.removed)
    spool.addLetters(group.letters, nowMs)
    const mostSpooled = this.options.mostSpooled ?? MOST_SPOOLED
    const drops = new Map(group.dropped)
    const droppedPoints = spool.dropOver(mostSpooled)
    drops.set('spool', (drops.get('spool') ?? 0) + droppedPoints)
    drops.set('dead_letters', (drops.get('dead_letters') ?? 0) + spool.dropLettersOver(this.mostDeadLetters()))
    for (const [kind, n] of drops) if (n > 0) spool.countDropped(kind, n)
    // Stays said until there is room again, not just in the second of the drop.
    this.spoolIsFull = droppedPoints > 0 || (this.spoolIsFull && spool.size() > mostSpooled * 0.9)
  }

  private mostDeadLetters(): number {
    return this.options.mostDeadLetters ?? MOST_DEAD_LETTERS
  }

  private time(iso: string): number {
    const tMs = Date.parse(iso)
    return Number.isFinite(tMs) ? tMs : this.options.clock.nowMs()
  }

  private waitingViews<T>(records: readonly PendingRecord[], isWanted: (record: PendingRecord) => boolean): Waiting<T> {
    const newest = new Map(records.map((record) => [record.id, record]))
    const views = [...newest.values()].filter(isWanted).map((record) => JSON.parse(record.view) as T)
    return { all: new Set(newest.keys()), views }
  }
}

interface Waiting<T> {
  /** Ids whose newest revision isn't on disk yet. */
  all: Set<string>
  views: T[]
}

/** What is on disk, with what waits to be written in place of it; newest first. */
function merged<T extends { id: string }>(
  written: T[],
  waiting: Waiting<T>,
  limit: number,
  timeOf: (one: T) => string,
): T[] {
  if (waiting.all.size === 0) return written
  const rest = written.filter(({ id }) => !waiting.all.has(id))
  return [...rest, ...waiting.views].sort((a, b) => Date.parse(timeOf(b)) - Date.parse(timeOf(a))).slice(0, limit)
}

const isBehind = ({ tMs, id }: PendingRecord, before: SpliceFilter['before']): boolean =>
  before === undefined || tMs < before.startedTMs || (tMs === before.startedTMs && id < before.id)

const isAskedFor = (wanted: string | undefined, given: string | null): boolean =>
  wanted === undefined || wanted === given

/** Times are whole milliseconds on disk; a value that is no number is no value. */
const wholeMs = ({ unwind, signal, tMs, value }: SignalPoint): SignalPoint => ({
  unwind,
  signal,
  tMs: Math.round(tMs),
  value: value !== null && Number.isFinite(value) ? value : null,
})

/** For a caller without a config: what a config that says nothing keeps. */
export const DEFAULT_KEEP: StoreOptions['keep'] = {
  keepSamplesS: 90 * DAY_S,
  keepTracesS: 90 * DAY_S,
  keepBadTracesS: 730 * DAY_S,
}
