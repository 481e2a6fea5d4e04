/** What people say of a splice: one tap where one is enough, a form for the rest, and everything that was said before. */
import { useState } from 'preact/hooks'
import type { SpliceView } from '../../edge/api/messages.ts'
import { EARLY_REASONS, RESTS, type SpliceEntry, type StandingEntry } from '../../edge/splice-review.ts'
import { useCommands } from '../frame/commands.tsx'
import { say } from '../messages.ts'
import { dateAndTime, zoneName } from '../times.ts'
import { formatLength, formatQuantity } from '../units.ts'
import { isAborted, isEarlyUnsaid } from './early.ts'
import { EntryForm } from './entry-form.tsx'
import { TakeBack } from './take-back.tsx'

interface EarlyProps {
  splice: SpliceView
  /** At the top, where it asks: only what was open when the page came; below, what had been said by then. */
  asks: boolean
}

/** An early splice is "not yet said" until somebody says it: asked for at the top, so that a tap suffices. */
export const Early = ({ splice, asks }: EarlyProps) => {
  const { addEntry } = useCommands()
  const { review, left_on_roll } = splice
  // What is answered stays where the hand is.
  const [wasOpen] = useState(() => isEarlyUnsaid(splice))
  if (!splice.flags.split(';').includes('early') || wasOpen !== asks) return null
  return (
    <div class="taps no-print" data-part="early">
      <fieldset>
        <legend>{say(isAborted(splice) ? 'early.why.aborted' : 'early.why')}</legend>
        {EARLY_REASONS.map((reason) => (
          <button
            key={reason}
            type="button"
            aria-pressed={review?.early_reason === reason}
            onClick={() => void addEntry(splice.id, { early_reason: reason })}
          >
            {say(`early.${reason}`)}
          </button>
        ))}
      </fieldset>
      {!isAborted(splice) && (
        <fieldset>
          <legend>
            {left_on_roll === null ? say('rest.what') : say('rest.what.of', { length: formatLength(left_on_roll) })}
          </legend>
          {RESTS.map((rest) => (
            <button
              key={rest}
              type="button"
              aria-pressed={review?.rest === rest}
              onClick={() => void addEntry(splice.id, { rest })}
            >
              {say(`rest.${rest}`)}
            </button>
          ))}
        </fieldset>
      )}
    </div>
  )
}

const GoodProduct = ({ splice }: { splice: SpliceView }) => {
  const { addEntry } = useCommands()
  if (splice.review?.good_product != null || splice.outcome === null) return null
  return (
    <div class="taps no-print">
      <button type="button" onClick={() => void addEntry(splice.id, { good_product: true })}>
        {say('people.good_product')}
      </button>
    </div>
  )
}

/** One entry as sentences, in the order in which a person would say it. */
export const inWords = (entry: SpliceEntry): string[] => {
  const { outcome, cause, thing, done, note, good_product, early_reason, rest, amounts, gap } = entry
  const verdict =
    outcome === null
      ? []
      : [cause === null ? say(`outcome.${outcome}`) : `${say(`outcome.${outcome}`)}: ${say(`cause.${cause}`)}`]
  return [
    ...(entry.by_hand ? [say('people.by_hand')] : []),
    ...verdict,
    ...(thing === null ? [] : [say(`thing.${thing}`)]),
    ...(done.length === 0 ? [] : [say('people.done', { done: done.map((one) => say(`done.${one}`)).join(', ') })]),
    ...(early_reason === null ? [] : [say('people.early', { reason: say(`early.${early_reason}`) })]),
    ...(rest === null ? [] : [say('people.rest', { rest: say(`rest.${rest}`) })]),
    ...amounts.map(({ part, metres }) =>
      say('people.amount', { part: say(`waste.${part}`), length: formatQuantity(metres, 'length', 1) }),
    ),
    ...(gap === null ? [] : [say('people.gap', { gap: formatQuantity(gap, 'diameter', 2) })]),
    ...(good_product === null ? [] : [say('people.good_product.said')]),
    ...(note === null ? [] : [note]),
  ]
}

const whoAndWhen = ({ person, time }: { person: string; time: string }, zone: string) => {
  const tMs = Date.parse(time)
  return { person, time: `${dateAndTime(tMs, zone)} ${zoneName(tMs, zone)}` }
}

const Entry = ({ entry, splice, zone }: { entry: StandingEntry; splice: SpliceView; zone: string }) => {
  const { taken_back } = entry
  const { person, time } = whoAndWhen(entry, zone)
  const Sentence = taken_back === null ? 'span' : 'del'
  return (
    <li data-taken-back={taken_back !== null}>
      <p class="soft">
        {person}, {time}
      </p>
      {inWords(entry).map((sentence) => (
        <p key={sentence}>
          <Sentence>{sentence}</Sentence>
        </p>
      ))}
      {taken_back === null ? (
        <TakeBack entry={entry} splice={splice.id} />
      ) : (
        <p class="soft">{say('people.taken_back', whoAndWhen(taken_back, zone))}</p>
      )}
    </li>
  )
}

export const People = ({ splice, zone }: { splice: SpliceView; zone: string }) => {
  const entries = splice.review?.entries ?? []
  return (
    <section class="splice-people" aria-labelledby="people">
      <h2 id="people">{say('people.title')}</h2>
      {entries.length === 0 ? (
        <p class="soft">{say('people.nothing')}</p>
      ) : (
        <ol class="plain entries">
          {entries
            .filter(({ takes_back }) => takes_back === null)
            .map((entry) => (
              <Entry key={entry.time} entry={entry} splice={splice} zone={zone} />
            ))}
        </ol>
      )}
      <Early splice={splice} asks={false} />
      <GoodProduct splice={splice} />
      <EntryForm key={entries.length} splice={splice} />
    </section>
  )
}
