/** The log of settings, services and trends on disk. All writing happens inside the store's transaction. */
import type { DatabaseSync, SQLInputValue } from 'node:sqlite'
import type { LogEntry } from '../trend-views.ts'
import type { LogFilter } from './store.ts'

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
  entries({ unwind, kind, subject, fromTMs, toTMs, limit }: LogFilter): LogEntry[] {
    const parts: string[] = []
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
    const where = parts.length === 0 ? '' : `WHERE ${parts.join(' AND ')}`
    return this.database
      .prepare(`SELECT entry FROM log ${where} ORDER BY t_ms DESC, id DESC LIMIT ?`)
      .all(...values, limit)
      .map((row) => JSON.parse(String(row['entry'])) as LogEntry)
  }

  /** Splices that joined or should have: good and failed ones. */
  count(unwind: string, fromTMs: number, toTMs: number): { splices: number; failures: number } {
    const row = this.sql.count.get(unwind, fromTMs, toTMs)
    return { splices: Number(row?.['splices']), failures: Number(row?.['failures']) }
  }
}
