/** The way to every other page: a bar above the page, on the wall a menu in the footer, which leaves the room to the lanes. */
import { useEffect, useRef } from 'preact/hooks'
import type { SessionView } from '../../edge/api/messages-access.ts'
import { say } from '../messages.ts'
import type { Route } from '../router.ts'
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
        <Link class="who" to={{ page: 'account' }} aria-current={route.page === 'account' ? 'page' : undefined}>
          {person}
        </Link>
      )}
    </nav>
  )
}

export const NavigationBar = ({ route }: { route: Route }) =>
  route.page === 'wall' ? null : (
    <div class="bar">
      <Links route={route} />
    </div>
  )

export const NavigationMenu = ({ route }: { route: Route }) => {
  const menu = useRef<HTMLDetailsElement>(null)
  // A menu that stays open would cover the page that it led to.
  useEffect(() => {
    if (menu.current !== null) menu.current.open = false
  }, [route.page])
  return route.page !== 'wall' ? null : (
    <details class="menu" ref={menu}>
      <summary>{say('nav.menu')}</summary>
      <Links route={route} />
    </details>
  )
}
