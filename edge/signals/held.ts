/**
 * One tag's value as it holds between reports. Pure.
 *
 * A value holds until the next report. Quality `bad` ends the hold. A value's own age never makes it stale: only a
 * silent source does, or, where the tag states a period, three missed reports.
 */
import type { SignalConfig } from '../config/config.ts'
import type { Quality, Sample } from '../sample.ts'
import { readValue, type SignalValue } from './value.ts'

export interface HeldState {
  value: SignalValue | null
  quality: Quality
  /** Time of the report that gave the value, ms; null before the first. */
  tMs: number | null
  ignored: number
}

export type Accepted = 'value' | 'ended' | 'ignored' | 'late'

export class Held {
  readonly config: SignalConfig
  value: SignalValue | undefined
  quality: Quality = 'bad'
  tMs: number | undefined
  /** Reports that were no value: empty, unparsable, out of range. */
  ignored = 0

  constructor(config: SignalConfig) {
    this.config = config
  }

  /** Takes a report; one older than the last is `late`: history, not the present. */
  accept(sample: Sample): Accepted {
    if (this.tMs !== undefined && sample.tMs < this.tMs) return 'late'
    if (sample.quality === 'bad') {
      this.value = undefined
      this.quality = 'bad'
      this.tMs = sample.tMs
      return 'ended'
    }
    const value = sample.value === undefined ? undefined : readValue(this.config, sample.value)
    if (value === undefined) {
      this.ignored += 1
      return 'ignored'
    }
    this.value = value
    this.quality = sample.quality
    this.tMs = sample.tMs
    return 'value'
  }

  snapshot(): HeldState {
    return { value: this.value ?? null, quality: this.quality, tMs: this.tMs ?? null, ignored: this.ignored }
  }

  restore(state: HeldState): void {
    this.value = state.value ?? undefined
    this.quality = state.quality
    this.tMs = state.tMs ?? undefined
    this.ignored = state.ignored
  }
}
