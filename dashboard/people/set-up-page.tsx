/** Makes the first engineer's account with the link that the monitor printed. The token stays out of every request's address. */
import { useContext, useEffect, useRef, useState } from 'preact/hooks'
import type { SessionView } from '../../edge/api/messages-access.ts'
import { NavigateContext } from '../frame/link.tsx'
import { useStore } from '../frame/live-context.ts'
import { useSession } from '../frame/session.tsx'
import { AskForm, NewPasswordFields } from '../frame/sign-in.tsx'
import { say } from '../messages.ts'
import { useSend } from './use-send.tsx'

export const SetUpPage = () => {
  const { session, refresh } = useSession()
  const { send, failure, fail } = useSend()
  const navigate = useContext(NavigateContext)
  const store = useStore()
  const isHere = useRef(true)
  useEffect(
    () => () => {
      isHere.current = false
    },
    [],
  )
  const [token] = useState(() => location.hash.slice(1))
  const make = async ({ person, password, again }: Record<string, string>) => {
    if (password !== again) {
      fail(say('password.differ'))
      return
    }
    const answer = await send<SessionView>('api/set-up', { token, person, password })
    if (answer === undefined) return
    refresh(answer)
    store.reconnect()
    // The token leaves the address, and with it the history of this browser.
    if (isHere.current) navigate({ page: 'people' }, { isReplacing: true })
  }
  return (
    <main id="content" class="page gate" tabIndex={-1}>
      <h1 class="hidden">{say('page.set_up')}</h1>
      {token === '' ? (
        <div class="ask">
          <h2>{say('set_up.title')}</h2>
          <p>{say('set_up.no_token')}</p>
        </div>
      ) : (
        <AskForm
          title={say('set_up.title')}
          why={say('set_up.why')}
          go={say('set_up.go')}
          failure={failure}
          onSubmit={make}
        >
          <label>
            {say('sign_in.name')}
            <input name="person" autocomplete="username" required maxLength={64} />
          </label>
          <NewPasswordFields least={session?.password_least ?? 0} />
        </AskForm>
      )}
    </main>
  )
}
