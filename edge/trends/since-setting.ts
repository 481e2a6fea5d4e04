/**
 * Is a shift the work of a setting? A step that begins at the very splice after a setting changed is no wear: it is what the
 * setting did. Pure.
 *
 * Deviations are in standard deviations of one splice. The shift has to be large (one of them) and sure (four of its own
 * standard errors) by the splices since the change alone, there from the first of them, and not under way before. A slow
 * drift is none of this, so a setting that happened to change beforehand does not hide it. The limits are our own choice.
 */

/** A change farther back explains nothing: the charts' memory. */
const MOST_SPLICES = 50
const LEAST_SHIFT = 1
const LEAST_ERRORS = 4
/** The first splices after the change have to show this share of the shift already. */
const FIRST = 3
const FIRST_SHARE = 0.5
/** Of the limit for a step: with more than this before the change it was under way already. */
const UNDER_WAY = 0.5

/** Plain data. */
export interface SinceSetting {
  /** What was set, when the last of it was; several between two splices are told together. */
  signals: string[]
  tMs: number
  splices: number
  sum: number
  firstSum: number
  /** How far the splices since were from the usual, as charted. */
  offSum: number
  /** How near to the call of a step the chart was, as a share of its limit. */
  before: { up: number; down: number }
}

export function settingChanged(
  known: SinceSetting | null,
  signal: string,
  tMs: number,
  before: SinceSetting['before'],
): SinceSetting {
  const signals = known !== null && known.splices === 0 ? known.signals.filter((one) => one !== signal) : []
  return { signals: [...signals, signal], tMs, splices: 0, sum: 0, firstSum: 0, offSum: 0, before }
}

/** One more splice. @param off - as charted. @returns null once the change lies too far back. */
export function countSplice(
  since: SinceSetting | null,
  deviation: number,
  off: number,
  tMs: number,
): SinceSetting | null {
  if (since === null || tMs < since.tMs) return since
  if (since.splices >= MOST_SPLICES) return null
  const firstSum = since.firstSum + (since.splices < FIRST ? deviation : 0)
  const [sum, offSum] = [since.sum + deviation, since.offSum + off]
  return { ...since, splices: since.splices + 1, sum, offSum, firstSum }
}

/** @param way - in which the metric went. */
export function isBySetting(since: SinceSetting | null, way: 'up' | 'down'): boolean {
  if (since === null || since.splices === 0 || since.before[way] > UNDER_WAY) return false
  const sign = way === 'up' ? 1 : -1
  const mean = (sign * since.sum) / since.splices
  const first = (sign * since.firstSum) / Math.min(FIRST, since.splices)
  return mean >= LEAST_SHIFT && mean * Math.sqrt(since.splices) >= LEAST_ERRORS && first >= FIRST_SHARE * mean
}
