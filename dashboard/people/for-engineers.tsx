/** What stands on a page that only engineers read: to everybody else, why not, and the way in. */
import type { ComponentChildren } from 'preact'
import { useState } from 'preact/hooks'
import { mayRead } from '../frame/may-read.ts'
import { useSession } from '../frame/session.tsx'
import { SignIn } from '../frame/sign-in.tsx'
import { say } from '../messages.ts'

export interface ForEngineersProps {
  /** Why the page's data could not be read. */
  error: string | undefined
  /** Somebody who may has signed in. */
  onIn: () => void
  children: ComponentChildren
}

export const ForEngineers = ({ error, onIn, children }: ForEngineersProps) => {
  const { session } = useSession()
  const [isAsking, setAsking] = useState(false)
  if (error === undefined) return children
  return (
    <div class="fault">
      <p role="alert">{error}</p>
      {!mayRead(session, 'engineer') || session?.role !== 'engineer' ? (
        <button type="button" onClick={() => setAsking(true)}>
          {say('sign_in.title')}
        </button>
      ) : (
        <button type="button" onClick={onIn}>
          {say('splices.retry')}
        </button>
      )}
      {isAsking && (
        <SignIn
          onDone={(isIn) => {
            setAsking(false)
            if (isIn) onIn()
          }}
        />
      )}
    </div>
  )
}
