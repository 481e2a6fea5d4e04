/**
 * The refill after a splice: from the unwind's return to line speed until the buffer is at its running position. Pure.
 */
import type { BufferConfig } from '../config/config.ts'

/** Back at the running position within this share of the web stored there (recording contract). */
export const BACK_SHARE = 0.05
/** A refill that takes longer than so many times what it should is over as a state (recording contract). */
const OVER_AFTER = 3
/** A refill takes at least this long by the figures, s: a position loop settles. */
const LEAST_S = 5
/** So many times the figures it is still watched, so that a splicer slower than its data sheet can be learned. */
const LEARNED_WITHIN = 12
/** Until some refills were seen, one that gains steadily is given up to so many times what the figures say. */
const UNSEEN_FACTOR = 2

export interface RefillState {
  sinceTMs: number | null
  /** By the data sheet's overspeed, s. */
  byFiguresS: number
  /** What refills usually take of that. */
  usualRatio: number
  missingM: number
  isOver: boolean
}

/** A refill that was seen to its end: how long it took, of what the data sheet's overspeed makes it. */
export interface RefillEnd {
  recoveredTMs: number
  ratio: number
  /** It was in time, so that the state `refilling` ended with it. */
  isInTime: boolean
}

const nothing = (): RefillState => ({
  sinceTMs: null,
  byFiguresS: LEAST_S,
  usualRatio: 1,
  missingM: 0,
  isOver: false,
})

export class RefillWatch {
  #s = nothing()

  get isRunning(): boolean {
    return this.#s.sinceTMs !== null && !this.#s.isOver
  }

  get expectedS(): number {
    return this.#s.byFiguresS * this.#s.usualRatio
  }

  elapsedS(tMs: number): number | undefined {
    return this.isRunning ? Math.max(0, (tMs - this.#s.sinceTMs!) / 1000) : undefined
  }

  /**
   * What to hold the refill against, s: before any was seen the data sheet may promise too much, so one that gains is given
   * the time that its gain so far asks for, up to twice the figures.
   */
  patienceS(tMs: number, leftM: number | undefined, isKnown: boolean): number {
    const elapsedS = this.elapsedS(tMs)
    const { missingM } = this.#s
    if (isKnown || elapsedS === undefined || leftM === undefined || missingM === 0) return this.expectedS
    const gained = 1 - leftM / missingM
    const projectedS = gained > 0 ? elapsedS / gained : Number.POSITIVE_INFINITY
    return projectedS <= UNSEEN_FACTOR * this.expectedS ? Math.max(this.expectedS, projectedS) : this.expectedS
  }

  /** @param usualRatio - what refills usually take of the time by the figures. */
  begin(
    backTMs: number,
    buffer: BufferConfig,
    storedM: number | undefined,
    overspeedMps: number,
    usualRatio: number,
  ): void {
    const missingM = buffer.runningStoredM - (storedM ?? 0)
    this.#s = {
      sinceTMs: backTMs,
      byFiguresS: Math.max(LEAST_S, Math.abs(missingM) / Math.max(1e-3, overspeedMps)),
      usualRatio,
      missingM,
      isOver: false,
    }
  }

  /** @returns at the step at which the buffer is back at its running position. */
  step(tMs: number, buffer: BufferConfig, storedM: number | undefined, isStanding: boolean): RefillEnd | undefined {
    const s = this.#s
    if (s.sinceTMs === null) return undefined
    const elapsedS = (tMs - s.sinceTMs) / 1000
    if (isStanding || elapsedS > LEARNED_WITHIN * s.byFiguresS) {
      this.#s = nothing()
      return undefined
    }
    if (elapsedS > OVER_AFTER * this.expectedS) s.isOver = true
    if (storedM === undefined) return undefined
    const missingM = buffer.runningStoredM - storedM
    const isBack = Math.abs(missingM) <= BACK_SHARE * buffer.runningStoredM
    // A reading that steps over the narrow band has passed through it all the same.
    const hasPassed = s.missingM > 0 ? missingM < 0 : missingM > 0
    if (!isBack && !hasPassed) return undefined
    const end = { recoveredTMs: tMs, ratio: elapsedS / s.byFiguresS, isInTime: !s.isOver }
    this.#s = nothing()
    return end
  }

  snapshot(): RefillState {
    return { ...this.#s }
  }

  restore(state: RefillState): void {
    this.#s = { ...state }
  }
}
