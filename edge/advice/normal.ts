/**
 * The normal distribution to full precision in its tails, where the advice asks for one in a thousand and less. Pure.
 *
 * Φ by its power series near the middle and by the continued fraction of Mills' ratio outside (Abramowitz & Stegun 26.2.11
 * and 26.2.14, from memory). Two short sums by hand serve better than a package for one function.
 */
const SERIES_UP_TO = 3
const TERMS = 80
/** A step as short as this, in standard deviations, leaves Newton's next one below the last digit. */
const NEAR_ENOUGH = 1e-9
const MOST_STEPS = 30
const DENSITY_0 = 1 / Math.sqrt(2 * Math.PI)

/** Upper tail 1 − Φ(z). */
export function upperTail(z: number): number {
  if (Number.isNaN(z)) return Number.NaN
  if (z < 0) return 1 - upperTail(-z)
  if (z > 38) return 0
  const density = DENSITY_0 * Math.exp((-z * z) / 2)
  if (z < SERIES_UP_TO) {
    let term = z
    let sum = z
    for (let k = 1; k < TERMS; k += 1) {
      term *= (z * z) / (2 * k + 1)
      const before = sum
      sum += term
      // The terms fall from here on: none of them would change a digit.
      if (sum === before) break
    }
    return 0.5 - density * sum
  }
  let fraction = z
  for (let k = TERMS; k > 0; k -= 1) fraction = z + k / fraction
  return density / fraction
}

/** Φ(z). */
export const normalCdf = (z: number): number => upperTail(-z)

/**
 * How many standard deviations are exceeded with this probability: z with 1 − Φ(z) = risk. Valid for 1e-12 ≤ risk ≤ 0.5.
 *
 * Newton's steps on ln(1 − Φ), which is concave, from z₀ = √(−2·ln(2·risk)): 1 − Φ(z) ≤ ½·e^(−z²/2) puts it above the
 * answer, and so every step stays.
 */
export function sdsAtRisk(risk: number): number {
  const wanted = Math.min(0.5, Math.max(1e-12, risk))
  let z = Math.sqrt(Math.max(0, -2 * Math.log(2 * wanted)))
  for (let i = 0; i < MOST_STEPS; i += 1) {
    const tail = upperTail(z)
    const step = (Math.log(tail / wanted) * tail) / (DENSITY_0 * Math.exp((-z * z) / 2))
    z += step
    if (Math.abs(step) < NEAR_ENOUGH) break
  }
  return z
}

/** Probability that a normal value lies between two bounds; without a spread it is certain. */
export function probabilityBetween(low: number, high: number, mean: number, sd: number): number {
  if (!(high > low)) return 0
  if (!(sd > 0)) return mean > low && mean < high ? 1 : 0
  const [from, to] = [(low - mean) / sd, (high - mean) / sd]
  // From the tail that both bounds lie in, or what is left of 1 − ε would be all that is left.
  const between = from > 0 ? upperTail(from) - upperTail(to) : normalCdf(to) - normalCdf(from)
  return Math.min(1, Math.max(0, between))
}
