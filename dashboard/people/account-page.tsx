/** One's own account: who one is here, another password, and the way out, here or everywhere. */
import { useContext, useState } from 'preact/hooks'
import type { SessionView } from '../../edge/api/messages-access.ts'
import { NavigateContext } from '../frame/link.tsx'
import { useStore } from '../frame/live-context.ts'
import type { PageProps } from '../frame/pages.ts'
import { isLocked, useSession } from '../frame/session.tsx'
import { AskForm, NewPasswordFields, PresentPasswordField, SignInForm } from '../frame/sign-in.tsx'
import { say } from '../messages.ts'
import { parseRoute, type Route } from '../router.ts'
import { useSend } from './use-send.tsx'

const minutes = (seconds: number): number => Math.max(1, Math.round(seconds / 60))

const stateOf = (session: SessionView): string => {
  if (isLocked(session)) return say('account.locked')
  if (session.role === 'viewer') return say('account.looks')
  return say('account.acts', { minutes: minutes(session.acts_for ?? 0) })
}

const Password = ({ least }: { least: number }) => {
  const { refresh } = useSession()
  const { send, failure, fail, asking } = useSend()
  const [times, setTimes] = useState(0)
  const change = async ({ present, password, again }: Record<string, string>) => {
    if (password !== again) {
      fail(say('password.differ'))
      return
    }
    const answer = await send<SessionView>('api/password', { present, password })
    if (answer === undefined) return
    refresh(answer)
    setTimes(times + 1)
  }
  return (
    <section>
      <AskForm
        // Empty fields for the next time.
        key={times}
        title={say('password.change')}
        why={say('password.change.why')}
        go={say('password.keep')}
        failure={failure}
        onSubmit={change}
      >
        <PresentPasswordField />
        <NewPasswordFields least={least} />
      </AskForm>
      <p role="status">{times > 0 ? say('password.changed') : ''}</p>
      {asking}
    </section>
  )
}

/** The page from which somebody came to sign in; undefined where the account itself was asked for. */
const cameFrom = (query = ''): Route | undefined => {
  const from = new URLSearchParams(query).get('from')
  if (from === null) return undefined
  const [path = '', search = ''] = from.split('?')
  const route = parseRoute(path, search)
  return route.page === 'missing' ? undefined : route
}

export const AccountPage = ({ query }: PageProps) => {
  const navigate = useContext(NavigateContext)
  const { session, refresh } = useSession()
  const [isEntering, setEntering] = useState(false)
  const store = useStore()
  const { send, failure } = useSend()
  const leave = async (everywhere: boolean) => {
    const answer = await send<SessionView>('api/sign-out', { everywhere })
    if (answer === undefined) return
    refresh(answer)
    store.reconnect()
  }
  if (session === undefined) return <main id="content" class="page" tabIndex={-1} aria-busy="true" />
  // A first password is a step of signing in: the form stays until another one is chosen.
  if (session.person === null || session.must_change || isEntering) {
    if (!isEntering) setEntering(true)
    return (
      <main id="content" class="page gate" tabIndex={-1}>
        <h1 class="hidden">{say('page.account')}</h1>
        <SignInForm
          onDone={() => {
            setEntering(false)
            store.reconnect()
            const back = cameFrom(query)
            if (back !== undefined) navigate(back, { isReplacing: true })
          }}
        />
      </main>
    )
  }
  return (
    <main id="content" class="page account" tabIndex={-1}>
      <header class="page-head">
        <h1>{session.person}</h1>
        <p>
          {say(`role.${session.signed_in_role ?? 'viewer'}`)}. {stateOf(session)}
        </p>
      </header>
      <div class="buttons">
        <button type="button" onClick={() => void leave(false)}>
          {say('account.leave')}
        </button>
        <button type="button" onClick={() => void leave(true)}>
          {say('account.leave_everywhere')}
        </button>
      </div>
      {failure !== undefined && <p role="alert">{failure}</p>}
      <Password least={session.password_least} />
    </main>
  )
}
