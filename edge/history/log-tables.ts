/** The log of settings, services and trends on disk. All writing happens inside the store's transaction. */
import type { DatabaseSync, SQLInputValue } from 'node:sqlite'
import type { LogEntry } from '../trend-views.ts'
import type { LogFilter } from './store.ts'

/** Whoever takes a service back is an entry too, which names it by its time: nothing is changed. The first one counts. */
const TAKEN_BACK = `iif(kind <> 'service', NULL, (SELECT back.entry FROM log AS back
  WHERE back.unwind = log.unwind AND back.kind = 'service_taken_back' AND back.subject = log.subject
    AND json_extract(back.entry, '$.from') = json_extract(log.entry, '$.time') ORDER BY back.t_ms LIMIT 1))`
/** What was said of a service that had been entered already, and counted to that one, takes nothing back. */
const IS_SAID_OF_ONE = `(kind <> 'service_taken_back' OR EXISTS (SELECT 1 FROM log AS done
  WHERE done.unwind = log.unwind AND done.kind = 'service' AND done.subject = log.subject
    AND json_extract(done.entry, '$.time') = json_extract(log.entry, '$.from')))`

function takenBackOf(back: unknown): LogEntry['taken_back'] {
  if (typeof back !== 'string') return null
  const { time, person } = JSON.parse(back) as LogEntry
  return { time, person }
}

export class LogTables {
  private readonly database: DatabaseSync
  private readonly sql

  constructor(database: DatabaseSync) {
    this.database = database
    this.sql = {
      put: database.prepare(
        'INSERT OR REPLACE INTO log (id, unwind, t_ms, kind, subject, entry) VALUES (?, ?, ?, ?, ?, ?)',
      ),
      count: database.prepare(
        `SELECT count(*) AS splices, count(*) FILTER (WHERE verdict = 'failed') AS failures FROM splices
          WHERE unwind = ? AND started_ms >= ? AND started_ms < ? AND verdict IN ('good', 'failed')`,
      ),
    }
  }

  put(entry: LogEntry): void {
    const { id, unwind, time, kind, subject } = entry
    this.sql.put.run(id, unwind, Date.parse(time), kind, subject, JSON.stringify(entry))
  }

  /** Newest first. */
  entries({ unwind, kind, subject, standing = false, fromTMs, toTMs, limit }: LogFilter): LogEntry[] {
    const parts = [IS_SAID_OF_ONE, ...(standing ? [`${TAKEN_BACK} IS NULL`] : [])]
    const values: SQLInputValue[] = []
    for (const [part, value] of [
      ['unwind = ?', unwind],
      ['kind = ?', kind],
      ['subject = ?', subject],
      ['t_ms >= ?', fromTMs],
      ['t_ms <= ?', toTMs],
    ] as const) {
      if (value === undefined) continue
      parts.push(part)
      values.push(value)
    }
    return this.database
      .prepare(
        `SELECT entry, ${TAKEN_BACK} AS back FROM log WHERE ${parts.join(' AND ')} ORDER BY t_ms DESC, id DESC LIMIT ?`,
      )
      .all(...values, limit)
      .map((row) => ({ ...(JSON.parse(String(row['entry'])) as LogEntry), taken_back: takenBackOf(row['back']) }))
  }

  /** Splices that joined or should have: good and failed ones. */
  count(unwind: string, fromTMs: number, toTMs: number): { splices: number; failures: number } {
    const row = this.sql.count.get(unwind, fromTMs, toTMs)
    return { splices: Number(row?.['splices']), failures: Number(row?.['failures']) }
  }
}
