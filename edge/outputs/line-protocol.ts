/**
 * Points as InfluxDB line protocol: `measurement[,tag=v…] field=v[,…] time`, time in µs. Pure.
 *
 * What the format can't carry is replaced or left out here, so that a line can never be read as another one: no newline
 * anywhere, no backslash in names and tags (at the end it would escape what follows), no empty tag, no NaN, no leading `_`.
 * Numbers are always floats: a field that was once an integer refuses every fraction after it.
 */
import type { Point } from './output.ts'

/** A string field may have 64 KB; at most 4 bytes a character in UTF-8. */
const MOST_CHARACTERS = 16_000

/** @returns the line, or undefined where no field is left to write. */
export function lineOf(point: Point): string | undefined {
  const fields = Object.entries(point.fields).flatMap(([key, value]) => {
    const text = fieldValue(value)
    return text === undefined ? [] : [`${escapeName(key)}=${text}`]
  })
  if (fields.length === 0 || !Number.isFinite(point.tMs)) return undefined
  const tags = Object.entries(point.tags)
    .map(([key, value]) => [escapeName(key), escapeTagValue(value ?? '')] as const)
    .filter(([, value]) => value !== '')
    .map(([key, value]) => `,${key}=${value}`)
  return `${point.measurement}${tags.join('')} ${fields.join(',')} ${Math.round(point.tMs * 1000)}`
}

function fieldValue(value: number | boolean | string): string | undefined {
  if (typeof value === 'number') return Number.isFinite(value) ? String(value) : undefined
  if (typeof value === 'boolean') return value ? 'true' : 'false'
  const text = oneLine(value).slice(0, MOST_CHARACTERS).toWellFormed()
  return `"${text.replaceAll('\\', '\\\\').replaceAll('"', '\\"')}"`
}

/** A tag or field key. A key of nothing gets a name, for a line can't do without one. */
function escapeName(key: string): string {
  const plain = withoutBackslash(key).replace(/^_+/, '')
  return plain === '' ? 'unnamed' : escapeSeparators(plain)
}

const escapeTagValue = (value: string): string => escapeSeparators(withoutBackslash(value))
const escapeSeparators = (text: string): string => text.replaceAll(/[,= ]/g, '\\$&')
const withoutBackslash = (text: string): string => oneLine(text).replaceAll('\\', '/').toWellFormed()
/** Every character that some reader takes for the end of a line, and the NUL that others stop at. */
const oneLine = (text: string): string => text.replaceAll(/[\n\r\u2028\u2029\0]+/g, ' ')
