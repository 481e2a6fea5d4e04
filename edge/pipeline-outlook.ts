/** The splices behind the next one, for a screen that looks at a line from far off. SI units end here. Pure. */
import type { NextSplice } from './advice/next-splices.ts'
import type { UnwindView } from './api/messages.ts'

/** As far as a time axis that people read from afar goes, s, and as many joints as they tell apart on it. */
const FARTHEST_S = 2 * 3600
const MOST_SPLICES = 4

/** @param splices - the next one first; empty where nothing is known of it. */
export function splicesBehind(splices: readonly NextSplice[]): UnwindView['next_splices'] {
  const fromS = splices[0]?.seconds
  if (fromS === undefined) return []
  return splices
    .slice(1, 1 + MOST_SPLICES)
    .flatMap(({ seconds, secondsLow, secondsHigh }) =>
      seconds === undefined || secondsLow === undefined || secondsHigh === undefined || seconds > FARTHEST_S
        ? []
        : [{ after: seconds - fromS, after_low: secondsLow - fromS, after_high: secondsHigh - fromS }],
    )
}
