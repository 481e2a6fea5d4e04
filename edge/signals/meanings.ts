/**
 * What the values of a further tag mean, where its config maps them to words. History and traces carry numbers, so a number
 * stands for each word: the tag's own where all its values are numbers or truth, else the place in the map. Pure.
 */
import type { SignalConfig } from '../config/config.ts'
import { isMappedToNumbers, isMappedToTruth } from './value.ts'

export interface Meaning {
  /** As history and traces have it. */
  value: number
  text: string
}

type Mapped = Pick<SignalConfig, 'signal' | 'bit' | 'equals' | 'values'>

/** Each once, in the map's order; empty where the tag is a number, yes or no, or a text of its own. */
export function meaningsOf(config: Mapped): Meaning[] {
  const { signal, values } = config
  if (values === undefined || !signal.startsWith('extra.')) return []
  if (isMappedToTruth(config) || isMappedToNumbers(values)) return []
  const own = Object.keys(values).map(ownNumber)
  const found = new Map<string, number>()
  for (const [place, text] of Object.values(values).entries()) {
    const value = own.includes(undefined) ? place : own[place]!
    if (!found.has(text)) found.set(text, value)
  }
  return [...found].map(([text, value]) => ({ value, text }))
}

/** Undefined where the map has no such word. */
export const numberFor = (config: Mapped, text: string): number | undefined =>
  meaningsOf(config).find((one) => one.text === text)?.value

function ownNumber(key: string): number | undefined {
  const lower = key.trim().toLowerCase()
  if (lower === 'true' || lower === 'false') return lower === 'true' ? 1 : 0
  return lower === '' || !Number.isFinite(Number(lower)) ? undefined : Number(lower)
}
