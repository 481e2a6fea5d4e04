/** Small robust statistics. Pure. */

/** So few are sorted faster by insertion than by the general way: what is learned of a splicer is no more. */
const FEW = 32

function sortedCopy(values: readonly number[]): Float64Array {
  const sorted = Float64Array.from(values)
  if (sorted.length > FEW) return sorted.sort()
  for (let i = 1; i < sorted.length; i += 1) {
    const value = sorted[i]!
    let j = i - 1
    for (; j >= 0 && sorted[j]! > value; j -= 1) sorted[j + 1] = sorted[j]!
    sorted[j + 1] = value
  }
  return sorted
}

export function median(values: readonly number[]): number | undefined {
  if (values.length === 0) return undefined
  const sorted = sortedCopy(values)
  const middle = sorted.length >> 1
  return sorted.length % 2 === 1 ? sorted[middle]! : (sorted[middle - 1]! + sorted[middle]!) / 2
}

/** Median absolute deviation scaled to a normal's standard deviation (factor 1.4826 = 1/Φ⁻¹(¾)). */
export function scatter(values: readonly number[]): number | undefined {
  const middle = median(values)
  if (middle === undefined || values.length < 3) return undefined
  return 1.4826 * median(values.map((value) => Math.abs(value - middle)))!
}

/** Φ, the standard normal distribution. Abramowitz & Stegun 7.1.26 (from memory): error below 1.5e-7. */
export function normalCdf(z: number): number {
  const x = Math.abs(z) / Math.SQRT2
  const k = 1 / (1 + 0.3275911 * x)
  const poly = k * (0.254829592 + k * (-0.284496736 + k * (1.421413741 + k * (-1.453152027 + k * 1.061405429))))
  const erf = 1 - poly * Math.exp(-x * x)
  return z >= 0 ? (1 + erf) / 2 : (1 - erf) / 2
}

/** Half-width of a normal's central 80 % in standard deviations, Φ⁻¹(0.9). */
export const Z80 = 1.2815515655446004
