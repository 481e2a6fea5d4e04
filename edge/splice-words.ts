/** By which words a splice is found: rolls, materials, and what people wrote about it. Pure. */
import type { SpliceDetails } from './splice-details.ts'

/** Words of a text, in small letters without their marks; `_` belongs to a word, other signs part two. */
export const wordsOf = (text: string): string[] =>
  text
    .normalize('NFD')
    .replace(/\p{M}+/gu, '')
    .toLowerCase()
    .match(/[\p{L}\p{N}_]+/gu) ?? []

/** Words of a record, each once. @param details - null or undefined of a record that an older version wrote. */
export function wordsOfSplice(details: SpliceDetails | null | undefined, notes: readonly string[]): string[] {
  const named = [details?.roll_id, details?.new_roll_id, details?.material, details?.new_material]
  return [...new Set([...named, ...notes].flatMap((text) => wordsOf(text ?? '')))]
}
