/** Takes an entry back in two taps: the first says what becomes of it. Offered to whom the daemon lets. */
import { useState } from 'preact/hooks'
import type { SessionView } from '../../edge/api/messages-access.ts'
import { NOBODY_NAMED } from '../../edge/entries.ts'
import type { StandingEntry } from '../../edge/splice-review.ts'
import { useCommands } from '../frame/commands.tsx'
import { readPerson } from '../frame/person.ts'
import { useSession } from '../frame/session.tsx'
import { say } from '../messages.ts'

/** Their own entry, or any for an engineer; who is not signed in and has to be is asked first. */
export const mayTakeBack = (session: SessionView | undefined, { person }: { person: string }): boolean => {
  if (session === undefined) return false
  const { person: signedIn, signed_in_role: role } = session
  if (signedIn !== null) return signedIn === person || role === 'engineer'
  return session.role !== 'operator' || person === (readPerson() || NOBODY_NAMED)
}

export const TakeBack = ({ entry, splice }: { entry: StandingEntry; splice: string }) => {
  const { takeBack } = useCommands()
  const { session } = useSession()
  const [isAsked, setAsked] = useState(false)
  if (!mayTakeBack(session, entry)) return null
  if (!isAsked) {
    return (
      <button type="button" class="take-back no-print" onClick={() => setAsked(true)}>
        {say('people.take_back')}
      </button>
    )
  }
  return (
    <div class="take-back no-print">
      <p>{say('people.take_back.why')}</p>
      <div class="taps">
        <button type="button" onClick={() => void takeBack(splice, entry.time)}>
          {say('people.take_back.sure')}
        </button>
        <button type="button" onClick={() => setAsked(false)}>
          {say('people.take_back.keep')}
        </button>
      </div>
    </div>
  )
}
