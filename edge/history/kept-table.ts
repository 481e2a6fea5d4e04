/** What is kept by kind beside splices and alarms. All writing happens inside the store's transaction. */
import type { DatabaseSync } from 'node:sqlite'
import type { Kept, KeptFilter, KeptKind } from './store.ts'

export class KeptTable {
  private readonly sql

  constructor(database: DatabaseSync) {
    this.sql = {
      put: database.prepare(`INSERT INTO kept (kind, id, unwind, t_ms, recorded_ms, view) VALUES (?, ?, ?, ?, ?, ?)
        ON CONFLICT DO UPDATE SET unwind = excluded.unwind, t_ms = excluded.t_ms, recorded_ms = excluded.recorded_ms,
          view = excluded.view`),
      prune: database.prepare(`DELETE FROM kept WHERE kind = 'joint_event' AND t_ms < ?`),
      newest: database.prepare(`SELECT id, unwind, t_ms, view FROM kept
        WHERE kind = ? AND t_ms >= ? AND t_ms <= ? AND (? = '' OR unwind = ?) ORDER BY t_ms DESC, id DESC LIMIT ?`),
    }
  }

  put({ kind, id, unwind, tMs, view }: Kept, nowMs: number): void {
    this.sql.put.run(kind, id, unwind, tMs, nowMs, view)
  }

  /** The stations at which a joint was stand in the joint itself, which is kept for ever: its events need not. */
  prune(beforeTMs: number): void {
    this.sql.prune.run(beforeTMs)
  }

  newest(kind: KeptKind, { unwind = '', fromTMs, toTMs, limit }: KeptFilter): Kept[] {
    const [from, to] = [fromTMs ?? 0, toTMs ?? Number.MAX_SAFE_INTEGER]
    return this.sql.newest.all(kind, from, to, unwind, unwind, limit).map((row) => ({
      kind,
      id: String(row['id']),
      unwind: String(row['unwind']),
      tMs: Number(row['t_ms']),
      view: String(row['view']),
    }))
  }
}
