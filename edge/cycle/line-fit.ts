/**
 * Straight line by least squares, point by point. Pure, O(1).
 *
 * Sums about the running means (Welford, Technometrics 4 (1962), from memory): epoch times and small slopes do not cancel.
 */
export class LineFit {
  count = 0
  meanX = 0
  meanY = 0
  #sumXX = 0
  #sumXY = 0

  add(x: number, y: number): void {
    this.count += 1
    const dx = x - this.meanX
    this.meanX += dx / this.count
    this.meanY += (y - this.meanY) / this.count
    this.#sumXX += dx * (x - this.meanX)
    this.#sumXY += dx * (y - this.meanY)
  }

  /** Change of y per x; undefined where all points have the same x. */
  get slope(): number | undefined {
    return this.#sumXX > 0 ? this.#sumXY / this.#sumXX : undefined
  }
}
