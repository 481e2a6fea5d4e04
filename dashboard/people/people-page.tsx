/** Who may sign in, for an engineer: each with role, state and what can be done. Question: who can act here? */
import { useState } from 'preact/hooks'
import type { UserView } from '../../edge/api/messages-access.ts'
import { useLiveValue } from '../frame/live-context.ts'
import { useSession } from '../frame/session.tsx'
import { useRequest } from '../frame/use-request.ts'
import { say } from '../messages.ts'
import { minutesWithZone, zoneOfList } from '../times.ts'
import { ForEngineers } from './for-engineers.tsx'
import { NewPersonDialog, PersonDialog } from './person-dialog.tsx'

const stateOf = (user: UserView, zone: string): string => {
  if (user.locked_until !== null) {
    return say('people.state.locked', { time: minutesWithZone(Date.parse(user.locked_until), zone) })
  }
  if (user.must_change) return say('people.state.first')
  if (user.acting > 0) return say('people.state.acting')
  return user.sessions > 0 ? say('people.state.looking') : say('people.state.out')
}

export const PeoplePage = () => {
  const { session } = useSession()
  const zone = useLiveValue((store) => store.state.health?.time_zone ?? 'UTC')
  const [attempt, setAttempt] = useState(0)
  const { data, error } = useRequest<UserView[]>(
    session === undefined ? undefined : 'api/users',
    [attempt, session?.role].join(),
  )
  const [changed, setChanged] = useState<UserView[]>()
  const [open, setOpen] = useState<string>()
  const [isAdding, setAdding] = useState(false)
  const least = session?.password_least ?? 0
  const users = changed ?? data
  const zones = zoneOfList(
    (users ?? []).flatMap(({ last_sign_in: time }) => (time === null ? [] : [Date.parse(time)])),
    zone,
  )
  const user = users?.find(({ person }) => person === open)
  return (
    <main id="content" class="page people" tabIndex={-1}>
      <header class="page-head">
        <h1>{say('page.people')}</h1>
        <p>{say('people.question')}</p>
      </header>
      <ForEngineers error={error} onIn={() => setAttempt(attempt + 1)}>
        {users !== undefined && (
          <>
            <div class="buttons">
              <button type="button" onClick={() => setAdding(true)}>
                {say('people.add')}
              </button>
            </div>
            <table class="list cards people-table">
              <thead>
                <tr>
                  <th scope="col">{say('people.name')}</th>
                  <th scope="col">{say('people.role')}</th>
                  <th scope="col">{say('people.state')}</th>
                  <th scope="col">
                    {say('people.last')} <span class="unit">{zones.head}</span>
                  </th>
                  <th scope="col">
                    <span class="hidden">{say('people.change')}</span>
                  </th>
                </tr>
              </thead>
              <tbody>
                {users.map((one) => (
                  <tr key={one.person} data-person={one.person}>
                    <th scope="row">{one.person}</th>
                    <td>{say(`role.${one.role}`)}</td>
                    <td data-locked={one.locked_until !== null}>{stateOf(one, zone)}</td>
                    <td class="when" data-label={say('people.last')}>
                      {one.last_sign_in === null ? say('people.never') : zones.time(Date.parse(one.last_sign_in))}
                    </td>
                    <td>
                      <button
                        type="button"
                        aria-label={say('people.change.label', { person: one.person })}
                        onClick={() => setOpen(one.person)}
                      >
                        {say('people.change')}
                      </button>
                    </td>
                  </tr>
                ))}
              </tbody>
            </table>
          </>
        )}
      </ForEngineers>
      {isAdding && (
        <NewPersonDialog
          least={least}
          onClose={() => setAdding(false)}
          onList={(list) => {
            setChanged(list)
            setAdding(false)
          }}
        />
      )}
      {user !== undefined && (
        <PersonDialog user={user} least={least} onClose={() => setOpen(undefined)} onList={setChanged} />
      )}
    </main>
  )
}
