/** The roll that waits: scanned (a barcode scanner types like a keyboard) or typed; a wrong one is said at once. */
import { useState } from 'preact/hooks'
import type { UnwindView } from '../../edge/api/messages.ts'
import type { EnteredRollView, EntriesView } from '../../edge/api/messages-entries.ts'
import type { RollCheck } from '../../edge/entries.ts'
import { inWords } from '../daemon-words.ts'
import { useCommands } from '../frame/commands.tsx'
import { Icon } from '../frame/icons.tsx'
import { say } from '../messages.ts'
import { minutesWithZone } from '../times.ts'
import { formatDiameter, formatLength, formatWidth } from '../units.ts'
import { textIn } from './fields.ts'
import { TypedRoll } from './typed-roll.tsx'

const Faults = ({ faults }: { faults: EntriesView['faults'] }) =>
  faults.length === 0 ? null : (
    <ul class="roll-faults" role="alert">
      {faults.map((fault) => (
        <li key={fault.kind}>
          <Icon name="high" />
          {inWords(fault)}
        </li>
      ))}
    </ul>
  )

/** What the job asks for and this label leaves open: a roll that nobody compared is not the right one yet. */
const Unchecked = ({ unchecked, job }: Pick<EntriesView, 'unchecked' | 'job'>) => {
  if (unchecked.length === 0) return null
  const needed: Record<RollCheck, string> = {
    material: job.material ?? '',
    width: formatWidth(job.width),
    winding: job.winding === null ? '' : say(`winding.${job.winding}`),
  }
  return (
    <ul class="roll-unchecked" role="alert" data-part="unchecked">
      {unchecked.map((kind) => (
        <li key={kind}>
          <Icon name="medium" />
          {say(`waiting.unchecked.${kind}`, { needed: needed[kind] })}
        </li>
      ))}
    </ul>
  )
}

/** The answer to a right roll: in what it was compared with the job. Nothing is said of one that was not compared in all. */
const Fits = ({ waiting, faults, unchecked, job }: EntriesView) => {
  if (waiting === null || faults.length > 0 || unchecked.length > 0) return null
  // A width that only the material's other rolls have was not compared.
  if (job.width !== null && waiting.width === null) return null
  const checked = (['material', 'width', 'winding'] as const).filter((kind) => job[kind] !== null)
  return checked.length === 0 ? null : (
    <p class="fact" role="status" data-part="fits">
      <Icon name="tick" />
      {say('waiting.fits', { checked: checked.map((kind) => say(`waiting.fits.${kind}`)).join(', ') })}
    </p>
  )
}

const Known = ({ roll, zone }: { roll: EnteredRollView; zone: string }) => {
  const parts = [
    roll.roll_id !== null && say('roll.id', { id: roll.roll_id }),
    roll.material !== null && say('roll.material', { material: roll.material }),
    roll.diameter !== null && `⌀ ${formatDiameter(roll.diameter)}`,
    roll.length !== null && formatLength(roll.length),
    roll.width !== null && say('roll.width', { width: formatWidth(roll.width) }),
    roll.winding !== null && say(`winding.${roll.winding}`),
    roll.hold && say('roll.hold'),
  ].filter((part) => part !== false)
  const tMs = Date.parse(roll.entered)
  return (
    <p class="roll-known" data-part="waiting-roll">
      <strong>{parts.join(' · ')}</strong>
      <span class="question">{say('entry.by', { person: roll.person, time: minutesWithZone(tMs, zone) })}</span>
    </p>
  )
}

export interface WaitingRollProps {
  view: UnwindView
  entries: EntriesView | undefined
  onEntered: () => void
}

export const WaitingRoll = ({ view, entries, onEntered }: WaitingRollProps) => {
  const { send, zone } = useCommands()
  const [answer, setAnswer] = useState<EntriesView>()
  const path = `api/unwinds/${encodeURIComponent(view.unwind)}/waiting-roll`
  /** What was scanned and is no label, with the daemon's question. */
  const [asked, setAsked] = useState<{ body: object; question: string }>()
  const enter = async (form: HTMLFormElement | undefined, body: object): Promise<void> => {
    setAsked(undefined)
    const said = await send<EntriesView>(path, body, ({ code, message }) => {
      if (code !== 'no_label') return false
      setAsked({ body, question: message })
      // The next scan must not be typed behind this one.
      const scan = form?.elements.namedItem('scan')
      if (scan instanceof HTMLInputElement) scan.value = ''
      return true
    })
    if (said === undefined) return
    setAnswer(said)
    form?.reset()
    onEntered()
  }
  const scanned = (event: SubmitEvent): void => {
    event.preventDefault()
    const form = event.currentTarget as HTMLFormElement
    const scan = textIn(new FormData(form), 'scan')
    // A second Enter with nothing before it is no label, and must not take back what is known.
    if (scan !== undefined) void enter(form, { scan })
  }
  // What was answered just now is newer than what was read some seconds ago.
  const newest = answer !== undefined && answer.time > (entries?.time ?? '') ? answer : entries
  const { waiting, faults = [] } = newest ?? { waiting: null }
  return (
    <section aria-labelledby="waiting-roll">
      <h2 id="waiting-roll">{say('waiting.title')}</h2>
      <Faults faults={faults} />
      {newest !== undefined && <Unchecked unchecked={newest.unchecked} job={newest.job} />}
      {waiting === null ? (
        <p class="question">
          {view.waiting_roll === null
            ? say('waiting.none')
            : say('waiting.by_tag', {
                roll: [view.waiting_roll.roll_id, view.waiting_roll.material].filter(Boolean).join(' · '),
              })}
        </p>
      ) : (
        <Known roll={waiting} zone={zone} />
      )}
      {newest !== undefined && <Fits {...newest} />}
      <form class="entry" onSubmit={scanned}>
        <label class="entry-wide">
          {say('waiting.scan')}
          <input
            name="scan"
            maxLength={300}
            autocomplete="off"
            spellcheck={false}
            placeholder={say('waiting.scan.hint')}
          />
        </label>
        <button type="submit">{say('entry.enter')}</button>
      </form>
      <details class="entry-typed">
        <summary>{say('waiting.type')}</summary>
        {/* Of another roll, or of this one anew: what was left in the fields is not true of it. */}
        <TypedRoll
          key={waiting?.entered ?? ''}
          roll={waiting}
          materials={newest?.materials ?? []}
          onEnter={(body) => void enter(undefined, body)}
        />
      </details>
      {asked !== undefined && (
        <div class="ask-back" role="alert">
          <span>{asked.question}</span>
          <button type="button" onClick={() => void enter(undefined, { ...asked.body, as_roll_id: true })}>
            {say('waiting.take_number')}
          </button>
          <button type="button" onClick={() => setAsked(undefined)}>
            {say('waiting.no_number')}
          </button>
        </div>
      )}
      {waiting !== null && (
        <button type="button" onClick={() => void enter(undefined, {})}>
          {say('waiting.clear')}
        </button>
      )}
    </section>
  )
}
