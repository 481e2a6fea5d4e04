/**
 * Readings that depart from the forecast, and whether they behave like a roll. Pure, O(1).
 *
 * A roll of diameter D loses 2·t/(π·D) of it per metre of web (from A = πD²/4 and dA = −t·ds). Readings that fall so are
 * another roll, or the same one by a better start; an arm in the beam or a remounted sensor's echo falls otherwise.
 */
export interface Deviation {
  sinceTMs: number
  /** The departure may have begun here: the last report before a time in which nothing was seen, ms. */
  fromTMs: number
  /** Mean of the newest deviating readings, m. */
  meanM: number
  /** Reading less forecast, m. */
  byM: number
  count: number
  /** Reports that differ from the one before. */
  distinct: number
  lastM: number
  /** Least squares of the reading against web taken, both from the first deviating report on, m. */
  originWebM: number
  originM: number
  sumW: number
  sumD: number
  sumWW: number
  sumWD: number
  sumDD: number
}

/** Readings that the mean looks back over. */
const MEAN_OVER = 10
/** Without a report for longer than this a departure may have begun unseen, ms. */
const HOLE_MS = 1000
/** The fall may differ from a roll's by so many standard errors and this share: the caliper is not known better. */
const SLOPE_SDS = 3
const SLOPE_SHARE = 0.3
/** Fewer reports say nothing of a slope. */
const SLOPE_READINGS = 5

/** @param lastSeenTMs - when the reading last changed or was reported before, ms. */
export function deviate(
  before: Deviation | undefined,
  readingM: number,
  byM: number,
  tMs: number,
  webM: number,
  lastSeenTMs: number,
): Deviation {
  if (before === undefined || Math.sign(before.byM) !== Math.sign(byM)) {
    return {
      sinceTMs: tMs,
      fromTMs: tMs - lastSeenTMs > HOLE_MS ? lastSeenTMs : tMs,
      meanM: readingM,
      byM,
      count: 1,
      distinct: 1,
      lastM: readingM,
      originWebM: webM,
      originM: readingM,
      sumW: 0,
      sumD: 0,
      sumWW: 0,
      sumWD: 0,
      sumDD: 0,
    }
  }
  const w = webM - before.originWebM
  const d = readingM - before.originM
  return {
    ...before,
    meanM: before.meanM + (readingM - before.meanM) / Math.min(before.count + 1, MEAN_OVER),
    byM,
    count: before.count + 1,
    distinct: before.distinct + (readingM === before.lastM ? 0 : 1),
    lastM: readingM,
    sumW: before.sumW + w,
    sumD: before.sumD + d,
    sumWW: before.sumWW + w * w,
    sumWD: before.sumWD + w * d,
    sumDD: before.sumDD + d * d,
  }
}

/** Whether the deviating readings fall as a roll of their size would. */
export function likeness(deviation: Deviation, caliperM: number): 'roll' | 'no_roll' | 'unclear' {
  const { count: n, distinct, sumW, sumD, sumWW, sumWD, sumDD, meanM, lastM, originM } = deviation
  const sxx = sumWW - (sumW * sumW) / n
  if (n < SLOPE_READINGS || sxx <= 0 || meanM <= 0) return 'unclear'
  const sxy = sumWD - (sumW * sumD) / n
  const slope = sxy / sxx
  const residual = Math.max(0, sumDD - (sumD * sumD) / n - slope * sxy) / (n - 2)
  // Of values that are held only the distinct ones count; that of a sensor which says one value, the step it may be off by.
  const se = Math.sqrt((residual / sxx) * (n / distinct))
  const expected = (-2 * caliperM) / (Math.PI * meanM)
  if (distinct === 1)
    return Math.abs(expected) * Math.sqrt(sxx / n) > Math.abs(lastM - originM) + STILL_M ? 'no_roll' : 'unclear'
  if (Math.abs(expected) < SLOPE_SDS * se) return 'unclear'
  return Math.abs(slope - expected) <= SLOPE_SDS * se + SLOPE_SHARE * Math.abs(expected) ? 'roll' : 'no_roll'
}

/** A reading that stands still for this much of what a roll would have lost is none, m: coarser than any sensor's step. */
const STILL_M = 2e-3
