/**
 * A splice that should have come and did not: the roll ran out, or the line stopped for it. Pure.
 */
import type { CycleInput } from './cycle.ts'

/** A line that stops with less than this much time of web left, and no roll ready, was stopped for the roll (common practice, no source). */
const DUE_S = 10

/** This near to its core a roll has no web left to speak of, m. */
export const AT_CORE_M = 3e-3

export interface MissedState {
  slowedTMs: number | null
  runningMps: number
  isReported: boolean
}

export class MissedWatch {
  #s: MissedState = { slowedTMs: null, runningMps: 0, isReported: false }

  /** A new roll runs, or a cycle was seen: the next one may be missed again. */
  reset(): void {
    this.#s = { slowedTMs: null, runningMps: 0, isReported: false }
  }

  /** The unwind stopped at its core: reported already. */
  markReported(): void {
    this.#s.isReported = true
  }

  get isReported(): boolean {
    return this.#s.isReported
  }

  /** @returns when the splice was missed, ms, at the step at which that is certain. */
  step(input: CycleInput): number | undefined {
    const s = this.#s
    if (s.isReported) return undefined
    if (!input.isStanding && input.lineMps > 0.5 * s.runningMps) {
      s.runningMps = Math.max(input.lineMps, s.runningMps * 0.9995)
      s.slowedTMs = null
      return undefined
    }
    const isSlow = input.lineMps < 1 / 60
    if (isSlow) s.slowedTMs ??= input.tMs
    // A roll changed while the line stands has not run: what its reading says is another's.
    if (!input.isStanding || s.slowedTMs === null || s.runningMps === 0) return undefined
    const isPast =
      input.diameterM !== undefined &&
      (input.diameterM < input.expectedM - input.overdueM || input.diameterM < input.coreM + AT_CORE_M)
    const isDue = input.dueM !== undefined && input.dueM <= DUE_S * s.runningMps && input.newRollReady === false
    if (!isPast && !isDue) return undefined
    s.isReported = true
    return s.slowedTMs
  }

  snapshot(): MissedState {
    return { ...this.#s }
  }

  restore(state: MissedState): void {
    this.#s = { ...state }
  }
}
