/** The wall's common time axis: from now to the right, in steps that don't change for every second. Seconds. */

/** Ranges of the axis, and the distance of its marks. */
const RANGES: readonly { rangeS: number; markS: number }[] = [
  { rangeS: 120, markS: 30 },
  { rangeS: 300, markS: 60 },
  { rangeS: 600, markS: 120 },
  { rangeS: 1200, markS: 300 },
  { rangeS: 2400, markS: 600 },
  { rangeS: 3600, markS: 600 },
  { rangeS: 7200, markS: 1800 },
]
export interface TimeAxis {
  rangeS: number
  markS: number
}
const LONGEST = RANGES[RANGES.length - 1]!
/** A longer range gives way to a shorter one only when everything fits with so much to spare: no flapping. */
const SHRINK_BELOW = 0.85

/** The least range that shows every splice; `current` is kept while it still suits. */
export const chooseAxis = (ends: readonly number[], current?: TimeAxis): TimeAxis => {
  const farthest = Math.max(0, ...ends)
  const least = RANGES.find((range) => range.rangeS >= farthest) ?? LONGEST
  if (current === undefined || least.rangeS >= current.rangeS) return least
  return farthest <= least.rangeS * SHRINK_BELOW ? least : current
}

/** The first marks lie over the word for now: none so near, as a share of the range. */
const CLEAR_OF_NOW = 0.16
const CLEAR_OF_END = 0.95

/** Round times of day within the axis. Zones differ from UTC by whole quarters of an hour, so most marks are round in each. */
export const clockMarks = (axis: TimeAxis, nowTMs: number): { atTMs: number; seconds: number }[] => {
  const marks: { atTMs: number; seconds: number }[] = []
  const stepMs = axis.markS * 1000
  for (let atTMs = Math.ceil(nowTMs / stepMs) * stepMs; atTMs < nowTMs + axis.rangeS * 1000; atTMs += stepMs) {
    const seconds = (atTMs - nowTMs) / 1000
    if (seconds > axis.rangeS * CLEAR_OF_NOW && seconds < axis.rangeS * CLEAR_OF_END) marks.push({ atTMs, seconds })
  }
  return marks
}
