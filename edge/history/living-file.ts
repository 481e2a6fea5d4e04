/**
 * The store's file while the daemon runs: transactions and readings that never throw, what is wrong with the disk in words,
 * and a new file in place of one that turns out damaged.
 */
import type { DatabaseSync } from 'node:sqlite'
import { reasonOf } from '../errors.ts'
import { KeptTable } from './kept-table.ts'
import { LogTables } from './log-tables.ts'
import { RecordTables } from './record-tables.ts'
import { SampleTables } from './sample-tables.ts'
import { SpoolTables } from './spool-tables.ts'
import { isDamage, moveAside, openStoreFile, type StoreFileOptions, sqliteCode } from './store-file.ts'

export interface Tables {
  samples: SampleTables
  records: RecordTables
  kept: KeptTable
  log: LogTables
  spool: SpoolTables
}

export class LivingFile {
  /** Why the last writing or reading failed; undefined since one succeeded. */
  writeFault: string | undefined
  readFault: string | undefined
  /** What happened to the file, one sentence each. */
  readonly notices: string[] = []
  tables: Tables
  private readonly path: string
  private readonly options: StoreFileOptions
  private database: DatabaseSync
  private isDamaged = false

  /** @throws LastwrapError where no file can be had. */
  constructor(path: string, options: StoreFileOptions) {
    this.path = path
    this.options = options
    this.database = this.open()
    this.tables = tablesOf(this.database)
  }

  /** One transaction; in a new file where the present one is damaged. @returns whether it was committed. */
  write(work: (tables: Tables) => void): boolean {
    if (!this.isUsable()) this.beginAnew()
    if (this.attempt(work)) return true
    if (!this.isDamaged) return false
    this.beginAnew()
    return this.attempt(work)
  }

  /** @returns `otherwise` where it can't be read. */
  read<T>(otherwise: T, work: (tables: Tables) => T): T {
    try {
      const result = work(this.tables)
      this.readFault = undefined
      return result
    } catch (thrown) {
      this.readFault = plainReason(thrown)
      this.isDamaged ||= isDamage(thrown)
      return otherwise
    }
  }

  /** Gives room that deleted history left back to the file system, at most `pages`. */
  giveBack(pages: number): void {
    this.read(undefined, () => this.database.exec(`PRAGMA incremental_vacuum(${pages})`))
  }

  close(): void {
    if (this.database.isOpen) this.database.close()
  }

  private isUsable(): boolean {
    return this.database.isOpen && !this.isDamaged
  }

  private attempt(work: (tables: Tables) => void): boolean {
    try {
      this.database.exec('BEGIN IMMEDIATE')
      work(this.tables)
      this.database.exec('COMMIT')
      this.writeFault = undefined
      return true
    } catch (thrown) {
      this.failed(thrown)
      this.rollBack()
      return false
    }
  }

  private rollBack(): void {
    try {
      if (this.database.isOpen && this.database.isTransaction) this.database.exec('ROLLBACK')
      if (this.isUsable()) this.tables.spool.recount()
    } catch (thrown) {
      this.failed(thrown)
    }
  }

  private failed(thrown: unknown): void {
    this.writeFault = plainReason(thrown)
    this.isDamaged ||= isDamage(thrown)
  }

  private open(): DatabaseSync {
    const { database, notice } = openStoreFile(this.path, this.options)
    if (notice !== undefined) this.notices.push(notice)
    return database
  }

  private beginAnew(): void {
    try {
      this.close()
      const reason = this.writeFault ?? this.readFault ?? 'found damaged'
      if (this.isDamaged) this.notices.push(moveAside(this.path, this.options.nowMs(), reason))
      this.database = this.open()
      this.tables = tablesOf(this.database)
      this.isDamaged = false
      this.readFault = undefined
    } catch (thrown) {
      this.writeFault = reasonOf(thrown)
    }
  }
}

const tablesOf = (database: DatabaseSync): Tables => ({
  samples: new SampleTables(database),
  records: new RecordTables(database),
  kept: new KeptTable(database),
  log: new LogTables(database),
  spool: new SpoolTables(database),
})

/** SQLite's reason in words that a person can act on. */
function plainReason(thrown: unknown): string {
  const code = sqliteCode(thrown)
  if (code === 13) return 'no room left'
  if (code === 8) return 'it is read-only'
  if (code === 5 || code === 6) return 'another program holds it'
  return reasonOf(thrown)
}
