/**
 * What people entered at a running monitor, read from beside it: the monitor keeps each entry in its history, and a recording that
 * is written meanwhile takes it from there.
 */
import { existsSync } from 'node:fs'
import { DatabaseSync } from 'node:sqlite'
import { reasonOf } from '../errors.ts'
import type { Sample } from '../sample.ts'

/** Entries that are read in one go. */
const MOST = 1000

export class EnteredReader {
  readonly #path: string
  #database: DatabaseSync | undefined
  #lastTMs: number
  /** Ids of the newest time that were given already. */
  #given = new Set<string>()
  /** Why nothing can be read, one sentence; undefined while all is well. */
  trouble: string | undefined

  /** @param fromTMs - what was entered before is not given. */
  constructor(path: string, fromTMs: number) {
    this.#path = path
    this.#lastTMs = fromTMs
  }

  /** Entries since the last call, by time; none while there is no history. */
  read(): Sample[] {
    try {
      if (this.#database === undefined) {
        if (!existsSync(this.#path)) return []
        this.#database = new DatabaseSync(this.#path, { readOnly: true })
      }
      const rows = this.#database
        .prepare("SELECT id, t_ms, view FROM kept WHERE kind = 'entered' AND t_ms >= ? ORDER BY t_ms, id LIMIT ?")
        .all(this.#lastTMs, MOST)
        .filter(({ id }) => !this.#given.has(String(id)))
      for (const row of rows) {
        const tMs = Number(row['t_ms'])
        if (tMs > this.#lastTMs) this.#given.clear()
        this.#lastTMs = tMs
        this.#given.add(String(row['id']))
      }
      this.trouble = undefined
      return rows.map((row) => JSON.parse(String(row['view'])) as Sample)
    } catch (thrown) {
      this.trouble = `What people enter can't be read from ${this.#path} (${reasonOf(thrown)}): the recording goes on without it.`
      return []
    }
  }

  close(): void {
    this.#database?.close()
  }
}
