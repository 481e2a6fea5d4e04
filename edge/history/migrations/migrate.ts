/**
 * Brings a store's file to the schema that this version knows. A migration is a numbered SQL file beside this one; each is
 * applied once, in order, in one transaction with its number, so that a file never stands between two schemas.
 */
import { readdirSync, readFileSync } from 'node:fs'
import { join } from 'node:path'
import type { DatabaseSync } from 'node:sqlite'
import { LastwrapError } from '../../errors.ts'

export interface Migration {
  version: number
  sql: string
}

/** @returns the migrations in this folder, ascending without gaps. */
export function ownMigrations(folder: string = import.meta.dirname): Migration[] {
  return readdirSync(folder)
    .filter((name) => /^\d{4}-.*\.sql$/.test(name))
    .sort()
    .map((name) => ({ version: Number(name.slice(0, 4)), sql: readFileSync(join(folder, name), 'utf8') }))
}

/** @throws LastwrapError where a newer version of the program wrote the file. */
export function migrate(database: DatabaseSync, path: string, migrations: readonly Migration[]): void {
  const known = migrations.at(-1)?.version ?? 0
  const present = Number(database.prepare('PRAGMA user_version').get()?.['user_version'] ?? 0)
  if (present > known) {
    throw new LastwrapError(
      'store_failing',
      `The history ${path} was written by a newer Lastwrap (schema ${present}; this one knows up to ${known}): ` +
        'start the newer version, or name another data folder.',
    )
  }
  for (const { version, sql } of migrations.filter((migration) => migration.version > present)) {
    database.exec('BEGIN IMMEDIATE')
    try {
      database.exec(sql)
      database.exec(`PRAGMA user_version = ${version}`)
      database.exec('COMMIT')
    } catch (thrown) {
      if (database.isTransaction) database.exec('ROLLBACK')
      throw thrown
    }
  }
}
