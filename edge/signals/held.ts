/**
 * One tag's value as it holds between reports. Pure.
 *
 * A value holds until the next report. Quality `bad` ends the hold. A value's own age never makes it stale: only a
 * silent source does, or, where the tag states a period, three missed reports.
 */
import { type SignalConfig, tagAddress } from '../config/config.ts'
import { type Quality, type RawValue, type Sample, tagKey } from '../sample.ts'
import { readValue, type SignalValue } from './value.ts'

export interface HeldState {
  /** Which signal it is, and what it reads: a config may have changed since. */
  signal: string
  spindle: string | null
  tag: string
  /** As the tag gave it: unit, bit and map are the config's of the day. */
  raw: RawValue | null
  quality: Quality
  /** Time of the report that gave the value, ms; null before the first. */
  tMs: number | null
  hasSpoken: boolean
  ignored: number
}

export type Accepted = 'value' | 'ended' | 'ignored' | 'late'

export class Held {
  readonly config: SignalConfig
  value: SignalValue | undefined
  #raw: RawValue | undefined
  quality: Quality = 'bad'
  tMs: number | undefined
  /** It had a value once. */
  hasSpoken = false
  /** Reports that were no value: empty, unparsable, out of range. */
  ignored = 0
  /** The newest report was no value, and this is what it said; undefined otherwise. */
  refused: RawValue | undefined

  constructor(config: SignalConfig) {
    this.config = config
  }

  /** Takes a report; one older than the last is `late`: history, not the present. */
  accept(sample: Sample): Accepted {
    if (this.tMs !== undefined && sample.tMs < this.tMs) return 'late'
    if (sample.quality === 'bad') {
      this.value = undefined
      this.#raw = undefined
      this.refused = undefined
      this.quality = 'bad'
      this.tMs = sample.tMs
      return 'ended'
    }
    const value = sample.value === undefined ? undefined : readValue(this.config, sample.value)
    if (value === undefined) {
      this.ignored += 1
      this.refused = sample.value ?? ''
      return 'ignored'
    }
    this.value = value
    this.#raw = sample.value
    this.hasSpoken = true
    this.refused = undefined
    this.quality = sample.quality
    this.tMs = sample.tMs
    return 'value'
  }

  /** What the tag said for this value, before bit, map, scale and unit. */
  get raw(): RawValue | undefined {
    return this.#raw
  }

  snapshot(): HeldState {
    const { signal, spindle, tag } = this.config
    return {
      signal,
      spindle: spindle ?? null,
      tag: tagKey(tag.source, tagAddress(tag)),
      raw: this.#raw ?? null,
      quality: this.quality,
      tMs: this.tMs ?? null,
      hasSpoken: this.hasSpoken,
      ignored: this.ignored,
    }
  }

  restore(state: HeldState): void {
    this.#raw = state.raw ?? undefined
    this.value = this.#raw === undefined ? undefined : readValue(this.config, this.#raw)
    this.quality = state.quality
    this.tMs = state.tMs ?? undefined
    this.hasSpoken = state.hasSpoken
    this.ignored = state.ignored
  }
}
