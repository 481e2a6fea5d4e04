/** The wall's common time axis: from now to the right, in steps that don't change for every second. Seconds. */

/** Ranges of the axis, and the distance of its marks: few, for at each change every joint on the wall jumps. */
const RANGES: readonly Pick<TimeAxis, 'rangeS' | 'markS'>[] = [
  { rangeS: 600, markS: 120 },
  { rangeS: 1800, markS: 300 },
  { rangeS: 3600, markS: 600 },
  { rangeS: 7200, markS: 1800 },
]
export interface TimeAxis {
  rangeS: number
  markS: number
  /** Since when a shorter range would do, ms of the caller's clock; undefined while it would not. */
  roomySinceMs?: number | undefined
}
const LONGEST = RANGES[RANGES.length - 1]!
/** Everything has to fit a shorter range with so much to spare … */
const SHRINK_BELOW = 0.85
/** … for so long, ms: a roll that was just spliced brings the longer range back at once, and most last no longer than this. */
const SHRINK_AFTER_MS = 20 * 60_000

/** The least range that shows every splice; `current` is kept while it still suits. */
export const chooseAxis = (ends: readonly number[], current: TimeAxis | undefined, nowMs: number): TimeAxis => {
  const farthest = Math.max(0, ...ends)
  const least = RANGES.find((range) => range.rangeS >= farthest) ?? LONGEST
  if (current === undefined || least.rangeS > current.rangeS) return least
  if (least.rangeS === current.rangeS || farthest > least.rangeS * SHRINK_BELOW)
    return current.roomySinceMs === undefined ? current : { ...current, roomySinceMs: undefined }
  const roomySinceMs = current.roomySinceMs ?? nowMs
  if (nowMs - roomySinceMs >= SHRINK_AFTER_MS) return least
  return current.roomySinceMs === undefined ? { ...current, roomySinceMs } : current
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
