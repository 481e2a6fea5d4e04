/** The two countdowns that people make by hand, for comparison. They see the same smoothed diameter as the forecast. */

/** π(D² − D_s²)/(4t) with the label's caliper as it stands, m. */
export const nominalMetres = (diameterMm: number, spliceMm: number, labelUm: number): number =>
  (Math.PI * (diameterMm ** 2 - spliceMm ** 2)) / (4 * labelUm * 1e-3) / 1000

/** Least-squares line of diameter against web since the roll began, prolonged to the splice diameter. */
export class DiameterLine {
  #n = 0
  #meanX = 0
  #meanY = 0
  #sumXX = 0
  #sumXY = 0

  clear(): void {
    this.#n = this.#meanX = this.#meanY = this.#sumXX = this.#sumXY = 0
  }

  /** @param webM - taken off the roll; @param diameterMm - smoothed. */
  add(webM: number, diameterMm: number): void {
    this.#n += 1
    const dx = webM - this.#meanX
    this.#meanX += dx / this.#n
    const dy = diameterMm - this.#meanY
    this.#meanY += dy / this.#n
    this.#sumXX += dx * (webM - this.#meanX)
    this.#sumXY += dx * (diameterMm - this.#meanY)
  }

  /** Web left at `webM` until the line is at the splice diameter, m. */
  metres(webM: number, spliceMm: number): number | undefined {
    const slope = this.#sumXY / this.#sumXX
    if (this.#n < 3 || !(slope < 0)) return undefined
    return this.#meanX + (spliceMm - this.#meanY) / slope - webM
  }
}
