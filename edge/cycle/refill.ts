/**
 * The refill after a splice: from the unwind's return to line speed until the buffer is at its running position. Pure.
 */
import type { BufferConfig } from '../config/config.ts'

/** Back at the running position within this share of the web stored there (recording contract). */
const BACK_SHARE = 0.05
/** A refill that takes longer than so many times what it should is over as a state (recording contract). */
const OVER_AFTER = 3
/** A refill takes at least this long by the figures, s: a position loop settles. */
const LEAST_S = 5

export interface RefillState {
  sinceTMs: number | null
  expectedS: number
  isBelow: boolean
}

export class RefillWatch {
  #sinceTMs: number | undefined
  #expectedS = LEAST_S
  #isBelow = true

  get isRunning(): boolean {
    return this.#sinceTMs !== undefined
  }

  get expectedS(): number {
    return this.#expectedS
  }

  elapsedS(tMs: number): number | undefined {
    return this.#sinceTMs === undefined ? undefined : Math.max(0, (tMs - this.#sinceTMs) / 1000)
  }

  begin(backTMs: number, buffer: BufferConfig, storedM: number | undefined, overspeedMps: number): void {
    const missingM = buffer.runningStoredM - (storedM ?? 0)
    this.#sinceTMs = backTMs
    this.#isBelow = missingM > 0
    this.#expectedS = Math.max(LEAST_S, Math.abs(missingM) / Math.max(1e-3, overspeedMps))
  }

  /** @returns when the buffer was back at its running position, at the step at which it is. */
  step(tMs: number, buffer: BufferConfig, storedM: number | undefined, isStanding: boolean): number | undefined {
    if (this.#sinceTMs === undefined) return undefined
    if (isStanding || tMs - this.#sinceTMs > OVER_AFTER * this.#expectedS * 1000) {
      this.#sinceTMs = undefined
      return undefined
    }
    if (storedM === undefined) return undefined
    const missingM = buffer.runningStoredM - storedM
    const isBack = Math.abs(missingM) <= BACK_SHARE * buffer.runningStoredM
    // A reading that steps over the narrow band has passed through it all the same.
    const hasPassed = this.#isBelow ? missingM < 0 : missingM > 0
    if (!isBack && !hasPassed) return undefined
    this.#sinceTMs = undefined
    return tMs
  }

  snapshot(): RefillState {
    return { sinceTMs: this.#sinceTMs ?? null, expectedS: this.#expectedS, isBelow: this.#isBelow }
  }

  restore(state: RefillState): void {
    this.#sinceTMs = state.sinceTMs ?? undefined
    this.#expectedS = state.expectedS
    this.#isBelow = state.isBelow
  }
}
