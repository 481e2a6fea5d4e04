/** The durable queue for an output, and what the output's database refused for good. */
import type { DatabaseSync } from 'node:sqlite'
import type { Point } from '../outputs/output.ts'
import type { PendingLetter } from './group.ts'
import type { SpooledPoint } from './store.ts'

export class SpoolTables {
  private readonly sql
  private waiting: number
  private letters: number

  constructor(database: DatabaseSync) {
    this.sql = statements(database)
    this.waiting = Number(this.sql.count.get()?.['n'])
    this.letters = Number(this.sql.countLetters.get()?.['n'])
  }

  /** Points on disk. */
  size(): number {
    return this.waiting
  }

  /** Counts again what is on disk: after a transaction that was rolled back. */
  recount(): void {
    this.waiting = Number(this.sql.count.get()?.['n'])
    this.letters = Number(this.sql.countLetters.get()?.['n'])
  }

  add(points: readonly string[]): void {
    for (const point of points) this.sql.add.run(point)
    this.waiting += points.length
  }

  remove(ids: Iterable<number>): void {
    for (const id of ids) this.waiting -= Number(this.sql.remove.run(id).changes)
  }

  head(limit: number): SpooledPoint[] {
    return this.sql.head
      .all(limit)
      .map(({ id, point }) => ({ id: Number(id), point: JSON.parse(String(point)) as Point }))
  }

  /** @returns how many of the oldest had to go. */
  dropOver(most: number): number {
    if (this.waiting <= most) return 0
    const n = Number(this.sql.dropOldest.run(this.waiting - most).changes)
    this.waiting -= n
    return n
  }

  addLetters(letters: readonly PendingLetter[], nowMs: number): void {
    for (const { point, reason } of letters) this.sql.addLetter.run(nowMs, point, reason)
    this.letters += letters.length
  }

  /** @returns how many of the oldest had to go. */
  dropLettersOver(most: number): number {
    if (this.letters <= most) return 0
    const n = Number(this.sql.dropOldestLetters.run(this.letters - most).changes)
    this.letters -= n
    return n
  }

  deadLetters(): { point: Point; reason: string }[] {
    return this.sql.allLetters.all().map((row) => ({
      point: JSON.parse(String(row['point'])) as Point,
      reason: String(row['reason']),
    }))
  }

  countDropped(kind: string, n: number): void {
    this.sql.countDropped.run(kind, n)
  }

  dropped(): Record<string, number> {
    return Object.fromEntries(this.sql.dropped.all().map(({ kind, n }) => [String(kind), Number(n)]))
  }
}

function statements(database: DatabaseSync) {
  const sql = (text: string) => database.prepare(text)
  return {
    count: sql('SELECT count(*) AS n FROM spool'),
    add: sql('INSERT INTO spool (point) VALUES (?)'),
    remove: sql('DELETE FROM spool WHERE id = ?'),
    head: sql('SELECT id, point FROM spool ORDER BY id LIMIT ?'),
    dropOldest: sql('DELETE FROM spool WHERE id IN (SELECT id FROM spool ORDER BY id LIMIT ?)'),
    countLetters: sql('SELECT count(*) AS n FROM dead_letters'),
    addLetter: sql('INSERT INTO dead_letters (recorded_ms, point, reason) VALUES (?, ?, ?)'),
    dropOldestLetters: sql('DELETE FROM dead_letters WHERE id IN (SELECT id FROM dead_letters ORDER BY id LIMIT ?)'),
    allLetters: sql('SELECT point, reason FROM dead_letters ORDER BY id'),
    countDropped: sql('INSERT INTO dropped VALUES (?, ?) ON CONFLICT DO UPDATE SET n = n + excluded.n'),
    dropped: sql('SELECT kind, n FROM dropped'),
  }
}
