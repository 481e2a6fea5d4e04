/** Who takes over: entered, kept, shown; on paper a line to sign. */
import type { HandoverView } from '../../edge/api/messages-handover.ts'
import { useCommands } from '../frame/commands.tsx'
import { Icon } from '../frame/icons.tsx'
import { useSession } from '../frame/session.tsx'
import { say } from '../messages.ts'
import { dateMinutesZone } from '../times.ts'

export interface TakenOverProps {
  last: HandoverView['taken_over']
  zone: string
  onEntered: () => void
}

export const TakenOver = ({ last, zone, onEntered }: TakenOverProps) => {
  const { send } = useCommands()
  const person = useSession().session?.person ?? null
  return (
    <section aria-labelledby="taken-over" class="taken-over">
      <h2 id="taken-over">{say('handover.taken')}</h2>
      {last === null ? (
        <p class="question">{say('handover.taken.nobody')}</p>
      ) : (
        <p data-part="taken-over">
          <Icon name="tick" />{' '}
          {say(last.from === null ? 'handover.taken.last' : 'handover.taken.last_by', {
            person: last.person ?? '',
            time: dateMinutesZone(Date.parse(last.time), zone),
            signed_in: last.from ?? '',
          })}
          {last.note !== '' && <q>{last.note}</q>}
        </p>
      )}
      <form
        class="handover-form gloves no-print"
        onSubmit={(event) => {
          event.preventDefault()
          const form = event.currentTarget
          const fields = new FormData(form)
          const body = { by: String(fields.get('by') ?? ''), note: String(fields.get('note') ?? '') }
          void send('api/handover/taken-over', body).then((said) => {
            if (said === undefined) return
            form.reset()
            onEntered()
          })
        }}
      >
        <label>
          {say('handover.taken.by')}
          <input
            name="by"
            required
            maxLength={64}
            autocomplete="off"
            aria-describedby={person === null ? undefined : 'taken-other'}
          />
        </label>
        <label>
          {say('handover.taken.note')}
          <input name="note" maxLength={1000} autocomplete="off" />
        </label>
        <button type="submit">{say('handover.taken.go')}</button>
      </form>
      {person !== null && (
        <p id="taken-other" class="question no-print">
          {say('handover.taken.other', { person })}
        </p>
      )}
      <div class="print-only sign-lines">
        <p class="sign-line">{say('handover.given.sign')}</p>
        <p class="sign-line">{say('handover.taken.sign')}</p>
      </div>
    </section>
  )
}
