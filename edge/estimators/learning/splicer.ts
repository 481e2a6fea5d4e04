/**
 * What was learned of one splicer, as plain data, and the robust updates. Pure.
 *
 * The last splices count, by their median: one bad splice does not spoil it and old evidence leaves.
 */
import { median, scatter } from '../statistics.ts'

/** Splices that count: enough for a median, few enough to follow a changed setting within a shift. */
const KEEP = 20

export interface LearnedSplicer {
  /** Diameter by the filter when the cycle started, less the setting, m. */
  triggerM: number[]
  /** Stored web when the cycle started, m. */
  fillStoredM: number[]
  /** Time from the fill's start to the cycle's start, s. */
  fillLeadS: number[]
  /** How long the web stood, s. */
  stopS: number[]
  /** What the two ramps took, (N − v·t_stop)/v², s²/m: 1/(2·a_dec) + 1/(2·a_acc). */
  rampS2PerM: number[]
  /** Cycles seen (not capped). */
  cycles: number
  /** Effective caliper ÷ label per material, of the last rolls. */
  caliperRatio: Record<string, number[]>
  /** Offset of the diameter reading per spindle, m, with its standard deviation. */
  offset: Record<string, { offsetM: number; sdM: number }>
}

export const learnedNothing = (): LearnedSplicer => ({
  triggerM: [],
  fillStoredM: [],
  fillLeadS: [],
  stopS: [],
  rampS2PerM: [],
  cycles: 0,
  caliperRatio: {},
  offset: {},
})

/** Materials are named by the plant: a prefix keeps any text a plain key. */
export const materialKey = (material: string): string => `m:${material}`

export function remember(list: number[], value: number): void {
  if (!Number.isFinite(value)) return
  list.push(value)
  if (list.length > KEEP) list.shift()
}

export interface Belief {
  mean: number
  /** Standard deviation of the next value: what is not known of the mean, and the scatter. */
  sd: number
  /** The scatter alone. */
  scatter: number
}

/**
 * Combines a prior with the last values: the prior weighs as `priorWeight` values.
 * @param priorSd - how far the prior's mean may be off; @param priorScatter - scatter from one to the next.
 */
export function believe(values: readonly number[], priorMean: number, priorSd: number, priorScatter: number): Belief {
  const n = values.length
  const middle = median(values)
  if (middle === undefined) return { mean: priorMean, sd: Math.hypot(priorSd, priorScatter), scatter: priorScatter }
  const seen = scatter(values) ?? priorScatter
  const SCATTER_PRIOR_WEIGHT = 4
  const sc = Math.sqrt((SCATTER_PRIOR_WEIGHT * priorScatter ** 2 + n * seen ** 2) / (SCATTER_PRIOR_WEIGHT + n))
  // A median is about π/2 times less sharp than a mean (normal errors).
  const variance = (Math.PI / 2) * (sc ** 2 / n)
  const weight = priorSd ** 2 / (priorSd ** 2 + variance)
  const mean = priorMean + (middle - priorMean) * weight
  return { mean, sd: Math.sqrt(weight * variance + sc ** 2), scatter: sc }
}

/** Caliper to expect of the next roll, m, with its standard deviation. Label ± 5 % (one sd) before a roll was seen. */
export function expectCaliper(
  learned: LearnedSplicer,
  material: string,
  labelM: number,
): { caliperM: number; sdM: number } {
  const LABEL_SD = 0.05
  const ROLL_TO_ROLL_SD = 0.02
  const belief = believe(learned.caliperRatio[materialKey(material)] ?? [], 1, LABEL_SD, ROLL_TO_ROLL_SD)
  return { caliperM: belief.mean * labelM, sdM: Math.max(0.008, belief.sd) * labelM }
}
