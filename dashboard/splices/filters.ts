/** Filters of the splices list. They live in the address, so that a found list can be sent to somebody. */

import type { SpliceView } from '../../edge/api/messages.ts'
import { CAUSES, type Cause, OUTCOMES, type Outcome } from '../../edge/columns.ts'
import { DONE, THINGS, verdictOf } from '../../edge/splice-review.ts'
import { saidWord, wordsOf, wordsOfSplice } from '../../edge/splice-words.ts'
import { say } from '../messages.ts'

export interface Filters {
  unwind?: string
  outcome?: Outcome
  cause?: Cause
  /** Words of rolls, materials, notes, what caused it and what was done. */
  text?: string
  /** ISO 8601 with a zone, as the API takes it; what is no time is left to the API to refuse with a sentence. */
  from?: string
  to?: string
}

const NAMES = ['unwind', 'outcome', 'cause', 'text', 'from', 'to'] as const

export const parseFilters = (query: string): Filters => {
  const params = new URLSearchParams(query)
  const filters: Filters = {}
  for (const name of ['unwind', 'text', 'from', 'to'] as const) {
    const text = params.get(name)
    if (text !== null && text !== '') filters[name] = text
  }
  const outcome = OUTCOMES.find((known) => known === params.get('outcome'))
  if (outcome !== undefined) filters.outcome = outcome
  const cause = CAUSES.find((known) => known === params.get('cause'))
  if (cause !== undefined) filters.cause = cause
  return filters
}

export const toQuery = (filters: Filters): string => {
  const params = new URLSearchParams()
  for (const name of NAMES) {
    const value = filters[name]
    if (value !== undefined && value !== '') params.set(name, value)
  }
  return params.toString()
}

/** From so many letters on the beginning of a word will do, as in the list itself. */
const PREFIX_LETTERS = 4

/** What the typed words mean among the things and what was done, by their names in this language. */
export const saidBy = (text: string): string[] => {
  const typed = wordsOf(text)
  const isMeant = (name: string): boolean => {
    const words = wordsOf(name)
    return typed.every((one) =>
      words.some((word) => (one.length < PREFIX_LETTERS ? word === one : word.startsWith(one))),
    )
  }
  if (typed.length === 0) return []
  return [
    ...THINGS.filter((thing) => isMeant(say(`thing.${thing}`))).map((thing) => saidWord('thing', thing)),
    ...DONE.filter((done) => isMeant(say(`done.${done}`))).map((done) => saidWord('done', done)),
  ]
}

/** What the API is asked: its words are those of no language. */
export const toApiQuery = (filters: Filters): string => {
  const said = saidBy(filters.text ?? '')
  const query = toQuery(filters)
  return said.length === 0 ? query : `${query}&said=${said.join(',')}`
}

/** As the list itself finds them, but that a beginning counts for any word: of the few that just came none is lost. */
const hasWords = ({ details, review }: SpliceView, text: string): boolean => {
  const words = wordsOfSplice(details, review)
  return (
    wordsOf(text).every((asked) => words.some((word) => word.startsWith(asked))) ||
    saidBy(text).some((word) => words.includes(word))
  )
}

/** Whether a splice that just came belongs to the list on screen. */
export const isWanted = (splice: SpliceView, filters: Filters): boolean => {
  const started = Date.parse(splice.started)
  return (
    (filters.unwind === undefined || splice.unwind === filters.unwind) &&
    (filters.outcome === undefined || verdictOf(splice).outcome === filters.outcome) &&
    (filters.cause === undefined || verdictOf(splice).cause === filters.cause) &&
    hasWords(splice, filters.text ?? '') &&
    (filters.from === undefined || started >= Date.parse(filters.from)) &&
    (filters.to === undefined || started <= Date.parse(filters.to))
  )
}

/** The list as read, with what came live since: a revision replaces its record, newest first. */
export const withLive = (read: readonly SpliceView[], live: Iterable<SpliceView>, filters: Filters): SpliceView[] => {
  const byId = new Map(read.map((splice) => [splice.id, splice]))
  for (const splice of live) {
    if (isWanted(splice, filters)) byId.set(splice.id, splice)
    else byId.delete(splice.id)
  }
  return [...byId.values()].sort((a, b) => Date.parse(b.started) - Date.parse(a.started))
}
