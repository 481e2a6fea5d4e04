/**
 * Which points of a batch a database refused, read from its answer. Pure.
 *
 * Known answers (InfluxDB 1.x as measured; 2.x wraps the same text in JSON):
 * - `partial write: field type conflict: input field "F" on measurement "M" is type T, already exists as type U dropped=N`
 * - `unable to parse 'LINE': reason`, one per line; with `partial write:` before it the other lines were taken.
 */
import type { Point } from './output.ts'

const CONFLICT =
  /field type conflict: input field \\?"(.+?)\\?" on measurement \\?"(.+?)\\?" is type (\w+), already exists as type (\w+)(?: dropped=(\d+))?/
/** Names of the field types in those answers, by what JavaScript calls them. */
const TYPE_NAMES: Record<string, string> = { number: 'float', string: 'string', boolean: 'boolean' }

/** @returns undefined where the answer doesn't tell surely: then only a smaller batch can. */
export function refusedPoints(
  answer: string,
  points: readonly Point[],
  lines: readonly (string | undefined)[],
): { index: number; reason: string }[] | undefined {
  if (!answer.includes('partial write')) return undefined
  return conflicting(answer, points) ?? unparsable(answer, lines)
}

function conflicting(answer: string, points: readonly Point[]): { index: number; reason: string }[] | undefined {
  const match = CONFLICT.exec(answer)
  if (match === null) return undefined
  const [, field = '', measurement, type, present, dropped] = match
  const indices = points.flatMap((point, index) => {
    if (point.measurement !== measurement || !Object.hasOwn(point.fields, field)) return []
    return TYPE_NAMES[typeof point.fields[field]] === type ? [index] : []
  })
  // The answer names the first conflict only: another count than ours means that there is more than this one.
  if (indices.length === 0 || indices.length !== Number(dropped)) return undefined
  const reason = `field ${field} of ${measurement} is ${type} here and ${present} in the database`
  return indices.map((index) => ({ index, reason }))
}

function unparsable(answer: string, lines: readonly (string | undefined)[]) {
  const named = [...answer.matchAll(/unable to parse '(.+)': (.+)/g)].map(([, line = '', why = '']) => ({ line, why }))
  const found = named.map(({ line, why }) => ({ index: lines.indexOf(line), reason: `unable to parse: ${why}` }))
  return found.length > 0 && found.every(({ index }) => index >= 0) ? found : undefined
}
