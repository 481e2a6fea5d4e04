/** One splice in a sentence, and its remarks in words. */
import type { SpliceView } from '../../edge/api/messages.ts'
import { isTakenBack, verdictOf } from '../../edge/splice-review.ts'
import { say, sayName } from '../messages.ts'

export const flagsInWords = (flags: string): string =>
  flags
    .split(';')
    .filter((flag) => flag !== '')
    .map((flag) => sayName('flag', flag))
    .join(', ')

/** By a person's word, else by the machine's. */
export const causeInWords = (splice: Pick<SpliceView, 'cause' | 'outcome' | 'review'>): string => {
  const { cause } = verdictOf(splice)
  return cause === null ? '' : sayName('cause', cause)
}

/** What the monitor said, where a person says otherwise; else undefined. */
export const machineVerdict = ({ outcome, cause, review }: SpliceView): string | undefined => {
  const isOverruled = review !== null && review.outcome !== null && !review.by_hand
  if (!isOverruled || (review.outcome === outcome && review.cause === cause)) return undefined
  const word = say(`outcome.${outcome ?? 'open'}`)
  return cause === null ? word : `${word}, ${sayName('cause', cause)}`
}

/** `unwind` is the machine's name, `time` the start as text. */
export const sentenceFor = (splice: SpliceView, unwind: string, time: string): string => {
  const { outcome } = verdictOf(splice)
  const cause = causeInWords(splice) || say('cause.unknown')
  const flags = flagsInWords(splice.flags)
  const remarks = flags === '' ? '' : ` ${say('splice.sentence.flags', { flags })}`
  if (outcome === null) {
    if (isTakenBack(splice)) return say('splice.sentence.taken_back', { unwind, time })
    return say(splice.closed ? 'splice.sentence.cut_short' : 'splice.sentence.open', { unwind, time }) + remarks
  }
  const machine = machineVerdict(splice)
  if (machine !== undefined) {
    // Whose word it is stands first: what the signals showed is another thing.
    const word = say(`outcome.${outcome}`)
    const verdict = outcome === 'good' || causeInWords(splice) === '' ? word : `${word}, ${cause}`
    return say('splice.sentence.said', { unwind, time, verdict, machine }) + remarks
  }
  if (outcome === 'good' && splice.review?.by_hand === true) return say('splice.sentence.by_hand', { unwind, time })
  if (outcome === 'good')
    return (
      say(splice.buffer_low === null ? 'splice.sentence.good_plain' : 'splice.sentence.good', { unwind, time }) +
      remarks
    )
  return say(`splice.sentence.${outcome}`, { unwind, time, cause }) + remarks
}
