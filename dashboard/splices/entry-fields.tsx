/** The fields of what a person says, for a splice that is there and for one that no signal saw. */
import { CAUSES, OUTCOMES, type Outcome } from '../../edge/columns.ts'
import { DONE, THINGS, WASTE_PARTS } from '../../edge/splice-review.ts'
import { type MessageKey, say } from '../messages.ts'
import { fromShown, unitOf } from '../units.ts'

interface ChoiceProps {
  name: string
  label: string
  none: string
  values: readonly string[]
  words: (value: string) => string
  isRequired?: boolean
}

const Choice = ({ name, label, none, values, words, isRequired = false }: ChoiceProps) => (
  <label>
    {label}
    <select name={name} required={isRequired}>
      <option value="">{none}</option>
      {values.map((value) => (
        <option key={value} value={value}>
          {words(value)}
        </option>
      ))}
    </select>
  </label>
)

/** A cause on a good splice, or a thing that caused it, is told at its field, before anything is sent. @param standing - the verdict so far. */
const checkCause = (form: HTMLFormElement | null, standing: Outcome | null): void => {
  const chosen = (name: string) => form?.querySelector<HTMLSelectElement>(`select[name="${name}"]`)
  const isGood = (chosen('outcome')?.value || standing) === 'good'
  for (const field of [chosen('cause'), chosen('thing')]) {
    field?.setCustomValidity(isGood && field.value !== '' ? say('entry.cause_of_good') : '')
  }
}

interface EntryFieldsProps {
  isByHand?: boolean
  /** The verdict so far; null where there is none. */
  standing?: Outcome | null
}

export const EntryFields = ({ isByHand = false, standing = null }: EntryFieldsProps) => (
  <>
    <div class="field-row" onChange={(event) => checkCause(event.currentTarget.closest('form'), standing)}>
      <Choice
        name="outcome"
        label={say('entry.outcome')}
        none={say(isByHand ? 'entry.choose' : 'entry.as_is')}
        values={OUTCOMES}
        words={(value) => say(`outcome.${value}` as MessageKey)}
        isRequired={isByHand}
      />
      <Choice
        name="cause"
        label={say('entry.cause')}
        none={say(isByHand ? 'entry.none' : 'entry.as_is')}
        values={CAUSES}
        words={(value) => say(`cause.${value}` as MessageKey)}
      />
      <Choice
        name="thing"
        label={say('entry.thing')}
        none={say('entry.none')}
        values={THINGS}
        words={(value) => say(`thing.${value}` as MessageKey)}
      />
    </div>
    <label>
      {say('entry.note')}
      <textarea name="note" rows={3} maxLength={2000} aria-describedby="note-hint" />
    </label>
    <p id="note-hint" class="soft">
      {say('entry.note.hint')}
    </p>
    <details>
      <summary>{say('entry.more')}</summary>
      <fieldset class="checks">
        <legend>{say('entry.done')}</legend>
        {DONE.map((done) => (
          <label key={done}>
            <input type="checkbox" name="done" value={done} />
            {say(`done.${done}`)}
          </label>
        ))}
        <p class="soft">{say('entry.done.counts')}</p>
      </fieldset>
      <fieldset class="field-row">
        <legend>
          {say('entry.amounts')} <span class="unit">{unitOf('length')}</span>
        </legend>
        {WASTE_PARTS.map((part) => (
          <label key={part}>
            {say(`waste.${part}`)}
            <input type="number" name={`amount-${part}`} min="0" step="any" inputMode="decimal" />
          </label>
        ))}
      </fieldset>
      <label>
        {say('entry.gap', { unit: unitOf('diameter') })}
        <input type="number" name="gap" step="any" inputMode="decimal" />
      </label>
    </details>
  </>
)

/** What the form says, as the API takes it: what is left empty says nothing. */
export const saidIn = (form: HTMLFormElement): Record<string, unknown> => {
  const data = new FormData(form)
  const text = (name: string) => String(data.get(name) ?? '').trim()
  const said: Record<string, unknown> = {}
  for (const name of ['outcome', 'cause', 'thing', 'note']) if (text(name) !== '') said[name] = text(name)
  const done = data.getAll('done').map(String)
  if (done.length > 0) said['done'] = done
  if (text('gap') !== '') said['gap'] = fromShown(Number(text('gap')), 'diameter')
  const amounts = WASTE_PARTS.filter((part) => text(`amount-${part}`) !== '').map((part) => ({
    part,
    metres: fromShown(Number(text(`amount-${part}`)), 'length'),
  }))
  if (amounts.length > 0) said['amounts'] = amounts
  return said
}
