/**
 * A ratio of two lengths that should stay constant, from windows of web. Pure, O(1); plain data is its whole state.
 *
 * The mean forgets: x̄ ← x̄ + (x − x̄)/n with n up to `MOST_WINDOWS`, then exponentially. Of its standard deviation, s/√n, twice
 * is taken: neighbouring windows share the noise at their common edge.
 */
import { median, scatter } from '../estimators/statistics.ts'

/** Windows that the mean remembers: 5 min of windows of 2 s, so that what breaks is seen within a few hundred metres. */
const MOST_WINDOWS = 150
/** From so many windows on one that departs by so many standard deviations (at least by so much) is left out … */
const GATED_FROM = 10
const GATE_SDS = 5
const GATE_LEAST = 0.02
/** … until so many in a row did: then the ratio has changed. */
const CHANGED_AFTER = 10
const CORRELATED = 2

export interface RatioState {
  n: number
  mean: number
  variance: number
  /** Web in the windows that count, m. */
  metres: number
  departed: number
}

export interface Ratio {
  value: number
  sd: number
  metres: number
}

export const newRatio = (): RatioState => ({ n: 0, mean: 0, variance: 0, metres: 0, departed: 0 })

/** Farther apart than this two lengths have no ratio worth a mean: one of them is nothing. */
const LARGEST_RATIO = 1e9

export function addRatio(state: RatioState, value: number, metres: number): void {
  if (!(Math.abs(value) < LARGEST_RATIO) || !Number.isFinite(metres)) return
  if (state.n >= GATED_FROM) {
    const gate = Math.max(GATE_LEAST * Math.abs(state.mean), GATE_SDS * Math.sqrt(state.variance))
    if (Math.abs(value - state.mean) > gate) {
      state.departed += 1
      if (state.departed < CHANGED_AFTER) return
      Object.assign(state, newRatio())
    }
  }
  state.departed = 0
  state.n = Math.min(state.n + 1, MOST_WINDOWS)
  const weight = 1 / state.n
  const off = value - state.mean
  state.mean += weight * off
  state.variance += weight * ((1 - weight) * off * off - state.variance)
  state.metres += metres - (state.n === MOST_WINDOWS ? state.metres / MOST_WINDOWS : 0)
}

export function ratioOf(state: RatioState): Ratio | undefined {
  if (state.n < 5 || state.mean === 0) return undefined
  return {
    value: state.mean,
    sd: CORRELATED * Math.sqrt(state.variance / state.n),
    metres: state.metres,
  }
}

/** Newest estimates of one ratio, one per splice or roll: their median and its standard deviation. */
export const MOST_ESTIMATES = 5

export function remember(list: number[], value: number): void {
  list.push(value)
  if (list.length > MOST_ESTIMATES) list.shift()
}

/** @param aloneSd - standard deviation of one estimate, as a share, where there are too few to see it. */
export function middleOf(list: readonly number[], aloneSd: number): { value: number; sd: number } | undefined {
  const value = median(list)
  if (value === undefined) return undefined
  const seen = scatter(list) ?? 0
  // The median's standard deviation is 1.2533 (√(π/2)) times the mean's.
  return { value, sd: (1.2533 * Math.max(aloneSd * Math.abs(value), seen)) / Math.sqrt(list.length) }
}
