/** The wall's common time axis: from now to the right, in steps that don't change for every second. Seconds. */

import type { UnwindView } from '../../edge/api/messages.ts'

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
  /** That another range would do better, and since when, ms of the caller's clock. */
  waiting?: { isLonger: boolean; sinceMs: number } | undefined
}
const LONGEST = RANGES[RANGES.length - 1]!
/** Everything has to fit a shorter range with so much to spare … */
const SHRINK_BELOW = 0.85
/** … for so long, ms. What is shown goes one roll beyond the next splice, so it hardly changes while rolls run out. */
const SHRINK_AFTER_MS = 60_000
/** And so long nothing may fit any more, ms: while a line starts or stops every roll lasts for ever. */
const GROW_AFTER_MS = 20_000

/**
 * The least range that shows every splice; `current` is kept while it still suits.
 * @param ends - how far what each lane shows reaches: the next splice, or what lies between two of them where that is more, s.
 */
export const chooseAxis = (ends: readonly number[], current: TimeAxis | undefined, nowMs: number): TimeAxis => {
  const farthest = Math.max(0, ...ends)
  const least = RANGES.find((range) => range.rangeS >= farthest) ?? LONGEST
  if (current === undefined) return least
  const roomy = RANGES.find((range) => range.rangeS * SHRINK_BELOW >= farthest) ?? LONGEST
  const isLonger = least.rangeS > current.rangeS
  if (!isLonger && roomy.rangeS >= current.rangeS)
    return current.waiting === undefined ? current : { ...current, waiting: undefined }
  const { waiting } = current
  if (waiting?.isLonger !== isLonger) return { ...current, waiting: { isLonger, sinceMs: nowMs } }
  if (nowMs - waiting.sinceMs < (isLonger ? GROW_AFTER_MS : SHRINK_AFTER_MS)) return current
  return isLonger ? least : roomy
}

/** How far a lane's next splice lies, or how long its rolls last where that is more, s; 0 where nothing is counted. */
export const endOf = (view: Pick<UnwindView, 'seconds_high' | 'next_splices'>): number =>
  Math.max(view.seconds_high ?? 0, view.next_splices[0]?.after_high ?? 0)

/** The first marks lie over the word for now: none so near, as a share of the range. */
const CLEAR_OF_NOW = 0.16
const CLEAR_OF_END = 0.9

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
