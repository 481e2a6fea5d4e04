/** Enters a splice that no signal saw. */
import { useRef } from 'preact/hooks'
import { useCommands } from '../frame/commands.tsx'
import { say } from '../messages.ts'
import { fromLocalField, toLocalField, zoneOfYear } from '../times.ts'
import { UnwindOptions } from '../unwind-options.tsx'
import { EntryFields, saidIn } from './entry-fields.tsx'

export interface ByHandFormProps {
  unwinds: readonly { unwind: string; name: string }[]
  zone: string
}

export const ByHandForm = ({ unwinds, zone }: ByHandFormProps) => {
  const { addSplice } = useCommands()
  const box = useRef<HTMLDetailsElement>(null)
  return (
    <details class="by-hand" ref={box}>
      <summary>{say('by_hand.title')}</summary>
      <form
        class="entry"
        onSubmit={(event) => {
          event.preventDefault()
          const form = event.currentTarget
          const data = new FormData(form)
          const started = fromLocalField(String(data.get('started')), zone)
          if (started === undefined) return
          const said = { ...saidIn(form), unwind: String(data.get('unwind')), started: new Date(started).toISOString() }
          void addSplice(said).then((isTaken) => {
            if (!isTaken) return
            form.reset()
            if (box.current !== null) box.current.open = false
          })
        }}
      >
        <div class="field-row">
          <label>
            {say('by_hand.unwind')}
            <select name="unwind" required>
              <UnwindOptions unwinds={unwinds} />
            </select>
          </label>
          <label>
            {say('by_hand.started', { zone: zoneOfYear(Date.now(), zone) })}
            <input type="datetime-local" name="started" required max={toLocalField(Date.now(), zone)} />
          </label>
        </div>
        <EntryFields isByHand />
        <button type="submit">{say('by_hand.save')}</button>
      </form>
    </details>
  )
}
