/**
 * A reading that may only fall holds its lowest and moves in steps of its own: what is still for them is not stuck. Pure, O(1).
 *
 * Of noise that only its lowest shows, the steps vary; of a resolution they are all alike. A step that comes now is no
 * larger than the mean and two standard deviations of those before.
 */

/** So many changes downwards in a row, and none upwards, are no chance (one in 4000 of even noise). */
const IN_A_ROW = 12
/** The steps that are remembered. */
const OVER = 12
const STEP_SDS = 2
/** A rise by more is another roll, not a reading that may rise, m. */
const OTHER_ROLL_M = 10e-3

export interface FallingState {
  inARow: number
  meanM: number
  squareM2: number
}

export class FallingOnly {
  #s: FallingState = { inARow: 0, meanM: 0, squareM2: 0 }

  /** The reading changed by this much, m. */
  note(byM: number): void {
    if (byM > 0) {
      if (byM < OTHER_ROLL_M) this.#s = { inARow: 0, meanM: 0, squareM2: 0 }
      return
    }
    const s = this.#s
    s.inARow += 1
    const weight = 1 / Math.min(s.inARow, OVER)
    s.meanM += (-byM - s.meanM) * weight
    s.squareM2 += (byM * byM - s.squareM2) * weight
  }

  /** The largest usual step of a reading that may only fall, m; 0 of one that rises as well. */
  get stepM(): number {
    const { inARow, meanM, squareM2 } = this.#s
    return inARow < IN_A_ROW ? 0 : meanM + STEP_SDS * Math.sqrt(Math.max(0, squareM2 - meanM * meanM))
  }

  snapshot(): FallingState {
    return { ...this.#s }
  }

  restore(state: FallingState): void {
    this.#s = { ...state }
  }
}
