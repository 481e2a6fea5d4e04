/**
 * Least and greatest value of each of so many equal spans of time: a chart of a million points at the width of a screen, which
 * never skips a peak. Pure; O(1) per point, whatever the order.
 */
export interface Reduced {
  /** Least and greatest of each span; null where it has no value. */
  low: (number | null)[]
  high: (number | null)[]
}

export class MinMaxReducer {
  readonly #fromTMs: number
  readonly #spanMs: number
  readonly #low: Float64Array
  readonly #high: Float64Array

  /** @param spans - how many equal parts `fromTMs` to `toTMs` (exclusive) is cut into. */
  constructor(fromTMs: number, toTMs: number, spans: number) {
    this.#fromTMs = fromTMs
    this.#spanMs = (toTMs - fromTMs) / spans
    this.#low = new Float64Array(spans).fill(Number.POSITIVE_INFINITY)
    this.#high = new Float64Array(spans).fill(Number.NEGATIVE_INFINITY)
  }

  /** A value outside of the time, or that is none, changes nothing. */
  push(tMs: number, low: number | null | undefined, high: number | null | undefined = low): void {
    const at = Math.floor((tMs - this.#fromTMs) / this.#spanMs)
    if (!(at >= 0 && at < this.#low.length) || low == null || high == null || Number.isNaN(low + high)) return
    if (low < this.#low[at]!) this.#low[at] = low
    if (high > this.#high[at]!) this.#high[at] = high
  }

  result(): Reduced {
    const known = (value: number): number | null => (Number.isFinite(value) ? value : null)
    return { low: Array.from(this.#low, known), high: Array.from(this.#high, known) }
  }
}
