/** Notes for whoever comes next: written here, kept until somebody closes them. */
import type { HandoverView } from '../../edge/api/messages-handover.ts'
import { useCommands } from '../frame/commands.tsx'
import { say } from '../messages.ts'
import { dateMinutesZone } from '../times.ts'
import { UnwindOptions } from '../unwind-options.tsx'

export interface NotesProps extends Pick<HandoverView, 'notes' | 'unwinds'> {
  nameOf: (unwind: string) => string
  zone: string
  onEntered: () => void
}

export const Notes = ({ notes, unwinds, nameOf, zone, onEntered }: NotesProps) => {
  const { send } = useCommands()
  return (
    <section aria-labelledby="notes">
      <h2 id="notes">{say('handover.notes')}</h2>
      {notes.length === 0 && <p class="question">{say('handover.notes.none')}</p>}
      <ul class="lines">
        {notes.map(({ id, unwind, note, person, time }) => (
          <li key={id} class="note">
            <span>
              <strong>{nameOf(unwind)}:</strong> {note}{' '}
              <span class="question">
                {say('entry.by', {
                  person: person ?? '',
                  time: dateMinutesZone(Date.parse(time), zone),
                })}
              </span>
            </span>
            <button
              type="button"
              class="no-print"
              onClick={() => void send('api/handover/notes/close', { id }).then(onEntered)}
            >
              {say('handover.notes.close')}
            </button>
          </li>
        ))}
      </ul>
      <form
        class="handover-form no-print"
        onSubmit={(event) => {
          event.preventDefault()
          const form = event.currentTarget
          const fields = new FormData(form)
          const unwind = String(fields.get('unwind') ?? '')
          const body = { note: String(fields.get('note') ?? ''), ...(unwind === '' ? {} : { unwind }) }
          void send('api/handover/notes', body).then((said) => {
            if (said === undefined) return
            form.reset()
            onEntered()
          })
        }}
      >
        <label>
          {say('handover.notes.new')}
          <input name="note" required maxLength={1000} autocomplete="off" />
        </label>
        <label>
          {say('handover.notes.about')}
          <select name="unwind">
            <option value="">{say('alarms.site')}</option>
            <UnwindOptions unwinds={unwinds} />
          </select>
        </label>
        <button type="submit">{say('handover.notes.add')}</button>
      </form>
    </section>
  )
}
