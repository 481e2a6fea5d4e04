/** Small robust statistics. Pure. */

/** So few are sorted faster by insertion than by the general way: what is learned of a splicer is no more. */
const FEW = 32

function sortedCopy(values: readonly number[]): readonly number[] {
  const sorted = values.slice()
  if (sorted.length > FEW) return sorted.sort((a, b) => a - b)
  for (let i = 1; i < sorted.length; i += 1) {
    const value = sorted[i]!
    let j = i - 1
    for (; j >= 0 && sorted[j]! > value; j -= 1) sorted[j + 1] = sorted[j]!
    sorted[j + 1] = value
  }
  return sorted
}

const middleOf = (sorted: readonly number[]): number => {
  const middle = sorted.length >> 1
  return sorted.length % 2 === 1 ? sorted[middle]! : (sorted[middle - 1]! + sorted[middle]!) / 2
}

export const median = (values: readonly number[]): number | undefined =>
  values.length === 0 ? undefined : middleOf(sortedCopy(values))

/** Median absolute deviation scaled to a normal's standard deviation (factor 1.4826 = 1/Φ⁻¹(¾)). */
export const scatter = (values: readonly number[]): number | undefined => medianAndScatter(values)?.scatter

/** Both at once, from one sort: what lies farther out in order also lies farther from the median. */
function medianAndScatter(values: readonly number[]): { median: number; scatter: number | undefined } | undefined {
  const count = values.length
  if (count === 0) return undefined
  const sorted = sortedCopy(values)
  const middle = middleOf(sorted)
  if (count < 3) return { median: middle, scatter: undefined }
  // The deviations in order, as far as their own middle: the nearer of both neighbours outwards is always the next.
  let below = (count - 1) >> 1
  let above = below + 1
  let before = 0
  let newest = 0
  for (let taken = 0; taken <= count >> 1; taken += 1) {
    before = newest
    const down = below < 0 ? Number.POSITIVE_INFINITY : middle - sorted[below]!
    const up = above >= count ? Number.POSITIVE_INFINITY : sorted[above]! - middle
    if (down <= up) below -= 1
    else above += 1
    newest = Math.min(down, up)
  }
  return { median: middle, scatter: 1.4826 * (count % 2 === 1 ? newest : (before + newest) / 2) }
}

/** Values farther than so many standard deviations from the median are not of the same kind. */
const OUTLIER_SDS = 4

/**
 * Mean and standard deviation of what is left without outliers: of the median's robustness, and at normal values almost as
 * sharp as mean and standard deviation themselves (the median needs π/2 times, the median absolute deviation 2.7 times as
 * many values; Huber & Ronchetti, Robust Statistics, ch. 1, from memory).
 * @returns sd undefined of fewer than three values; undefined of none.
 */
export function robust(values: readonly number[]): { middle: number; sd: number | undefined } | undefined {
  const usual = medianAndScatter(values)
  if (usual === undefined) return undefined
  const { median: middle, scatter: rough } = usual
  if (rough === undefined) return { middle, sd: undefined }
  let [count, sum, squares] = [0, 0, 0]
  for (const value of values) {
    const off = value - middle
    if (Math.abs(off) > OUTLIER_SDS * rough) continue
    count += 1
    sum += off
    squares += off * off
  }
  const mean = sum / count
  return { middle: middle + mean, sd: Math.sqrt(Math.max(0, squares - count * mean * mean) / Math.max(1, count - 1)) }
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
