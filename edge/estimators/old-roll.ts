/**
 * Whether the diameter still reads the roll that a splice left. Pure, O(1).
 *
 * A turret blinds the sensor, which may hold its value, for 10 to 30 s (trade notes); a program that was not told of the
 * splice holds the old roll's diameter, or goes on reckoning it down. Such readings say nothing of the new roll.
 */

/** Another roll reads so much beside the old one: m, and share of it (common practice, no source). */
const OTHER_M = 10e-3
const OTHER_SHARE = 0.02
/** A program that reckons on takes two calipers a turn, and may have twice the caliper. */
const RECKONED_CALIPERS = 4
/** Where no caliper is known it is no thicker than board's, m. */
const THICK_M = 0.6e-3
/** After so long a reading counts whatever it says: what is wrong has been told by then, ms. */
const IGNORED_MS = 60_000

/** The roll that was left: what it read and how thick its web is. */
export interface LeftRoll {
  diameterM: number | undefined
  caliperM: number | undefined
}

interface Left {
  tMs: number
  webM: number
  diameterM: number
  caliperM: number
}

export interface OldRollState {
  left: Left | null
  isSeen: boolean
}

export class OldRoll {
  #left: Left | undefined
  /** The newest reading was the old roll's. */
  #isSeen = false

  /** Another roll runs from here. @param left - undefined where no splice brought it. */
  change(tMs: number, webM: number, left: LeftRoll | undefined): void {
    const diameterM = left?.diameterM
    this.#left = diameterM === undefined ? undefined : { tMs, webM, diameterM, caliperM: left?.caliperM ?? THICK_M }
    this.#isSeen = false
  }

  /** A reading. @returns whether it is the old roll's and says nothing. */
  reads(readingM: number, tMs: number, webM: number): boolean {
    const left = this.#left
    if (left === undefined) return false
    const otherM = Math.max(OTHER_M, OTHER_SHARE * left.diameterM)
    const turns = Math.max(0, webM - left.webM) / (Math.PI * left.diameterM)
    const byM = readingM - left.diameterM
    this.#isSeen = byM < otherM && byM > -otherM - RECKONED_CALIPERS * left.caliperM * turns
    if (!this.#isSeen) this.#left = undefined
    return this.#isSeen && tMs - left.tMs < IGNORED_MS
  }

  /** Time since the splice while the diameter reads the old roll, s; undefined else. */
  seconds(tMs: number): number | undefined {
    return this.#left === undefined || !this.#isSeen ? undefined : (tMs - this.#left.tMs) / 1000
  }

  snapshot(): OldRollState {
    return { left: this.#left === undefined ? null : { ...this.#left }, isSeen: this.#isSeen }
  }

  restore(state: OldRollState): void {
    this.#left = state.left === null ? undefined : { ...state.left }
    this.#isSeen = state.isSeen
  }
}
