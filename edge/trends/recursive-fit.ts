/**
 * Linear regression that takes one observation at a time and grows a column when a new level (a side, a material) appears.
 * Pure; O(columns²) an observation, whatever the history.
 *
 * What an observation was off before it was learned, over its own standard deviation without the noise's, is a recursive
 * residual: independent of all earlier ones and of equal variance as long as nothing changes (Brown, Durbin and Evans,
 * Journal of the Royal Statistical Society B 37 (1975) 149, from memory). So a chart of them needs no baseline that is known
 * exactly: what is not known yet is in the residual's own width.
 */

/** Variances before anything was seen and per splice, in units of the noise's variance. */
export interface Prior {
  /** Of a coefficient, by the column's name. */
  varianceOf: (column: string) => number
  /** How much the first column (the level) may wander from one observation to the next. */
  wander: number
}

/** Plain data. */
export interface FitState {
  columns: string[]
  coefficients: number[]
  /** Covariance of the coefficients over the noise's variance: of each line what lies left of and on the diagonal. */
  covariance: number[][]
}

/** What one observation says before it is learned. */
export interface Innovation {
  /** Observed less expected. */
  off: number
  /** Variance of `off` over the noise's: 1 once everything is known. */
  variance: number
  expected: number
}

export class RecursiveFit {
  readonly #prior: Prior
  #columns: string[] = []
  #coefficients: number[] = []
  #covariance: number[][] = []

  constructor(prior: Prior) {
    this.#prior = prior
  }

  get columns(): readonly string[] {
    return this.#columns
  }

  /** @param row - value per column; a column that is not named is 0. */
  expect(row: ReadonlyMap<string, number>, observed: number): Innovation {
    for (const column of row.keys()) if (!this.#columns.includes(column)) this.#grow(column)
    const x = this.#columns.map((column) => row.get(column) ?? 0)
    const expected = dot(x, this.#coefficients)
    return { off: observed - expected, variance: 1 + dot(x, times(this.#covariance, x)), expected }
  }

  /** @param off - from `expect`, or less where it is not to be believed whole. */
  learn(row: ReadonlyMap<string, number>, off: number): void {
    const x = this.#columns.map((column) => row.get(column) ?? 0)
    const px = times(this.#covariance, x)
    const variance = 1 + dot(x, px)
    for (let i = 0; i < x.length; i += 1) {
      this.#coefficients[i] = this.#coefficients[i]! + (px[i]! / variance) * off
      for (let j = 0; j < x.length; j += 1) {
        // Rounding in the same way on either side keeps it symmetric.
        this.#covariance[i]![j] = this.#covariance[i]![j]! - (px[Math.max(i, j)]! * px[Math.min(i, j)]!) / variance
      }
    }
    this.#covariance[0]![0] = this.#covariance[0]![0]! + this.#prior.wander
  }

  /** The level may be another from here on: it is learned anew, and what hangs on speed and roll is kept. */
  relearnLevel(): void {
    const first = this.#columns[0]
    if (first === undefined) return
    this.#covariance[0]![0] = this.#covariance[0]![0]! + this.#prior.varianceOf(first)
  }

  /** Forgets a column; it comes back as new. */
  drop(column: string): void {
    const at = this.#columns.indexOf(column)
    if (at < 0) return
    for (const list of [this.#columns, this.#coefficients, this.#covariance, ...this.#covariance]) list.splice(at, 1)
  }

  coefficient(column: string): number {
    return this.#coefficients[this.#columns.indexOf(column)] ?? 0
  }

  #grow(column: string): void {
    for (const line of this.#covariance) line.push(0)
    this.#columns.push(column)
    this.#coefficients.push(0)
    this.#covariance.push([...this.#columns.slice(1).map(() => 0), this.#prior.varianceOf(column)])
  }

  snapshot(): FitState {
    return {
      columns: [...this.#columns],
      coefficients: [...this.#coefficients],
      covariance: this.#covariance.map((line, i) => line.slice(0, i + 1)),
    }
  }

  restore({ columns, coefficients, covariance }: FitState): void {
    this.#columns = [...columns]
    this.#coefficients = [...coefficients]
    this.#covariance = covariance.map((_, i) => covariance.map((__, j) => covariance[Math.max(i, j)]![Math.min(i, j)]!))
  }
}

const dot = (a: readonly number[], b: readonly number[]): number => a.reduce((sum, value, i) => sum + value * b[i]!, 0)
const times = (matrix: readonly number[][], x: readonly number[]): number[] => matrix.map((line) => dot(line, x))
