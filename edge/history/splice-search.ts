/** Finds splices by every filter of the list, each by an index that has them in the order of the list. */
import type { DatabaseSync, SQLInputValue } from 'node:sqlite'
import type { SpliceFilter, SpliceView } from '../api/messages.ts'
import { reviewOf, type SpliceEntry, type SpliceReview } from '../splice-review.ts'
import { wordsOf, wordsOfSplice } from '../splice-words.ts'

/** Numbers of words per ms of start; see migration 0004. */
const WORDS_PER_MS = 1024
/** From so many letters on the beginning of a word will do: shorter ones begin too many. */
const PREFIX_LETTERS = 4
/** Splices that are read one by one before the index of words is asked: some 30 ms, and room for a page of what one in seven has. */
const LOOKED_AT = 1500
/** Splices that start in one ms: a page takes so many more, so that none of them is left between two pages. */
const TIES = 32

export class SpliceSearch {
  private readonly database: DatabaseSync
  private readonly select: string
  private readonly sql

  /** @param select - the columns, up to and with `FROM splices`. */
  constructor(database: DatabaseSync, select: string) {
    this.database = database
    this.select = select
    this.sql = statements(database)
    this.catchUp()
  }

  /** Takes a splice's words as they are now. */
  index(id: string): void {
    this.sql.number.run(id)
    const row = this.sql.indexed.get(id)
    if (row === undefined) return
    const unwind = String(row['unwind'])
    const rowid = Number(row['word_id'])
    const { details } = JSON.parse(String(row['view'])) as Pick<SpliceView, 'details'>
    const words = wordsOfSplice(details, this.review(id))
    this.sql.all.run(rowid, words.join(' '))
    this.sql.ofUnwind.run(rowid, words.map((word) => `${unwind}_${word}`).join(' '))
    this.sql.noLongerBad.run(rowid)
    const [verdict, why] = [row['verdict'], row['why']]
    if (isRare(verdict, why)) this.sql.bad.run(rowid, unwind, verdict as string, why as string | null, words.join(' '))
  }

  /** Newest first. */
  rows(filter: SpliceFilter): Record<string, unknown>[] {
    const words = wordsOf(filter.text ?? '')
    return words.length === 0 && filter.said === undefined ? this.byIndex(filter) : this.byWords(filter, words)
  }

  /** What a version wrote that knew no words. */
  private catchUp(): void {
    const ids = this.sql.without.all().map(({ id }) => String(id))
    if (ids.length === 0) return
    this.database.exec('BEGIN IMMEDIATE')
    for (const id of ids) this.index(id)
    this.database.exec('COMMIT')
  }

  private byIndex(filter: SpliceFilter): Record<string, unknown>[] {
    const where = new Where()
    where.add('unwind = ?', filter.unwind)
    where.add('verdict = ?', filter.outcome)
    where.add('why = ?', filter.cause)
    where.add('started_ms >= ?', filter.fromTMs)
    where.add('started_ms <= ?', filter.toTMs)
    where.add('(started_ms, id) < (?, ?)', filter.before?.startedTMs, filter.before?.id)
    return this.database
      .prepare(`${this.select} ${indexOf(filter)} ${where.text()} ORDER BY started_ms DESC, id DESC LIMIT ?`)
      .all(...where.values, filter.limit)
  }

  private byWords(filter: SpliceFilter, words: readonly string[]): Record<string, unknown>[] {
    const { outcome, before, limit } = filter
    const near = this.nearTheBound(filter, words)
    if (near !== undefined) return near
    const { table, fixed, typed, said } = termsOf(filter, words)
    const where = new Where()
    const toTMs = Math.min(filter.toTMs ?? Number.MAX_SAFE_INTEGER / WORDS_PER_MS, before?.startedTMs ?? Infinity)
    const all = (terms: readonly Term[]): string => terms.map((term) => this.matched(term)).join(' AND ')
    const any = [...(typed.length === 0 ? [] : [all(typed)]), ...said.map((term) => all([term]))]
    const match = [...(fixed.length === 0 ? [] : [all(fixed)]), `(${any.join(' OR ')})`].join(' AND ')
    where.add(`${table} MATCH ?`, match)
    where.add(`${table}.rowid >= ?`, (filter.fromTMs ?? 0) * WORDS_PER_MS)
    where.add(`${table}.rowid < ?`, (Math.floor(toTMs) + 1) * WORDS_PER_MS)
    where.add('(started_ms, id) < (?, ?)', before?.startedTMs, before?.id)
    // Nearly all are good: the few others are left out one by one.
    if (table !== 'bad_words') where.add('verdict = ?', outcome)
    const columns = this.select.replace('FROM splices', `FROM ${table} CROSS JOIN splices ON word_id = ${table}.rowid`)
    return this.database
      .prepare(`${columns} ${where.text()} ORDER BY ${table}.rowid DESC LIMIT ?`)
      .all(...where.values, limit + TIES)
      .sort((a, b) => Number(b['started_ms']) - Number(a['started_ms']) || (String(a['id']) < String(b['id']) ? 1 : -1))
      .slice(0, limit)
  }

  /**
   * An index of words is walked through from its newest on, so a word that many splices have is slow to follow from far
   * back; but then the splices right there have it too. @returns undefined where they do not.
   */
  private nearTheBound(filter: SpliceFilter, words: readonly string[]): Record<string, unknown>[] | undefined {
    if (filter.before === undefined && filter.toTMs === undefined) return undefined
    const rows = this.byIndex({ ...filter, limit: LOOKED_AT })
    const asked = words.map((word) => ({ word, isWhole: this.isWhole(word) }))
    const found = rows.filter((row) => {
      const { details } = JSON.parse(String(row['view'])) as Pick<SpliceView, 'details'>
      const own = wordsOfSplice(details, this.review(String(row['id'])))
      const hasAll =
        asked.length > 0 &&
        asked.every(({ word, isWhole }) => own.some((one) => (isWhole ? one === word : one.startsWith(word))))
      return hasAll || filter.said?.some((word) => own.includes(word)) === true
    })
    return found.length >= filter.limit || rows.length < LOOKED_AT ? found.slice(0, filter.limit) : undefined
  }

  private review(id: string): SpliceReview | null {
    return reviewOf(this.sql.entries.all(id).map(({ entry }) => JSON.parse(String(entry)) as SpliceEntry))
  }

  /** A word that some splice has is meant whole; of one that none has, its beginning. */
  private matched({ before, typed = '', exact = '' }: Term): string {
    return `${before}"${exact}${typed}"${typed === '' || this.isWhole(typed) ? '' : ' *'}`
  }

  private isWhole(typed: string): boolean {
    return typed.length < PREFIX_LETTERS || this.sql.known.get(`"${typed}"`) !== undefined
  }
}

interface Term {
  /** Column of the table of those that were not good, with its colon. */
  before: string
  /** What stands as it is, and behind it what a person typed. */
  exact?: string
  typed?: string
}

interface Terms {
  table: string
  /** All of them, and either all that was typed or one of what it means. */
  fixed: Term[]
  typed: Term[]
  said: Term[]
}

/** Which of the three tables of words answers, and with what. */
function termsOf({ unwind, outcome, cause, said = [] }: SpliceFilter, words: readonly string[]): Terms {
  const inTable = (table: string, of: { before: string; exact?: string }, fixed: Term[] = []): Terms => ({
    table,
    fixed,
    typed: words.map((typed) => ({ ...of, typed })),
    said: said.map((word) => ({ before: of.before, exact: `${of.exact ?? ''}${word}` })),
  })
  if (isRare(outcome, cause)) {
    const exact = { unwind, verdict: outcome, why: cause }
    const fixed = Object.entries(exact).flatMap(([column, word]) =>
      word === undefined ? [] : [{ before: `${column}: `, exact: word }],
    )
    return inTable('bad_words', { before: 'words: ' }, fixed)
  }
  return unwind === undefined
    ? inTable('splice_words', { before: '' })
    : inTable('unwind_words', { before: '', exact: `${unwind}_` })
}

/** Few splices have a cause or went otherwise than well. */
const isRare = (outcome: unknown, cause: unknown): boolean =>
  (cause !== undefined && cause !== null) || (outcome !== undefined && outcome !== null && outcome !== 'good')

class Where {
  readonly values: SQLInputValue[] = []
  private readonly parts: string[] = []

  /** Nothing where a value is not given. */
  add(part: string, ...given: (SQLInputValue | undefined)[]): void {
    if (given.includes(undefined)) return
    this.parts.push(part)
    this.values.push(...(given as SQLInputValue[]))
  }

  text(): string {
    return this.parts.length === 0 ? '' : `WHERE ${this.parts.join(' AND ')}`
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

function statements(database: DatabaseSync) {
  const sql = (text: string) => database.prepare(text)
  return {
    known: sql('SELECT rowid FROM splice_words WHERE splice_words MATCH ? LIMIT 1'),
    without: sql('SELECT id FROM splices WHERE word_id IS NULL'),
    number: sql(`UPDATE splices SET word_id = coalesce(
      (SELECT max(word_id) + 1 FROM splices AS same WHERE same.started_ms = splices.started_ms), started_ms * ${WORDS_PER_MS})
      WHERE id = ? AND word_id IS NULL`),
    indexed: sql('SELECT unwind, word_id, verdict, why, view FROM splices WHERE id = ?'),
    entries: sql('SELECT entry FROM splice_entries WHERE splice_id = ? ORDER BY id'),
    all: sql('INSERT OR REPLACE INTO splice_words (rowid, words) VALUES (?, ?)'),
    ofUnwind: sql('INSERT OR REPLACE INTO unwind_words (rowid, words) VALUES (?, ?)'),
    noLongerBad: sql('DELETE FROM bad_words WHERE rowid = ?'),
    bad: sql('INSERT INTO bad_words (rowid, unwind, verdict, why, words) VALUES (?, ?, ?, ?, ?)'),
  }
}
