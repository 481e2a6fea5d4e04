/**
 * The fill before a splice: the unwind outruns the line until the buffer holds what the cycle needs. Pure.
 */
import type { BufferConfig } from '../config/config.ts'

/** Above the running position by this share of the way to the fill position the buffer is being filled. */
const RISEN_SHARE = 0.15
/** A fill's rate has to reach this share of what the overspeed gives. */
const RATE_SHARE = 0.25
/** It has to last, ms: a position loop wanders. */
const LAST_MS = 1000

export interface FillState {
  risingSinceTMs: number | null
  startedTMs: number | null
}

export class FillWatch {
  #risingSinceTMs: number | undefined
  #startedTMs: number | undefined

  /**
   * @param mayFill - false in a cycle, while refilling and while the line stands.
   * @param rateMps - how fast the stored web grows, m/s.
   */
  step(
    tMs: number,
    buffer: BufferConfig,
    storedM: number | undefined,
    rateMps: number | undefined,
    overspeedMps: number,
    step: string | undefined,
    mayFill: boolean,
  ): void {
    if (buffer.mode !== 'fill_before' || !mayFill || storedM === undefined) {
      this.#risingSinceTMs = undefined
      this.#startedTMs = undefined
      return
    }
    const riseM = buffer.fillStoredM - buffer.runningStoredM
    const isRising = rateMps !== undefined && rateMps > RATE_SHARE * overspeedMps
    const isAbove = storedM > buffer.runningStoredM + RISEN_SHARE * riseM
    if (isRising || step === 'filling') this.#risingSinceTMs ??= tMs
    else if (!isAbove) this.#risingSinceTMs = undefined
    if (this.#startedTMs === undefined) {
      const lasts = this.#risingSinceTMs !== undefined && tMs - this.#risingSinceTMs >= LAST_MS
      if (step === 'filling' || (lasts && isAbove)) this.#startedTMs = this.#risingSinceTMs ?? tMs
    } else if (storedM < buffer.runningStoredM + 0.5 * RISEN_SHARE * riseM && !isRising && step !== 'filling') {
      this.#startedTMs = undefined
    }
  }

  get startedTMs(): number | undefined {
    return this.#startedTMs
  }

  snapshot(): FillState {
    return { risingSinceTMs: this.#risingSinceTMs ?? null, startedTMs: this.#startedTMs ?? null }
  }

  restore(state: FillState): void {
    this.#risingSinceTMs = state.risingSinceTMs ?? undefined
    this.#startedTMs = state.startedTMs ?? undefined
  }
}
