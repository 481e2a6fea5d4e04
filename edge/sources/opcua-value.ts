/** What an OPC UA variable holds → a sample's value. */
import type { Variant } from 'node-opcua-client'
import type { PathStep } from './json-path.ts'
import { atPath } from './json-path.ts'
import { type Converted, fromUnknown } from './raw-value.ts'

/** Built-in type numbers of OPC 10000-6 §5.1.2, as far as their values need unpacking. */
const INT64 = 8
const FLOAT = 10
const UINT64 = 9
const BYTE_STRING = 15
const EXTENSION_OBJECT = 22
const QUALIFIED_NAME = 20
const LOCALIZED_TEXT = 21

export function fromVariant(variant: Variant | null | undefined, path: readonly PathStep[] | undefined): Converted {
  if (variant === null || variant === undefined || variant.value === null || variant.value === undefined) {
    return { trouble: 'is empty' }
  }
  const type = variant.dataType as number
  if (type === BYTE_STRING) return { trouble: 'is a string of bytes, which is no value to work with' }
  if (type === EXTENSION_OBJECT) return { trouble: 'is a structure: map the variable of the member that is meant' }
  // A 64-bit integer is itself a pair of halves, so only its arrays are arrays here.
  const isArray = (variant.arrayType as number) !== 0
  if (isArray && path === undefined) {
    return { trouble: 'is an array: name the element that is meant, as value_path [n] does' }
  }
  if (!isArray && path !== undefined) return { trouble: 'is no array, but has a value_path' }
  const plain = path === undefined ? variant.value : atPath(variant.value, path)
  if (plain === undefined) return { trouble: 'has no such element' }
  return fromUnknown(unpack(plain, type))
}

/** Takes the library's wrapping off a scalar: 64-bit halves, localized texts, qualified names. */
export function unpack(value: unknown, type: number): unknown {
  if ((type === INT64 || type === UINT64) && Array.isArray(value) && value.length === 2) {
    const whole = (BigInt(value[0]) << 32n) | BigInt(value[1] >>> 0)
    return type === INT64 ? BigInt.asIntN(64, whole) : BigInt.asUintN(64, whole)
  }
  if (type === FLOAT && typeof value === 'number') return shortestFloat(value)
  if (type === LOCALIZED_TEXT && typeof value === 'object' && value !== null) return (value as { text?: unknown }).text
  if (type === QUALIFIED_NAME && typeof value === 'object' && value !== null) return (value as { name?: unknown }).name
  return value
}

/** The shortest decimal that is the same 32-bit float: 128.9, and not the 128.89999389648438 that a double makes of it. */
export function shortestFloat(value: number): number {
  if (!Number.isFinite(value)) return value
  for (let digits = 6; digits < 9; digits += 1) {
    const short = Number(value.toPrecision(digits))
    if (Math.fround(short) === value) return short
  }
  return value
}
