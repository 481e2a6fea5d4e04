/** Where even looking needs a sign-in: asks for it in place of the page, and lets the page in when somebody has. */
import type { ComponentChildren } from 'preact'
import { useState } from 'preact/hooks'
import { say } from '../messages.ts'
import type { Route } from '../router.ts'
import { useStore } from './live-context.ts'
import { useSession } from './session.tsx'
import { SignInForm } from './sign-in.tsx'

export const Gate = ({ route, children }: { route: Route; children: ComponentChildren }) => {
  const { session } = useSession()
  const store = useStore()
  const [isEntering, setEntering] = useState(false)
  // The page that makes the first account is for whoever has the link.
  if (session === undefined || route.page === 'set_up') return children
  // With a first password somebody may look already; the form stays until another one is chosen.
  if (session.may_look && !isEntering) return children
  if (!isEntering) setEntering(true)
  return (
    <main id="content" class="page gate" tabIndex={-1}>
      <h1 class="hidden">{say('sign_in.title')}</h1>
      <SignInForm
        onDone={() => {
          setEntering(false)
          store.reconnect()
        }}
      />
    </main>
  )
}
