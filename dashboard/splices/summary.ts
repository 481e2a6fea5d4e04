/** One splice in a sentence, and its remarks in words. */
import type { SpliceView } from '../../edge/api/messages.ts'
import { say, sayName } from '../messages.ts'

export const flagsInWords = (flags: string): string =>
  flags
    .split(';')
    .filter((flag) => flag !== '')
    .map((flag) => sayName('flag', flag))
    .join(', ')

export const causeInWords = (splice: Pick<SpliceView, 'cause' | 'outcome'>): string =>
  splice.cause === null ? '' : sayName('cause', splice.cause)

/** `unwind` is the machine's name, `time` the start as text. */
export const sentenceFor = (splice: SpliceView, unwind: string, time: string): string => {
  const cause = splice.cause === null ? say('cause.unknown') : causeInWords(splice)
  const flags = flagsInWords(splice.flags)
  const remarks = flags === '' ? '' : ` ${say('splice.sentence.flags', { flags })}`
  if (splice.outcome === null) return say('splice.sentence.open', { unwind, time }) + remarks
  if (splice.outcome === 'good')
    return (
      say(splice.buffer_low === null ? 'splice.sentence.good_plain' : 'splice.sentence.good', { unwind, time }) +
      remarks
    )
  return say(`splice.sentence.${splice.outcome}`, { unwind, time, cause }) + remarks
}
