/** The way to every other page: a bar above the page, on the wall a menu in the footer, which leaves the room to the lanes. */
import { useEffect, useRef } from 'preact/hooks'
import { say } from '../messages.ts'
import type { Route } from '../router.ts'
import { Link } from './link.tsx'
import { entryOf, pageEntries } from './pages.ts'

const isWithin = (route: Route, path: string): boolean => route.page !== 'missing' && entryOf(route.page).path === path

const Links = ({ route }: { route: Route }) => (
  <nav aria-label={say('nav.label')}>
    {pageEntries.map(
      ([page, { nav, path }]) =>
        nav !== undefined && (
          <Link key={page} to={{ page }} aria-current={isWithin(route, path) ? 'page' : undefined}>
            {say(nav)}
          </Link>
        ),
    )}
  </nav>
)

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
