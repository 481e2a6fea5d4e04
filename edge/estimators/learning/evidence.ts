/**
 * Values of one quantity from the last splices, and what to believe of the next. Pure; plain data.
 *
 * The median and the median absolute deviation count, so that one bad splice changes little. Three splices in a row that
 * agree with each other and with none before are a changed setting: what was before is forgotten. With time what was seen
 * drifts away: its variance grows as a random walk's, until the data sheet counts again as much.
 */
import { median, medianAndScatter, scatter } from '../statistics.ts'

export interface Seen {
  value: number
  /** ms since 1970 UTC. */
  tMs: number
}

/** Oldest first. */
export type Evidence = Seen[]

/** Splices that count: enough for a median, few enough to follow a wandering one within a shift or two. */
const KEEP = 20
export const DAY_MS = 86_400_000
/**
 * After so many days without a splice what was learned is known no better than by the data sheet. Sensors err with the
 * temperature and so with the season (trade notes), valves and knives wear over months (common practice, no source).
 */
export const AGE_DAYS = 30
/** So many in a row are a changed setting: two may be two bad splices. */
const CHANGED_AFTER = 3
/** What they are held against: fewer have no scatter to speak of. */
const KNOWN_AFTER = 4
/** Farther from the median than so many standard deviations of one splice: three in a row happen by chance once in 10⁷. */
const CHANGED_SDS = 2.5
/** A prior that so many splices contradict by so many of its own standard deviations was wrong: it knows no better than they do. */
const REFUTED_AFTER = 3
const REFUTED_SDS = 3
/** A median absolute deviation of a few values may be small by chance: no finer than this share of the median. */
const LEAST_SCATTER_SHARE = 0.005

/** Adds the newest value; forgets what is too old, or what a changed setting has made void. */
export function remember(evidence: Evidence, value: number, tMs: number): void {
  if (!Number.isFinite(value)) return
  evidence.push({ value, tMs })
  while (evidence.length > KEEP || evidence[0]!.tMs < tMs - AGE_DAYS * DAY_MS) evidence.shift()
  if (hasChanged(evidence)) evidence.splice(0, evidence.length - CHANGED_AFTER)
}

function hasChanged(evidence: Evidence): boolean {
  const count = evidence.length - CHANGED_AFTER
  if (count < KNOWN_AFTER) return false
  const before = evidence.slice(0, count).map(({ value }) => value)
  const newest = evidence.slice(count).map(({ value }) => value)
  const middle = median(before)!
  const sd = Math.max(scatter(before)!, LEAST_SCATTER_SHARE * Math.abs(middle))
  const least = Math.min(...newest.map((value) => Math.abs(value - middle)))
  const isOneSide = newest.every((value) => value > middle) || newest.every((value) => value < middle)
  // They have to agree: a splicer that has begun to scatter was not set anew.
  return isOneSide && least > CHANGED_SDS * sd && Math.max(...newest) - Math.min(...newest) < least
}

/**
 * A value that does not fit what is known is doubted; so many doubted ones in a row that agree with each other are what
 * is true from now on.
 * @param isPlausible - it fits what is known; @param agreeWithin - how far doubted ones may differ.
 */
export function rememberPlausible(
  evidence: Evidence,
  doubted: Evidence,
  seen: Seen,
  isPlausible: boolean,
  agreeWithin: number,
): void {
  if (!Number.isFinite(seen.value)) return
  if (isPlausible) {
    doubted.length = 0
    remember(evidence, seen.value, seen.tMs)
    return
  }
  doubted.push(seen)
  if (doubted.length > CHANGED_AFTER) doubted.shift()
  const values = doubted.map(({ value }) => value)
  if (doubted.length < CHANGED_AFTER || Math.max(...values) - Math.min(...values) > agreeWithin) return
  evidence.splice(0, evidence.length, ...doubted)
  doubted.length = 0
}

export interface Belief {
  mean: number
  /** Standard deviation of the next value: what is not known of the mean, and the scatter. */
  sd: number
  /** The scatter alone. */
  scatter: number
}

/**
 * Combines a prior with the last values by their variances.
 * @param priorSd - how far the prior's mean may be off; @param priorScatter - scatter from one to the next.
 * @param nowMs - for the age of what was seen; without it nothing ages.
 */
export function believe(
  seen: readonly Seen[],
  priorMean: number,
  priorSd: number,
  priorScatter: number,
  nowMs?: number,
): Belief {
  const n = seen.length
  const usual = medianAndScatter(seen.map(({ value }) => value))
  if (usual === undefined) return { mean: priorMean, sd: Math.hypot(priorSd, priorScatter), scatter: priorScatter }
  const middle = usual.median
  const scattered = usual.scatter ?? priorScatter
  const SCATTER_PRIOR_WEIGHT = 4
  const sc = Math.sqrt((SCATTER_PRIOR_WEIGHT * priorScatter ** 2 + n * scattered ** 2) / (SCATTER_PRIOR_WEIGHT + n))
  const ageDays = nowMs === undefined ? 0 : Math.max(0, nowMs - seen[n - 1]!.tMs) / DAY_MS
  const off = Math.abs(middle - priorMean)
  const priorVariance = n >= REFUTED_AFTER && off > REFUTED_SDS * priorSd ? off ** 2 : priorSd ** 2
  // A median is about π/2 times less sharp than a mean (normal errors).
  const variance = (Math.PI / 2) * (sc ** 2 / n) + priorVariance * (ageDays / AGE_DAYS)
  const weight = priorVariance / (priorVariance + variance)
  const mean = priorMean + (middle - priorMean) * weight
  return { mean, sd: Math.sqrt(weight * variance + sc ** 2), scatter: sc }
}
