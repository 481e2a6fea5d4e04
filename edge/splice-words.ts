/** By which words a splice is found: rolls, materials, what people wrote about it, what caused it and what was done. Pure. */
import type { SpliceDetails } from './splice-details.ts'
import { notesOf, type SpliceReview } from './splice-review.ts'

/** Words of a text, in small letters without their marks; `_` belongs to a word, other signs part two. */
export const wordsOf = (text: string): string[] =>
  text
    .normalize('NFD')
    .replace(/\p{M}+/gu, '')
    .toLowerCase()
    .match(/[\p{L}\p{N}_]+/gu) ?? []

/** A thing that caused it, or what was done, as one word: each language names it otherwise, and its screens say which is meant. */
export const saidWord = (kind: 'thing' | 'done', id: string): string => `${kind}_${id}`

/** Words of a record, each once; a thing and what was done also by the words of its id. @param details - null or undefined of a record that an older version wrote. */
export function wordsOfSplice(details: SpliceDetails | null | undefined, review: SpliceReview | null): string[] {
  const named = [details?.roll_id, details?.new_roll_id, details?.material, details?.new_material]
  const { thing = null, done = [] } = review ?? {}
  const said = [...(thing === null ? [] : [['thing', thing] as const]), ...done.map((one) => ['done', one] as const)]
  const ids = said.flatMap(([kind, id]) => [saidWord(kind, id), ...id.split('_')])
  return [...new Set([...[...named, ...notesOf(review)].flatMap((text) => wordsOf(text ?? '')), ...ids])]
}
