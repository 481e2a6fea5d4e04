/** The way to every other page: a bar above the page, on the wall a menu in the footer, which leaves the room to the lanes. */
import type { ComponentChildren } from 'preact'
import { useEffect, useRef, useState } from 'preact/hooks'
import type { SessionView } from '../../edge/api/messages-access.ts'
import { say } from '../messages.ts'
import { type Route, routePath } from '../router.ts'
import { Link } from './link.tsx'
import { useLiveValue } from './live-context.ts'
import { mayRead } from './may-read.ts'
import { entryOf, pageEntries } from './pages.ts'
import { isLocked, useSession } from './session.tsx'

const isWithin = (route: Route, path: string): boolean => route.page !== 'missing' && entryOf(route.page).path === path

/** Who is here, which is also the way to sign in and out; nothing where nobody has to. */
const who = (session: SessionView | undefined): string | undefined => {
  if (session === undefined || (!session.sign_in && session.person === null)) return undefined
  if (session.person === null) return say('sign_in.title')
  return isLocked(session) ? say('nav.locked', { person: session.person }) : session.person
}

/** Who signs in goes on where they were. */
const signInFrom = (route: Route): Route => ({
  page: 'account',
  query: new URLSearchParams({ from: routePath(route) }).toString(),
})

const Links = ({ route }: { route: Route }) => {
  const { session } = useSession()
  const person = who(session)
  const hasFinishedRolls = useLiveValue((store) => store.state.health?.finished_rolls === true)
  return (
    <nav aria-label={say('nav.label')}>
      {pageEntries.map(
        ([page, { nav, path, least, needs }]) =>
          nav !== undefined &&
          (needs === undefined || hasFinishedRolls) &&
          mayRead(session, least ?? 'viewer') && (
            <Link key={page} to={{ page }} aria-current={isWithin(route, path) ? 'page' : undefined}>
              {say(nav)}
            </Link>
          ),
      )}
      {person !== undefined && (
        <Link
          class="who"
          to={session?.person === null && route.page !== 'account' ? signInFrom(route) : { page: 'account' }}
          aria-current={route.page === 'account' ? 'page' : undefined}
        >
          {person}
        </Link>
      )}
    </nav>
  )
}

/** Below this width the links would take several lines: one line says where one is, and opens. As in base.css. */
const narrow = matchMedia('(max-width: 700px)')

const useNarrow = (): boolean => {
  const [isNarrow, setNarrow] = useState(narrow.matches)
  useEffect(() => {
    const update = (): void => setNarrow(narrow.matches)
    narrow.addEventListener('change', update)
    return () => narrow.removeEventListener('change', update)
  }, [])
  return isNarrow
}

/** Closed again by each way out of it: left open it would cover the page that it led to. */
const Opening = ({ route, class: extra, children }: { route: Route; class: string; children: ComponentChildren }) => {
  const menu = useRef<HTMLDetailsElement>(null)
  const at = JSON.stringify(route)
  useEffect(() => {
    if (menu.current !== null && at !== '') menu.current.open = false
  }, [at])
  return (
    <details class={extra} ref={menu}>
      <summary>{children}</summary>
      <Links route={route} />
    </details>
  )
}

export const NavigationBar = ({ route }: { route: Route }) => {
  const isNarrow = useNarrow()
  if (route.page === 'wall') return null
  if (!isNarrow)
    return (
      <div class="bar">
        <Links route={route} />
      </div>
    )
  return (
    <Opening route={route} class="bar bar-opens">
      {say('nav.menu')}
      <span class="bar-here">
        {route.page === 'missing' ? '' : say(entryOf(route.page).nav ?? entryOf(route.page).title)}
      </span>
    </Opening>
  )
}

export const NavigationMenu = ({ route }: { route: Route }) =>
  route.page !== 'wall' ? null : (
    <Opening route={route} class="menu">
      {say('nav.menu')}
    </Opening>
  )
