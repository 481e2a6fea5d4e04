/**
 * What a peer sent → a sample's value. A source doesn't know what its signals want, so numeric text becomes a number here,
 * just as in a recording; whether other text is allowed is the signal's to say.
 */
import type { RawValue } from '../sample.ts'

/** A value, or why there is none: the rest of a sentence that begins with the tag. */
export type Converted = { value: RawValue } | { trouble: string }

/** Decimal numbers without leading zeros (`0012` is an identity, not twelve) and not longer than a double holds. */
const NUMERIC = /^[+-]?(0|[1-9]\d*)(\.\d+)?([eE][+-]?\d{1,3})?$/
const MOST_DIGITS = 15
const LONGEST_TEXT = 1000

export function fromText(text: string): Converted {
  const trimmed = text.trim()
  if (trimmed === '') return { trouble: 'is empty' }
  if (/^true$/i.test(trimmed)) return { value: true }
  if (/^false$/i.test(trimmed)) return { value: false }
  if (/^[+-]?(nan|inf|infinity)$/i.test(trimmed)) return { trouble: `is "${trimmed}", which is no number` }
  if (NUMERIC.test(trimmed) && trimmed.replace(/[eE].*$/, '').replace(/\D/g, '').length <= MOST_DIGITS) {
    const number = Number(trimmed)
    return Number.isFinite(number) ? { value: number } : { trouble: `is "${trimmed}", which is too large for a number` }
  }
  if (trimmed.length > LONGEST_TEXT) return { trouble: `is a text of more than ${LONGEST_TEXT} characters` }
  return { value: trimmed }
}

export function fromUnknown(value: unknown): Converted {
  switch (typeof value) {
    case 'boolean':
      return { value }
    case 'number':
      return Number.isFinite(value) ? { value } : { trouble: `is ${value}, which is no number` }
    case 'bigint':
      return { value: Number(value) }
    case 'string':
      return fromText(value)
    case 'undefined':
      return { trouble: 'is missing: "lastwrap browse" lists what there is' }
    default:
      if (value === null) return { trouble: 'is null' }
      if (value instanceof Date) {
        return Number.isNaN(value.getTime()) ? { trouble: 'is an invalid time' } : { value: value.toISOString() }
      }
      if (Array.isArray(value) || ArrayBuffer.isView(value)) {
        return { trouble: 'is an array: name the element that is meant, as value_path [n] does' }
      }
      return { trouble: 'is a structure: name the member that is meant in value_path' }
  }
}

/** A source's own time: ISO 8601 with a zone, or integer milliseconds since 1970 UTC. Undefined where it is neither. */
export function timeFrom(value: unknown): number | undefined {
  if (typeof value === 'number') return Number.isInteger(value) ? value : undefined
  if (typeof value !== 'string') return undefined
  const text = value.trim()
  if (/^\d{1,15}$/.test(text)) return Number(text)
  if (!/^\d{4}-\d\d-\d\dT\d\d:\d\d(:\d\d([.,]\d+)?)?(Z|[+-]\d\d(:?\d\d)?)$/i.test(text)) return undefined
  // Date.parse knows neither a comma, nor more than milliseconds for sure, nor a zone without a colon.
  const tMs = Date.parse(
    text
      .replace(',', '.')
      .replace(/(\.\d{3})\d+/, '$1')
      .replace(/([+-]\d\d)(\d\d)?$/, (zone, hours, minutes) =>
        zone.includes(':') ? zone : `${hours}:${minutes ?? '00'}`,
      ),
  )
  return Number.isNaN(tMs) ? undefined : tMs
}
