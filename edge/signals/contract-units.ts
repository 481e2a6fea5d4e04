/**
 * Signals as history, database and traces carry them: the contract's units (diameters mm, caliper µm, lengths m, speeds m/min). Pure.
 */
import type { BufferConfig, SignalConfig } from '../config/config.ts'
import type { Sample } from '../sample.ts'
import { SIGNALS, type SignalKind, type SignalName } from './catalogue.ts'
import type { Accepted, Held } from './held.ts'
import { numberFor } from './meanings.ts'
import { storedWebM } from './now.ts'
import { readValue, type SignalValue } from './value.ts'

const IN_MM = new Set<string>(['roll_diameter', 'splice_diameter', 'waiting_diameter', 'edge_offset', 'register_error'])

export interface ContractValue {
  /** The signal's name; the carriage position goes by what it means, `buffer_stored`. */
  signal: string
  /** Numbers as they are, true and false as 1 and 0, a word of a map by its number. */
  value: number
}

/** @returns undefined for text that no map has, which a history of numbers can't carry. */
export function contractValue(
  config: SignalConfig,
  value: SignalValue,
  buffer: BufferConfig | undefined,
): ContractValue | undefined {
  const { signal } = config
  if (typeof value === 'string') {
    const number = numberFor(config, value)
    return number === undefined ? undefined : { signal, value: number }
  }
  if (typeof value === 'boolean') return { signal, value: value ? 1 : 0 }
  if (signal === 'buffer_position') {
    const stored = storedWebM(buffer, value)
    return stored === undefined ? undefined : { signal: contractSignal(signal), value: stored }
  }
  // A further tag is kept as its config states it: it has no unit of the contract.
  return { signal, value: isExtra(signal) ? value / config.toSi : value * factorOf(signal) }
}

const isExtra = (signal: string): boolean => signal.startsWith('extra.')

export const contractSignal = (signal: string): string => (signal === 'buffer_position' ? 'buffer_stored' : signal)

/** What one report is to the history: null where a value ended; undefined for what is none. Late reports are history too. */
export function historyValue(
  held: Held,
  accepted: Accepted,
  sample: Sample,
  buffer: BufferConfig | undefined,
): { signal: string; value: number | null } | undefined {
  if (accepted === 'ignored') return undefined
  if (sample.quality === 'bad') return { signal: contractSignal(held.config.signal), value: null }
  const value = accepted === 'late' ? readValue(held.config, sample.value ?? '') : held.value
  return value === undefined ? undefined : contractValue(held.config, value, buffer)
}

function factorOf(signal: string): number {
  if (IN_MM.has(signal)) return 1000
  if (signal === 'nominal_caliper') return 1e6
  const dimension = dimensionOf(signal)
  return dimension === 'speed' || dimension === 'rotation' ? 60 : 1
}

/** Unit of a signal in the contract, as it stands on an axis; empty where it has none of its own. */
export function contractUnit(signal: string): string {
  if (signal === 'buffer_stored') return 'm'
  if (IN_MM.has(signal)) return 'mm'
  if (signal === 'nominal_caliper') return 'µm'
  switch (dimensionOf(signal)) {
    case 'speed':
      return 'm/min'
    case 'length':
      return 'm'
    case 'rotation':
      return 'rpm'
    case 'tension':
      return 'N'
    default:
      return ''
  }
}

/** As contractUnit; a further tag, `extra.NAME`, is kept in the unit that its config states. */
export const unitIn =
  (signals: readonly Pick<SignalConfig, 'signal' | 'unit'>[]) =>
  (signal: string): string =>
    isExtra(signal) ? (signals.find((one) => one.signal === signal)?.unit ?? '') : contractUnit(signal)

function dimensionOf(signal: string): SignalKind['dimension'] {
  return (SIGNALS as Readonly<Record<string, SignalKind>>)[signal as SignalName]?.dimension
}
