/** Turns a filter of the splices list into one query that an index answers in the order of the list. */
import type { DatabaseSync, SQLInputValue } from 'node:sqlite'
import type { SpliceFilter } from '../api/messages.ts'

/** Numbers of words per ms of start; see migration 0004. */
const WORDS_PER_MS = 1024
/** From so many letters on the beginning of a word will do: shorter ones begin too many. */
const PREFIX_LETTERS = 4
/** Splices that start in one ms: a page takes so many more, so that none of them is left between two pages. */
const TIES = 32

/** Words of what a person typed, as the store splits them too. */
export const wordsOf = (text: string): string[] => text.toLowerCase().match(/[\p{L}\p{N}_]+/gu) ?? []

export class SpliceSearch {
  private readonly database: DatabaseSync
  private readonly select: string

  /** @param select - the columns, up to and with `FROM splices`. */
  constructor(database: DatabaseSync, select: string) {
    this.database = database
    this.select = select
  }

  /** Newest first. */
  rows(filter: SpliceFilter): Record<string, unknown>[] {
    const words = wordsOf(filter.text ?? '')
    return words.length === 0 ? this.byIndex(filter) : this.byWords(filter, words)
  }

  private byIndex(filter: SpliceFilter): Record<string, unknown>[] {
    const parts: string[] = []
    const values: SQLInputValue[] = []
    const add = (part: string, ...given: (SQLInputValue | undefined)[]): void => {
      if (given.includes(undefined)) return
      parts.push(part)
      values.push(...(given as SQLInputValue[]))
    }
    add('unwind = ?', filter.unwind)
    add('verdict = ?', filter.outcome)
    add('why = ?', filter.cause)
    add('started_ms >= ?', filter.fromTMs)
    add('started_ms <= ?', filter.toTMs)
    add('(started_ms, id) < (?, ?)', filter.before?.startedTMs, filter.before?.id)
    const where = parts.length === 0 ? '' : `WHERE ${parts.join(' AND ')}`
    return this.database
      .prepare(`${this.select} ${indexOf(filter)} ${where} ORDER BY started_ms DESC, id DESC LIMIT ?`)
      .all(...values, filter.limit)
  }

  private byWords(filter: SpliceFilter, words: readonly string[]): Record<string, unknown>[] {
    const { unwind, outcome, cause, before, limit } = filter
    const asked = [
      ...wordsOf(unwind ?? '').map((word) => `unwind: "${word}"`),
      ...(outcome === undefined ? [] : [`verdict: "${outcome}"`]),
      ...(cause === undefined ? [] : [`why: "${cause}"`]),
      ...words.map((word) => `words: "${word}"${word.length < PREFIX_LETTERS ? '' : ' *'}`),
    ]
    const first = (filter.fromTMs ?? 0) * WORDS_PER_MS
    const toTMs = Math.min(filter.toTMs ?? Number.MAX_SAFE_INTEGER / WORDS_PER_MS, before?.startedTMs ?? Infinity)
    const last = Math.floor(toTMs) * WORDS_PER_MS + WORDS_PER_MS - 1
    const behind = before === undefined ? '' : 'WHERE (started_ms, id) < (?, ?)'
    return this.database
      .prepare(
        `${this.select} JOIN (SELECT rowid AS found FROM splice_words WHERE splice_words MATCH ? AND rowid BETWEEN ? AND ?
          ORDER BY rowid DESC LIMIT ?) ON word_id = found ${behind} ORDER BY started_ms DESC, id DESC LIMIT ?`,
      )
      .all(
        asked.join(' AND '),
        first,
        last,
        limit + TIES,
        ...(before === undefined ? [] : [before.startedTMs, before.id]),
        limit,
      )
  }
}

/** Without statistics of the table SQLite may take a narrower index that it then has to sort. */
function indexOf({ unwind, outcome, cause }: SpliceFilter): string {
  if (cause !== undefined) return `INDEXED BY ${unwind === undefined ? 'splices_by_why' : 'splices_by_unwind_and_why'}`
  if (outcome !== undefined) {
    return `INDEXED BY ${unwind === undefined ? 'splices_by_verdict' : 'splices_by_unwind_and_verdict'}`
  }
  return `INDEXED BY ${unwind === undefined ? 'splices_by_start' : 'splices_by_unwind'}`
}
