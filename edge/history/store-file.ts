/**
 * Opens the store's file: settings for durability, schema, and what to do with a file that can't be used.
 *
 * A damaged file is moved aside, never deleted, and a new one begun. A file of somebody else's, one of a newer version and
 * one that can't be opened are refused with a sentence.
 */
import { closeSync, existsSync, mkdirSync, openSync, renameSync, statSync } from 'node:fs'
import { dirname } from 'node:path'
import { DatabaseSync } from 'node:sqlite'
import { LastwrapError, reasonOf } from '../errors.ts'
import { type Migration, migrate, ownMigrations } from './migrations/migrate.ts'

/** "LSTW" in the file's header: tells our file from any other SQLite file. */
const APPLICATION_ID = 0x4c535457
/** A file up to this size is checked page by page at start (tens of ms); a larger one shows its faults when they are met. */
const CHECKED_BYTES = 32 * 1024 * 1024
/** How long a write waits for another process's, ms: the event loop stands meanwhile. */
const BUSY_MS = 250
const HISTORY = 'The history'

export interface StoreFileOptions {
  nowMs: () => number
  /** The file never takes more than this; undefined is no limit. */
  maxBytes?: number
  migrations?: readonly Migration[]
  /** What the file is, at the beginning of a sentence; default `The history`. */
  what?: string
}

export interface StoreFile {
  database: DatabaseSync
  /** Where a damaged file was moved to, as a sentence; undefined where all was well. */
  notice: string | undefined
}

/** @throws LastwrapError where no store can be had at `path`. */
export function openStoreFile(path: string, options: StoreFileOptions): StoreFile {
  try {
    mkdirSync(dirname(path), { recursive: true, mode: 0o700 })
    // Made by us, so that nobody else on the machine reads names and orders in it; SQLite's side files take the same mode.
    closeSync(openSync(path, 'a', 0o600))
  } catch (thrown) {
    throw cannotOpen(path, thrown, options.what)
  }
  try {
    return { database: openUsable(path, options), notice: undefined }
  } catch (thrown) {
    if (thrown instanceof LastwrapError) throw thrown
    if (!isDamage(thrown)) throw cannotOpen(path, thrown, options.what)
    try {
      const notice = moveAside(path, options.nowMs(), reasonOf(thrown), options.what)
      closeSync(openSync(path, 'a', 0o600))
      return { database: openUsable(path, options), notice }
    } catch (again) {
      throw cannotOpen(path, again, options.what)
    }
  }
}

/** Renames the file with its side files, and says so. */
export function moveAside(path: string, nowMs: number, reason: string, what = HISTORY): string {
  const stamp = new Date(nowMs).toISOString().replaceAll(/[:.]/g, '-')
  let target = `${path}.damaged-${stamp}`
  for (let n = 2; existsSync(target); n += 1) target = `${path}.damaged-${stamp}-${n}`
  for (const side of ['', '-wal', '-shm']) if (existsSync(path + side)) renameSync(path + side, target + side)
  return `${what} ${path} is damaged (${reason}): it was moved to ${target} and a new one was begun.`
}

/** SQLite's own words for "these bytes are no sound database": SQLITE_CORRUPT and SQLITE_NOTADB. */
export function isDamage(thrown: unknown): boolean {
  const code = sqliteCode(thrown)
  return code === 11 || code === 26
}

/** The primary result code of an error of `node:sqlite`. */
export function sqliteCode(thrown: unknown): number | undefined {
  const code = (thrown as { errcode?: unknown } | undefined)?.errcode
  return typeof code === 'number' ? code & 0xff : undefined
}

function openUsable(path: string, options: StoreFileOptions): DatabaseSync {
  const database = new DatabaseSync(path, { timeout: BUSY_MS })
  try {
    refuseForeign(database, path)
    // Only a new file takes these two; they let deleted history give its room back.
    database.exec('PRAGMA auto_vacuum = INCREMENTAL')
    database.exec('PRAGMA journal_mode = WAL')
    database.exec('PRAGMA synchronous = FULL')
    if (statSync(path).size <= CHECKED_BYTES) checkPages(database)
    migrate(database, path, options.migrations ?? ownMigrations())
    if (applicationId(database) !== APPLICATION_ID) database.exec(`PRAGMA application_id = ${APPLICATION_ID}`)
    if (options.maxBytes !== undefined) limitSize(database, options.maxBytes)
    return database
  } catch (thrown) {
    database.close()
    throw thrown
  }
}

function refuseForeign(database: DatabaseSync, path: string): void {
  const tables = Number(database.prepare('SELECT count(*) AS n FROM sqlite_schema').get()?.['n'])
  if (tables > 0 && applicationId(database) !== APPLICATION_ID) {
    throw new LastwrapError(
      'store_failing',
      `${path} is a database of another program, not Lastwrap's history: name another data folder.`,
    )
  }
}

function applicationId(database: DatabaseSync): number {
  return Number(database.prepare('PRAGMA application_id').get()?.['application_id'])
}

function checkPages(database: DatabaseSync): void {
  const answer = database.prepare('PRAGMA quick_check(1)').get()?.['quick_check']
  if (answer !== 'ok') throw Object.assign(new Error(String(answer).split('\n').pop()), { errcode: 11 })
}

function limitSize(database: DatabaseSync, maxBytes: number): void {
  const pageSize = Number(database.prepare('PRAGMA page_size').get()?.['page_size'])
  database.exec(`PRAGMA max_page_count = ${Math.max(1, Math.floor(maxBytes / pageSize))}`)
}

function cannotOpen(path: string, thrown: unknown, what = HISTORY): LastwrapError {
  return new LastwrapError(
    'store_failing',
    `${what} ${path} can't be opened (${reasonOf(thrown)}): make its folder writable for this user and see that ` +
      'the disk has room, or name another data folder.',
    { cause: thrown },
  )
}
