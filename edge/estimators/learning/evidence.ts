/**
 * Values of one quantity from the last splices, and what to believe of the next. Pure; plain data.
 *
 * Mean and standard deviation without outliers count (statistics.ts), so that one bad splice changes little. Three splices in a row that
 * agree with each other and with none before are a changed setting: what was before is forgotten. With time what was seen
 * drifts away: its variance grows as a random walk's, until the data sheet counts again as much.
 */
import { robust } from '../statistics.ts'

export interface Seen {
  value: number
  /** Standard deviation of the measuring itself: it is no part of the scatter from one splice to the next. */
  errorSd?: number
  /** ms since 1970 UTC. */
  tMs: number
}

/** Oldest first. */
export type Evidence = Seen[]

/** Splices that count: enough to tell outliers, few enough to follow a wandering one within a shift or two. */
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
/** Farther from the middle than so many standard deviations of one splice: three in a row happen by chance once in 10⁷. */
const CHANGED_SDS = 2.5
/** A prior that so many splices contradict by so many of its own standard deviations was wrong: it knows no better than they do. */
const REFUTED_AFTER = 3
const REFUTED_SDS = 3
/** The scatter of a few values may be small by chance: no finer than this share of their middle. */
const LEAST_SCATTER_SHARE = 0.005
/** A scatter by the data sheet counts as much as one seen of so many splices. */
const SCATTER_PRIOR_WEIGHT = 4

/**
 * Adds the newest value; forgets what is too old, or what a changed setting has made void.
 * @param priorScatter - from one to the next before it was seen: few values that agree by chance make no sharper one.
 */
export function remember(evidence: Evidence, value: number, tMs: number, priorScatter = 0): void {
  rememberSeen(evidence, { value, tMs }, priorScatter)
}

function rememberSeen(evidence: Evidence, seen: Seen, priorScatter: number): void {
  if (!Number.isFinite(seen.value)) return
  evidence.push(seen)
  while (evidence.length > KEEP || evidence[0]!.tMs < seen.tMs - AGE_DAYS * DAY_MS) evidence.shift()
  if (hasChanged(evidence, priorScatter)) evidence.splice(0, evidence.length - CHANGED_AFTER)
}

function hasChanged(evidence: Evidence, priorScatter: number): boolean {
  const count = evidence.length - CHANGED_AFTER
  if (count < KNOWN_AFTER) return false
  const before = evidence.slice(0, count)
  const newest = evidence.slice(count).map(({ value }) => value)
  const { middle, sd: seenSd } = robust(before.map(({ value }) => value))!
  const priorSd = Math.hypot(priorScatter, errorSdOf(before))
  const sd = Math.max(pooled(priorSd, seenSd ?? priorSd, count), LEAST_SCATTER_SHARE * Math.abs(middle))
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
  priorScatter = 0,
): void {
  if (!Number.isFinite(seen.value)) return
  if (isPlausible) {
    doubted.length = 0
    rememberSeen(evidence, seen, priorScatter)
    return
  }
  doubted.push(seen)
  if (doubted.length > CHANGED_AFTER) doubted.shift()
  const values = doubted.map(({ value }) => value)
  if (doubted.length < CHANGED_AFTER || Math.max(...values) - Math.min(...values) > agreeWithin) return
  evidence.splice(0, evidence.length, ...doubted)
  doubted.length = 0
}

interface Summary {
  count: number
  newest: Seen
  middle: number
  sd: number | undefined
  errorSd: number
}

/** Asked for many times a second and changed by a splice: what was made of each list, while it ends as it did. */
const summaries = new WeakMap<readonly Seen[], Summary>()

function summaryOf(seen: readonly Seen[]): Summary | undefined {
  const newest = seen[seen.length - 1]
  if (newest === undefined) return undefined
  const kept = summaries.get(seen)
  if (kept !== undefined && kept.newest === newest && kept.count === seen.length) return kept
  const summary = { count: seen.length, newest, ...robust(seen.map(({ value }) => value))!, errorSd: errorSdOf(seen) }
  summaries.set(seen, summary)
  return summary
}

export interface Belief {
  mean: number
  /** Standard deviation of the next value: what is not known of the mean, and the scatter. */
  sd: number
  /** The scatter alone. */
  scatter: number
}

/** Of the measuring, by the mean variance. */
const errorSdOf = (seen: readonly Seen[]): number =>
  Math.sqrt(seen.reduce((sum, { errorSd }) => sum + (errorSd ?? 0) ** 2, 0) / Math.max(1, seen.length))

/** A scatter by the data sheet and one of `n` values. */
const pooled = (priorSd: number, sd: number, n: number): number =>
  Math.sqrt((SCATTER_PRIOR_WEIGHT * priorSd ** 2 + n * sd ** 2) / (SCATTER_PRIOR_WEIGHT + n))

/**
 * Combines a prior with the last values by their variances. What was seen scatters by the splicer's own scatter and by the
 * error of the measuring: the next value has the former only, the mean of what was seen is blurred by both.
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
  const known = summaryOf(seen)
  if (known === undefined) return { mean: priorMean, sd: Math.hypot(priorSd, priorScatter), scatter: priorScatter }
  const { middle, sd: seenSd, errorSd } = known
  const ownSd = seenSd === undefined ? priorScatter : Math.sqrt(Math.max(0, seenSd ** 2 - errorSd ** 2))
  // Of a scatter that drowns in the measuring's error as many values say as little as fewer without it.
  const drowned = errorSd > 0 ? (priorScatter ** 2 / (priorScatter ** 2 + errorSd ** 2)) ** 2 : 1
  const sc = pooled(priorScatter, ownSd, drowned * n)
  const ageDays = nowMs === undefined ? 0 : Math.max(0, nowMs - seen[n - 1]!.tMs) / DAY_MS
  const off = Math.abs(middle - priorMean)
  const priorVariance = n >= REFUTED_AFTER && off > REFUTED_SDS * priorSd ? off ** 2 : priorSd ** 2
  const variance = (sc ** 2 + errorSd ** 2) / n + priorVariance * (ageDays / AGE_DAYS)
  const weight = priorVariance / (priorVariance + variance)
  const mean = priorMean + (middle - priorMean) * weight
  return { mean, sd: Math.sqrt(weight * variance + sc ** 2), scatter: sc }
}
