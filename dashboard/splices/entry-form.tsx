/** Adds to a splice. The form empties itself when what was said has come back as part of the record. */
import { useState } from 'preact/hooks'
import type { SpliceView } from '../../edge/api/messages.ts'
import { verdictOf } from '../../edge/splice-review.ts'
import { useCommands } from '../frame/commands.tsx'
import { say } from '../messages.ts'
import { EntryFields, saidIn } from './entry-fields.tsx'

export const EntryForm = ({ splice }: { splice: SpliceView }) => {
  const { addEntry } = useCommands()
  const [isEmpty, setEmpty] = useState(false)
  return (
    <form
      class="entry no-print"
      onSubmit={(event) => {
        event.preventDefault()
        const said = saidIn(event.currentTarget)
        const hasNothing = Object.keys(said).length === 0
        setEmpty(hasNothing)
        if (!hasNothing) void addEntry(splice.id, said)
      }}
    >
      <h3>{say('entry.title')}</h3>
      <EntryFields standing={verdictOf(splice).outcome} />
      <button type="submit">{say('entry.save')}</button>
      {isEmpty && <p role="alert">{say('entry.empty')}</p>}
    </form>
  )
}
