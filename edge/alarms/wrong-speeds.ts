/** A speed that is wrong as a whole: what follows from it must not become an order. Pure. */
import type { AlarmFacts } from './facts.ts'

/** No tach slips by this much: it is a unit or a mapping. */
const WRONG_AS_A_WHOLE = 0.2

export const areSpeedsWrong = ({ disagreement }: Pick<AlarmFacts, 'disagreement'>): boolean =>
  disagreement !== undefined && Math.abs(disagreement.share) > WRONG_AS_A_WHOLE

/** The text of the alarm that says so. */
export const SPEEDS_WRONG_TEXT = 'speeds_disagree.times'

/** The same of an unwind whose alarms stand. */
export const isToldSpeedsWrong = (alarms: readonly { alarm: string; words?: { key: string } | undefined }[]): boolean =>
  alarms.some(({ alarm, words }) => alarm === 'speeds_disagree' && words?.key.endsWith(SPEEDS_WRONG_TEXT) === true)
