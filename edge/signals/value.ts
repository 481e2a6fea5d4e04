/**
 * From the raw value of a tag to the value of a signal: bit, map, scale, valid range, unit. Pure.
 *
 * `undefined` means: counted and ignored, as if it had not come (empty, unparsable, not finite, out of range, not in the map).
 */
import type { SignalConfig } from '../config/config.ts'
import type { RawValue } from '../sample.ts'
import { SIGNALS, type SignalKind, type SignalName } from './catalogue.ts'

export type SignalValue = number | boolean | string

const TRUE_WORDS = new Set(['true', '1', 'on', 'yes'])
const FALSE_WORDS = new Set(['false', '0', 'off', 'no'])

/** What no web line does, in SI units: such a value is the tag's fault, whether or not the config states a range. */
const SPEED_MPS = [-100, 100] as const
const DIAMETER_M = [0.01, 10] as const
const POSSIBLE: Partial<Record<SignalName, readonly [number, number]>> = {
  line_speed: SPEED_MPS,
  unwind_speed: SPEED_MPS,
  speed_setpoint: SPEED_MPS,
  roll_diameter: DIAMETER_M,
  waiting_diameter: DIAMETER_M,
  // Zero says that the PLC has no figure.
  splice_diameter: [0, DIAMETER_M[1]],
  nominal_caliper: [0, 0.1],
  // A length, a share or a raw count: wide, but no overflow.
  buffer_position: [-1e9, 1e9],
}

/** Extra signals are what their map or their tag says: truth, words, numbers. */
export function kindOf(signal: SignalConfig['signal']): SignalKind['value'] | 'free' {
  return signal.startsWith('extra.') ? 'free' : SIGNALS[signal as SignalName].value
}

/** @returns the value in SI units, or undefined where the raw value can't be one. */
export function readValue(config: SignalConfig, raw: RawValue): SignalValue | undefined {
  const kind = kindOf(config.signal)
  if (kind === 'number') return readNumber(config, raw)
  if (kind === 'boolean') return readBoolean(config, raw)
  if (kind === 'text') return readText(config, raw)
  if (isMappedToTruth(config) || (typeof raw === 'boolean' && config.values === undefined)) {
    return readBoolean(config, raw)
  }
  if (config.values === undefined) return readNumber(config, raw) ?? readText(config, raw)
  const meaning = readText(config, raw)
  return meaning !== undefined && isMappedToNumbers(config.values) ? readNumber(config, meaning) : meaning
}

/** The mapping of an extra tag makes truth of it, whatever its tag sends. */
export function isMappedToTruth({ bit, equals, values }: Pick<SignalConfig, 'bit' | 'equals' | 'values'>): boolean {
  if (values === undefined) return bit !== undefined || equals !== undefined
  return Object.values(values).every((meaning) => meaning === 'true' || meaning === 'false')
}

/** Every meaning in the map is a number: the tag is a quantity that its map gives, in the unit. */
export const isMappedToNumbers = (values: Readonly<Record<string, string>>): boolean =>
  Object.values(values).every((meaning) => toNumber(meaning) !== undefined)

/** A text that is empty is no fault: no roll is loaded, no job runs. */
export const isEmptyText = (config: SignalConfig, raw: RawValue | undefined): boolean =>
  typeof raw === 'string' && raw.trim() === '' && ['text', 'free'].includes(kindOf(config.signal))

function readNumber(config: SignalConfig, raw: RawValue): number | undefined {
  const inTagUnit = scaledNumber(config, raw)
  if (inTagUnit === undefined) return undefined
  if (config.range !== undefined && (inTagUnit < config.range[0] || inTagUnit > config.range[1])) return undefined
  // A zero has no sign: −0 would come back as 0 from the state kept over a restart.
  const si = inTagUnit * config.toSi + 0
  const possible = POSSIBLE[config.signal as SignalName]
  if (possible !== undefined && (si < possible[0] || si > possible[1])) return undefined
  return Number.isFinite(si) ? si : undefined
}

/** What a tag says in its own unit, after scale and offset, whether or not its signal can have it. */
export function scaledNumber({ scale, offset }: SignalConfig, raw: RawValue): number | undefined {
  const plain = toNumber(raw)
  return plain === undefined ? undefined : plain * scale + offset
}

function toNumber(raw: RawValue): number | undefined {
  if (typeof raw === 'number') return Number.isFinite(raw) ? raw : undefined
  if (typeof raw === 'boolean') return undefined
  const text = raw.trim()
  if (text === '') return undefined
  const parsed = Number(text)
  return Number.isFinite(parsed) ? parsed : undefined
}

function readBoolean(config: SignalConfig, raw: RawValue): boolean | undefined {
  const value = booleanBeforeInvert(config, raw)
  return value === undefined ? undefined : value !== config.invert
}

function booleanBeforeInvert(config: SignalConfig, raw: RawValue): boolean | undefined {
  if (config.bit !== undefined) return bitOf(raw, config.bit)
  if (config.equals !== undefined) return config.equals.includes(asKey(raw))
  if (config.values !== undefined) {
    const mapped = lookUp(config.values, raw)
    return mapped === undefined ? undefined : TRUE_WORDS.has(mapped.toLowerCase())
  }
  if (typeof raw === 'boolean') return raw
  if (typeof raw === 'string') {
    const word = raw.trim().toLowerCase()
    if (TRUE_WORDS.has(word)) return true
    if (FALSE_WORDS.has(word)) return false
  }
  const number = toNumber(raw)
  return number === undefined ? undefined : number !== 0
}

function readText(config: SignalConfig, raw: RawValue): string | undefined {
  let value: RawValue = raw
  if (config.bit !== undefined) {
    const bit = bitOf(raw, config.bit)
    if (bit === undefined) return undefined
    value = bit !== config.invert
  }
  if (config.values !== undefined) return lookUp(config.values, value)
  const text = asKey(value)
  return text === '' ? undefined : text
}

/** A bit of an integer word of up to 53 bits; `true`/`false` count as bit 0. */
function bitOf(raw: RawValue, bit: number): boolean | undefined {
  const lower = typeof raw === 'string' ? raw.trim().toLowerCase() : undefined
  if (raw === true || lower === 'true') return bit === 0
  if (raw === false || lower === 'false') return false
  const word = toNumber(raw)
  if (word === undefined || !Number.isInteger(word)) return undefined
  // A signed word carries its top bits as a negative number; two's complement gives the same lower bits.
  return Math.floor(word / 2 ** bit) % 2 !== 0
}

function lookUp(values: Readonly<Record<string, string>>, raw: RawValue): string | undefined {
  const key = asKey(raw)
  if (Object.hasOwn(values, key)) return values[key]
  // One writer says true where another says 1: both mean the same entry.
  const twin = { true: '1', false: '0', '1': 'true', '0': 'false' }[key]
  return twin !== undefined && Object.hasOwn(values, twin) ? values[twin] : undefined
}

/** How a raw value is written as a key of a map: `10` for 10, "10" and "10.0"; words in their own case, booleans in lower case. */
function asKey(raw: RawValue): string {
  if (typeof raw !== 'string') return String(raw)
  const text = raw.trim()
  const lower = text.toLowerCase()
  if (lower === 'true' || lower === 'false') return lower
  const number = toNumber(text)
  return number === undefined ? text : String(number)
}
