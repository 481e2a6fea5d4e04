/**
 * Control charts and intervals, each in the form in which it is published. Pure.
 *
 * Source: NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.2 (individuals), 6.3.2.3 (CUSUM), 6.3.2.4 (EWMA), 8.2.2.3
 * (trend of failures); Newcombe, Statistics in Medicine 17 (1998) 857, method 3 (Wilson's interval).
 */

/** Two-sided 95 % of a normal, Φ⁻¹(0.975). */
export const Z95 = 1.959963984540054
/** Mean of the range of two values of a normal, in standard deviations (d₂ for n = 2). */
const D2_OF_TWO = 1.128

/** Exponentially weighted mean: the weight λ of the newest value, 0 < λ ≤ 1. */
export const ewma = (before: number, value: number, lambda: number): number => lambda * value + (1 - lambda) * before

/** Standard deviation of an EWMA over `count` independent values of standard deviation 1; without `count`, in the long run. */
export const ewmaDeviation = (lambda: number, count = Number.POSITIVE_INFINITY): number =>
  Math.sqrt((lambda / (2 - lambda)) * (1 - (1 - lambda) ** (2 * count)))

/** One step of a tabular CUSUM upwards: `allowance` (k) is half of the shift that is looked for. */
export const cusum = (before: number, excess: number, allowance: number): number =>
  Math.max(0, before + excess - allowance)

/** Limits of an individuals chart by the mean moving range of two, three standard deviations either way. */
export function individualsLimits(values: readonly number[]): {
  mean: number
  range: number
  low: number
  high: number
} {
  const mean = values.reduce((sum, value) => sum + value, 0) / values.length
  const ranges = values.slice(1).map((value, i) => Math.abs(value - values[i]!))
  const range = ranges.reduce((sum, value) => sum + value, 0) / ranges.length
  const reach = (3 * range) / D2_OF_TWO
  return { mean, range, low: mean - reach, high: mean + reach }
}

/** A share with its interval. */
export interface Share {
  share: number
  low: number
  high: number
}

/** Wilson's score interval for `hits` of `count`; undefined of nothing. */
export function wilson(hits: number, count: number, z = Z95): Share | undefined {
  if (count <= 0) return undefined
  const share = hits / count
  const bottom = 1 + z ** 2 / count
  const middle = (share + z ** 2 / (2 * count)) / bottom
  const reach = (z / bottom) * Math.sqrt((share * (1 - share)) / count + z ** 2 / (4 * count ** 2))
  return { share, low: Math.max(0, middle - reach), high: Math.min(1, middle + reach) }
}

/**
 * Laplace's test for a trend of failures: near 0 where they come evenly, above 1.96 where they come ever faster (95 %).
 * @param at - when each failure came, in splices (or hours) since the watch began; `until` - when it ended.
 */
export function laplaceTrend(at: readonly number[], until: number): number | undefined {
  if (at.length < 2 || until <= 0) return undefined
  const mean = at.reduce((sum, value) => sum + value, 0) / at.length
  return (mean - until / 2) / (until * Math.sqrt(1 / (12 * at.length)))
}

/**
 * Student's t on `freedom` degrees as the normal deviate with the same tail. Wallace, Annals of Mathematical Statistics 30
 * (1959) 1124 (from memory): wrong by less than 0.02 from 10 degrees and |t| ≤ 4 on.
 */
export function normalOfStudent(t: number, freedom: number): number {
  const size = ((8 * freedom + 1) / (8 * freedom + 3)) * Math.sqrt(freedom * Math.log1p(t ** 2 / freedom))
  return t < 0 ? -size : size
}
