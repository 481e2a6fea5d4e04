/**
 * Splices and alarms with all their revisions, traces and snapshots on disk. All writing happens inside the store's
 * transaction.
 */
import type { DatabaseSync, SQLInputValue } from 'node:sqlite'
import type { AlarmFilter, AlarmView, SpliceFilter, SpliceView } from '../api/messages.ts'
import { withDetails } from '../splice-details.ts'
import { reviewOf, type SpliceEntry } from '../splice-review.ts'
import { packPoints, unpackPoints } from './chunk.ts'
import type { PendingEntry, PendingRecord, PendingSnapshot, PendingTrace } from './group.ts'
import { SpliceSearch } from './splice-search.ts'
import type { SignalPoint } from './store.ts'

/** What a record of an older version lacks. */
const NOT_ASIDE = { suppressed: false, shelved_until: null, shelved_by: null }

export class RecordTables {
  private readonly database: DatabaseSync
  private readonly sql
  private readonly search: SpliceSearch

  constructor(database: DatabaseSync) {
    this.database = database
    this.sql = statements(database)
    this.search = new SpliceSearch(database, SELECT_SPLICE)
  }

  putSplice(record: PendingRecord, nowMs: number): void {
    if (this.sql.spliceView.get(record.id)?.['view'] === record.view) return
    this.sql.keepSplice.run(record.id)
    this.sql.putSplice.run(record.id, record.unwind, record.tMs, record.state, nowMs, record.view)
    this.search.index(record.id)
  }

  putAlarm(record: PendingRecord, nowMs: number): void {
    if (this.sql.alarmView.get(record.id)?.['view'] === record.view) return
    this.sql.keepAlarm.run(record.id)
    this.sql.putAlarm.run(record.id, record.unwind, record.tMs, record.state ?? '', nowMs, record.view)
  }

  /** Appended, never changed; the splice is found by what the newest that stands says it was. */
  addEntry({ spliceId, entry }: PendingEntry, nowMs: number): void {
    this.sql.addEntry.run(spliceId, nowMs, entry)
    const review = reviewOf(entriesOf(this.sql.entries.get(spliceId)?.['entries']))
    this.sql.sayOutcome.run(review?.outcome ?? null, review?.cause ?? null, spliceId)
    this.search.index(spliceId)
  }

  /** One piece per splice. */
  addTraces(traces: readonly PendingTrace[], nowMs: number): void {
    for (const [spliceId, pieces] of Map.groupBy(traces, ({ spliceId }) => spliceId)) {
      this.sql.addPiece.run(spliceId, spliceId, nowMs, packPoints(pieces.map(({ point }) => point)))
    }
  }

  putSnapshot({ key, tMs, data }: PendingSnapshot): void {
    this.sql.putSnapshot.run(key, tMs, data)
  }

  snapshot(key: string): { tMs: number; data: unknown } | undefined {
    const row = this.sql.snapshot.get(key)
    return row && { tMs: Number(row['t_ms']), data: JSON.parse(String(row['data'])) }
  }

  splices(filter: SpliceFilter): SpliceView[] {
    return this.search.rows(filter).map(spliceOf)
  }

  splice(id: string): SpliceView | undefined {
    const row = this.sql.splice.get(id)
    return row && spliceOf(row)
  }

  spliceRevisions(id: string): SpliceView[] {
    return this.sql.spliceRevisions.all(id, id).map(spliceOf)
  }

  tracePoints(spliceId: string): SignalPoint[] {
    const pieces = this.sql.pieces.all(spliceId).flatMap((row) => unpackPoints(row['points'] as Uint8Array))
    return pieces.sort((a, b) => a.tMs - b.tMs)
  }

  alarms(filter: AlarmFilter): AlarmView[] {
    const where = new Where()
    where.add('unwind = ?', filter.unwind)
    if (filter.standing === true) where.add('state <> ?', 'normal')
    return this.database
      .prepare(`SELECT view FROM alarms ${where.text()} ORDER BY raised_ms DESC, id DESC LIMIT ?`)
      .all(...where.values, filter.limit)
      .map((row) => ({ ...NOT_ASIDE, ...(JSON.parse(String(row['view'])) as AlarmView) }))
  }

  /** Splices stay for ever; the traces of good ones go first. */
  pruneTraces(goodBeforeTMs: number, badBeforeTMs: number): void {
    this.sql.pruneTraces.run(badBeforeTMs, goodBeforeTMs)
  }

  gaps(unwind: string, fromTMs: number, toTMs: number): { tMs: number; mm: number }[] {
    const rows = this.sql.gaps.all(unwind, fromTMs, toTMs)
    return rows.map((row) => ({ tMs: Number(row['started_ms']), mm: Number(row['gap']) }))
  }

  /** What a record said before it was complete: its revisions take five times what the record itself takes. */
  pruneRevisions(beforeTMs: number): void {
    this.sql.pruneRevisions.run(REVISIONS_AT_ONCE, beforeTMs)
  }
}

/** That one `prune` looks at, once an hour: ten times what thirty busy unwinds write in one. */
const REVISIONS_AT_ONCE = 5000

class Where {
  readonly values: SQLInputValue[] = []
  private readonly parts: string[] = []

  add(part: string, value: string | number | undefined): void {
    if (value === undefined) return
    this.parts.push(part)
    this.values.push(value)
  }

  text(): string {
    return this.parts.length === 0 ? '' : `WHERE ${this.parts.join(' AND ')}`
  }
}

const HAS_TRACE = 'EXISTS (SELECT 1 FROM trace_pieces WHERE splice_id = splices.id) AS has_trace'
const ENTRIES =
  '(SELECT json_group_array(entry ORDER BY id) FROM splice_entries WHERE splice_id = splices.id) AS entries'
const SELECT_SPLICE = `SELECT splices.id, started_ms, view, ${HAS_TRACE}, ${ENTRIES} FROM splices`

/** As any version wrote it. */
type KeptSplice = Omit<SpliceView, 'details' | 'review'> & { details?: Partial<SpliceView['details']> }

/** Each is JSON in its own right. */
const entriesOf = (texts: unknown): SpliceEntry[] =>
  typeof texts === 'string' ? (JSON.parse(texts) as string[]).map((text) => JSON.parse(text) as SpliceEntry) : []

const spliceOf = (row: Record<string, unknown>): SpliceView => ({
  ...withDetails(JSON.parse(String(row['view'])) as KeptSplice),
  has_trace: row['has_trace'] === 1,
  review: reviewOf(entriesOf(row['entries'])),
})

function statements(database: DatabaseSync) {
  const sql = (text: string) => database.prepare(text)
  return {
    splice: sql(`${SELECT_SPLICE} WHERE id = ?`),
    spliceView: sql('SELECT view FROM splices WHERE id = ?'),
    keepSplice: sql(`INSERT INTO splice_revisions (id, revision, recorded_ms, view)
      SELECT id, revision, recorded_ms, view FROM splices WHERE id = ?`),
    putSplice: sql(`INSERT INTO splices (id, unwind, started_ms, outcome, revision, recorded_ms, view)
      VALUES (?, ?, ?, ?, 1, ?, ?)
      ON CONFLICT DO UPDATE SET unwind = excluded.unwind, started_ms = excluded.started_ms, outcome = excluded.outcome,
        revision = revision + 1, recorded_ms = excluded.recorded_ms, view = excluded.view`),
    spliceRevisions: sql(`SELECT view, has_trace FROM (
        SELECT view, revision, 0 AS has_trace FROM splice_revisions WHERE id = ?
        UNION ALL SELECT view, revision, ${HAS_TRACE} FROM splices WHERE id = ?)
      ORDER BY revision`),
    alarmView: sql('SELECT view FROM alarms WHERE id = ?'),
    keepAlarm: sql(`INSERT INTO alarm_revisions (id, revision, recorded_ms, view)
      SELECT id, revision, recorded_ms, view FROM alarms WHERE id = ?`),
    putAlarm: sql(`INSERT INTO alarms (id, unwind, raised_ms, state, revision, recorded_ms, view)
      VALUES (?, ?, ?, ?, 1, ?, ?)
      ON CONFLICT DO UPDATE SET unwind = excluded.unwind, raised_ms = excluded.raised_ms, state = excluded.state,
        revision = revision + 1, recorded_ms = excluded.recorded_ms, view = excluded.view`),
    addEntry: sql('INSERT INTO splice_entries (splice_id, recorded_ms, entry) VALUES (?, ?, ?)'),
    entries: sql(`SELECT ${ENTRIES} FROM splices WHERE id = ?`),
    sayOutcome: sql('UPDATE splices SET said_outcome = ?, said_cause = ? WHERE id = ?'),
    addPiece: sql(`INSERT INTO trace_pieces (splice_id, piece, recorded_ms, points)
      VALUES (?, (SELECT coalesce(max(piece), 0) + 1 FROM trace_pieces WHERE splice_id = ?), ?, ?)`),
    pieces: sql('SELECT points FROM trace_pieces WHERE splice_id = ? ORDER BY piece'),
    pruneTraces: sql(`DELETE FROM trace_pieces WHERE recorded_ms < ? OR (recorded_ms < ?
      AND EXISTS (SELECT 1 FROM splices WHERE id = splice_id AND coalesce(said_outcome, outcome) = 'good'))`),
    // Of several words on one splice SQLite takes the row of the greatest id.
    gaps: sql(`SELECT started_ms, json_extract(entry, '$.gap') AS gap, max(splice_entries.id) FROM splices
      JOIN splice_entries ON splice_id = splices.id
      WHERE unwind = ? AND started_ms >= ? AND started_ms < ? AND json_extract(entry, '$.gap') IS NOT NULL
        AND NOT EXISTS (SELECT 1 FROM splice_entries AS back WHERE back.splice_id = splices.id
          AND json_extract(back.entry, '$.takes_back') = json_extract(splice_entries.entry, '$.time'))
      GROUP BY splices.id ORDER BY started_ms`),
    // Rows stand in the order in which they were written, so the oldest are found without an index.
    pruneRevisions: sql(`DELETE FROM splice_revisions
      WHERE rowid IN (SELECT rowid FROM splice_revisions ORDER BY rowid LIMIT ?) AND recorded_ms < ?`),
    putSnapshot: sql('INSERT OR REPLACE INTO snapshots (key, t_ms, data) VALUES (?, ?, ?)'),
    snapshot: sql('SELECT t_ms, data FROM snapshots WHERE key = ?'),
  }
}
