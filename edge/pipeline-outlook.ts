/** What comes, for a screen that looks at a line from far off: splices behind the next one, marks, the core. SI units end here. Pure. */
import type { FlagCountdown } from './advice/flags.ts'
import type { NextSplice } from './advice/next-splices.ts'
import type { LastRoll } from './advice/unwind-advice.ts'
import type { UnwindView } from './api/messages.ts'
import type { AssessInput } from './estimators/assessment.ts'

export interface Outlook {
  nextSplices: UnwindView['next_splices']
  nextFlag: UnwindView['next_flag']
  leftToCore: UnwindView['left_to_core']
  jobEnd: UnwindView['job_end']
  /** Diameter of a full roll, m; undefined where nothing is known of one. */
  fullM: number | undefined
}

export const jobEnd = (last: LastRoll | undefined): UnwindView['job_end'] =>
  last === undefined ? null : { metres: last.metres, seconds: last.seconds ?? null }

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

/** A mark farther ahead than this needs nobody yet, s. */
const FLAG_WITHIN_S = 3600

/** @param speedMps - undefined while the line stands. */
export function nextFlag(flags: readonly FlagCountdown[], speedMps: number | undefined): UnwindView['next_flag'] {
  if (speedMps === undefined || speedMps <= 0) return null
  const metres = flags.filter((flag) => flag.metres > 0 && flag.isBeforeSplice).map((flag) => flag.metres)
  const seconds = Math.min(...metres) / speedMps
  return seconds <= FLAG_WITHIN_S ? { metres: Math.min(...metres), seconds } : null
}

/**
 * Diameter of a full roll, m: as rolls of this material usually are, where some were seen whole; else as the running one was when
 * it was loaded, by the web that it gave since (web counts from the first look on). A shorter roll than usual is drawn as one.
 * @param usualM - web from a roll's outside to its splice.
 */
export function fullDiameterM(
  usualM: number | undefined,
  { roll, webM, rollData }: Pick<AssessInput, 'roll' | 'webM' | 'rollData'>,
): number | undefined {
  const filter = roll.at(webM)
  if (filter === undefined) return undefined
  const around = (insideM: number, lengthM: number) =>
    Math.sqrt(insideM ** 2 + (4 * filter.caliperM * Math.max(0, lengthM)) / Math.PI)
  const loadedM = around(filter.diameterM, webM - (roll.begunAtWebM ?? 0))
  return Math.max(loadedM, usualM === undefined ? 0 : around(rollData.spliceDiameterM, usualM))
}

/** A splice that begins is past its diameter for a moment: only from then on is it overdue for people, ms. As the alarm has it. */
const OVERDUE_AFTER_MS = 500

/** @param overdueSinceTMs - since when the diameter has been past the splice's. */
export function leftToCore(
  overdueSinceTMs: number | undefined,
  { now, roll, webM, rollData }: Pick<AssessInput, 'now' | 'roll' | 'webM' | 'rollData'>,
): UnwindView['left_to_core'] {
  if (overdueSinceTMs === undefined || now.tMs - overdueSinceTMs < OVERDUE_AFTER_MS) return null
  const filter = roll.at(webM)
  if (filter === undefined) return null
  // The core is a diameter of its own, no reading: the sensor's offset is taken off again.
  const metres = Math.max(0, filter.remaining(rollData.coreM + filter.offsetM).metres)
  const { lineMps } = now
  return { metres, seconds: lineMps === undefined || lineMps <= 0 ? null : metres / lineMps }
}
