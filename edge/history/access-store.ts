/**
 * Accounts and audit in a SQLite file of their own (`access.sqlite`, readable by the daemon's user alone).
 *
 * Accounts are durable when a call returns. Audit entries are written at once; while the disk fails they wait in memory, bounded,
 * and `trouble` says so: a full disk must not stop the monitor (IEC 62443-4-2 CR 2.10).
 */
import { join } from 'node:path'
import type { DatabaseSync } from 'node:sqlite'
import { LastwrapError, reasonOf } from '../errors.ts'
import type { AccountStore, KeptLock, KeptSession, SetUpLink, User } from '../security/account-store.ts'
import type { AuditEntry, AuditFilter, AuditLog, KeptEntry } from '../security/audit.ts'
import type { Role } from '../security/roles.ts'
import { ownMigrations } from './migrations/migrate.ts'
import { openStoreFile } from './store-file.ts'

/** About 2 MB of memory. */
const MOST_WAITING = 10_000

export interface AccessStoreOptions {
  nowMs: () => number
  /** The file never takes more than this, bytes; undefined is no limit. */
  maxBytes?: number
}

export class AccessStore implements AccountStore, AuditLog {
  /** A damaged file was moved aside: accounts have to be made anew. */
  readonly notice: string | undefined
  readonly #path: string
  readonly #database: DatabaseSync
  readonly #waiting: AuditEntry[] = []
  #dropped = 0
  #fault: string | undefined

  /** @throws LastwrapError where no file can be had at `path`. */
  constructor(path: string, options: AccessStoreOptions) {
    this.#path = path
    const migrations = ownMigrations(join(import.meta.dirname, 'access-migrations'))
    const { database, notice } = openStoreFile(path, { ...options, migrations, what: 'The file of accounts and audit' })
    this.#database = database
    this.notice = notice
  }

  users(): User[] {
    return this.#rows('SELECT * FROM users').map((row) => ({
      person: String(row['person']),
      role: row['role'] as Role,
      passwordHash: String(row['password_hash']),
      mustChange: row['must_change'] === 1,
      createdTMs: Number(row['created_ms']),
      lastSignInTMs: row['last_sign_in_ms'] === null ? undefined : Number(row['last_sign_in_ms']),
      browsers: JSON.parse(String(row['browsers'])) as string[],
    }))
  }

  putUser(user: User): void {
    this.#write('INSERT OR REPLACE INTO users VALUES (?, ?, ?, ?, ?, ?, ?)', [
      user.person,
      user.role,
      user.passwordHash,
      user.mustChange ? 1 : 0,
      user.createdTMs,
      user.lastSignInTMs ?? null,
      JSON.stringify(user.browsers),
    ])
  }

  removeUser(person: string): void {
    this.#write('DELETE FROM users WHERE person = ?', [person])
    this.#quietly('DELETE FROM sessions WHERE person = ?', [person])
  }

  putSession({ digest, person, untilTMs }: KeptSession): void {
    this.#quietly('INSERT OR REPLACE INTO sessions VALUES (?, ?, ?)', [digest, person, untilTMs])
  }

  removeSessions(digests: readonly string[]): void {
    for (const digest of digests) this.#quietly('DELETE FROM sessions WHERE digest = ?', [digest])
  }

  sessions(): KeptSession[] {
    return this.#rows('SELECT * FROM sessions').map((row) => ({
      digest: String(row['digest']),
      person: String(row['person']),
      untilTMs: Number(row['until_ms']),
    }))
  }

  locks(): KeptLock[] {
    return this.#rows('SELECT * FROM locks ORDER BY last_ms').map((row) => ({
      tried: String(row['tried']),
      isUser: row['is_user'] === 1,
      wrong: Number(row['wrong']),
      locks: Number(row['locks']),
      lastTMs: Number(row['last_ms']),
      lockedUntilTMs: Number(row['until_ms']),
    }))
  }

  putLock({ tried, isUser, wrong, locks, lastTMs, lockedUntilTMs }: KeptLock): void {
    this.#quietly('INSERT OR REPLACE INTO locks VALUES (?, ?, ?, ?, ?, ?)', [
      tried,
      isUser ? 1 : 0,
      wrong,
      locks,
      Math.round(lastTMs),
      Math.round(lockedUntilTMs),
    ])
  }

  removeLocks(tried: readonly string[]): void {
    for (const one of tried) this.#quietly('DELETE FROM locks WHERE tried = ?', [one])
  }

  setUpLink(): SetUpLink | undefined {
    const [row] = this.#rows('SELECT digest, until_ms FROM set_up_link')
    return row === undefined ? undefined : { digest: String(row['digest']), untilTMs: Number(row['until_ms']) }
  }

  putSetUpLink(link: SetUpLink | undefined): void {
    if (link === undefined) this.#write('DELETE FROM set_up_link', [])
    else this.#write('INSERT OR REPLACE INTO set_up_link VALUES (1, ?, ?)', [link.digest, link.untilTMs])
  }

  record(entry: AuditEntry): void {
    this.#waiting.push(entry)
    if (this.#waiting.length > MOST_WAITING) {
      this.#waiting.shift()
      this.#dropped += 1
    }
    this.flush()
  }

  /** Writes what waits. */
  flush(): void {
    while (this.#waiting[0] !== undefined && this.#add(this.#waiting[0])) this.#waiting.shift()
  }

  entries(filter: AuditFilter): KeptEntry[] {
    const about = filter.about === undefined ? undefined : `${filter.about}-`
    const conditions: [string, number | string | undefined][] = [
      ['t_ms >= ?', filter.fromTMs],
      ['t_ms <= ?', filter.toTMs],
      ['person = ?', filter.person],
      ['result = ?', filter.result],
      ['id < ?', filter.beforeId],
      // Its alarms, splices, joints and notes begin with its id.
      ["instr(subject || '-', ?) = 1", about],
    ]
    const used = conditions.filter((condition): condition is [string, number | string] => condition[1] !== undefined)
    const where = used.length === 0 ? '' : `WHERE ${used.map(([text]) => text).join(' AND ')}`
    const rows = this.#rows(`SELECT * FROM audit ${where} ORDER BY id DESC LIMIT ?`, [
      ...used.map(([, value]) => value),
      filter.limit,
    ])
    return rows.map((row) => ({
      id: Number(row['id']),
      tMs: Number(row['t_ms']),
      person: String(row['person']),
      from: String(row['origin']),
      action: String(row['action']),
      subject: String(row['subject']),
      result: row['result'] as AuditEntry['result'],
      detail: String(row['detail']),
    }))
  }

  /** Lets go of entries from before `beforeTMs`, but of none from within a year. @returns how many went */
  pruneAudit(beforeTMs: number): number {
    try {
      return Number(this.#database.prepare('DELETE FROM audit WHERE t_ms < ?').run(Math.round(beforeTMs)).changes)
    } catch (thrown) {
      this.#fault = reasonOf(thrown)
      return 0
    }
  }

  trouble(): string | undefined {
    if (this.#fault === undefined) return undefined
    return (
      `Accounts and audit in ${this.#path} can't be written (${this.#fault}): ${this.#waiting.length} audit entries wait in memory, ` +
      `${this.#dropped} were dropped. Make room on the disk, and see that the file is writable.`
    )
  }

  close(): void {
    this.flush()
    if (this.#database.isOpen) this.#database.close()
  }

  #add({ tMs, person, from, action, subject, result, detail }: AuditEntry): boolean {
    return this.#quietly(
      'INSERT INTO audit (t_ms, person, origin, action, subject, result, detail) VALUES (?, ?, ?, ?, ?, ?, ?)',
      [Math.round(tMs), person, from, action, subject, result, detail],
    )
  }

  #quietly(sql: string, values: readonly (string | number | null)[]): boolean {
    try {
      this.#database.prepare(sql).run(...values)
      this.#fault = undefined
      return true
    } catch (thrown) {
      this.#fault = reasonOf(thrown)
      return false
    }
  }

  #write(sql: string, values: readonly (string | number | null)[]): void {
    if (this.#quietly(sql, values)) return
    throw new LastwrapError(
      'store_failing',
      `${this.#path} can't be written (${this.#fault}). Make room on the disk, and see that the file is writable.`,
    )
  }

  #rows(sql: string, values: readonly (string | number)[] = []): Record<string, unknown>[] {
    return this.#database.prepare(sql).all(...values) as Record<string, unknown>[]
  }
}
