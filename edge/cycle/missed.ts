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
  /** The line stood this near to the splice, and nothing says that a roll was ready. */
  stoodForRoll: boolean
  isReported: boolean
}

const fresh = (): MissedState => ({ slowedTMs: null, runningMps: 0, stoodForRoll: false, isReported: false })

export class MissedWatch {
  #s = fresh()

  /** A new roll runs, or a cycle was seen: the next one may be missed again. */
  reset(): void {
    this.#s = fresh()
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
      s.stoodForRoll = false
      return undefined
    }
    const isSlow = input.lineMps < 1 / 60
    if (isSlow) s.slowedTMs ??= input.tMs
    // A roll changed while the line stands has not run: what its reading says is another's.
    if (!input.isStanding || s.slowedTMs === null || s.runningMps === 0) return undefined
    const isPast =
      input.diameterM !== undefined &&
      (input.diameterM < input.expectedM - input.overdueM || input.diameterM < input.coreM + AT_CORE_M)
    const isDue = input.dueM !== undefined && input.dueM <= DUE_S * s.runningMps
    s.stoodForRoll = isDue && input.isSet && input.newRollReady === undefined
    if (!isPast && !(isDue && input.newRollReady === false)) return undefined
    s.isReported = true
    return s.slowedTMs
  }

  /** A roll was changed by hand. @returns when the line stopped for it, ms, where it did and that was not told yet. */
  changedByHand(): number | undefined {
    const { stoodForRoll, slowedTMs, isReported } = this.#s
    return stoodForRoll && !isReported ? (slowedTMs ?? undefined) : undefined
  }

  snapshot(): MissedState {
    return { ...this.#s }
  }

  restore(state: MissedState): void {
    this.#s = { ...state }
  }
}
