/** Who is signed in here and what may be done, for every part of a page; tells the daemon when somebody touches the screen. */
import { type ComponentChildren, createContext } from 'preact'
import { useCallback, useContext, useEffect, useRef, useState } from 'preact/hooks'
import type { SessionView } from '../../edge/api/messages-access.ts'
import { readJson, sendJson } from '../api.ts'

/** Touches are told at most so often; the idle time is minutes, ms. */
const TOUCH_EVERY_MS = 30_000
/** The right to act ends a moment after the daemon's clock says so, ms. */
const AFTER_END_MS = 500

export interface SessionContextValue {
  /** Undefined until the daemon has answered. */
  session: SessionView | undefined
  /** Takes over what an answer said, or asks anew. */
  refresh(answer?: SessionView): void
}

const SessionContext = createContext<SessionContextValue>({ session: undefined, refresh: () => undefined })

export const useSession = (): SessionContextValue => useContext(SessionContext)

/** Signed in, but nobody has been here for a while: what is shown goes on, and acting needs the password again. */
export const isLocked = (session: SessionView | undefined): boolean =>
  session?.acts_for === 0 && session.signed_in_role !== 'viewer' && !session.must_change

export const SessionProvider = ({ children }: { children: ComponentChildren }) => {
  const [session, setSession] = useState<SessionView>()
  const lastTouchMs = useRef(0)
  const refresh = useCallback((answer?: SessionView) => {
    if (answer !== undefined) setSession(answer)
    else {
      readJson<SessionView>('api/session').then(setSession, (error: unknown) => {
        // A lost connection has its own banner; who is here is asked again with the next touch.
        console.warn('Who is signed in could not be asked.', error)
      })
    }
  }, [])
  useEffect(() => refresh(), [refresh])
  const actsFor = session?.acts_for ?? 0
  useEffect(() => {
    if (actsFor === 0) return
    const timer = setTimeout(() => refresh(), actsFor * 1000 + AFTER_END_MS)
    const touched = () => {
      const nowMs = performance.now()
      if (nowMs - lastTouchMs.current < TOUCH_EVERY_MS) return
      lastTouchMs.current = nowMs
      sendJson('api/session/here', {}).then(
        (answer) => setSession(answer as SessionView),
        () => refresh(),
      )
    }
    for (const kind of ['pointerdown', 'keydown'] as const) addEventListener(kind, touched)
    return () => {
      clearTimeout(timer)
      for (const kind of ['pointerdown', 'keydown'] as const) removeEventListener(kind, touched)
    }
  }, [actsFor, session, refresh])
  return <SessionContext.Provider value={{ session, refresh }}>{children}</SessionContext.Provider>
}
