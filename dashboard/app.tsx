/** The frame around every page: which page, the banner of a lost connection, the footer. */
import { useCallback, useEffect, useState } from 'preact/hooks'
import { basePath, routeAddress } from './api.ts'
import { CommandProvider } from './frame/commands.tsx'
import { ConnectionBanner } from './frame/connection-banner.tsx'
import { Footer } from './frame/footer.tsx'
import { Gate } from './frame/gate.tsx'
import { Page } from './frame/lazy-page.tsx'
import { type Navigate, NavigateContext } from './frame/link.tsx'
import { LiveContext } from './frame/live-context.ts'
import { NavigationBar } from './frame/navigation.tsx'
import { entryOf } from './frame/pages.ts'
import { SessionProvider } from './frame/session.tsx'
import { SiteAlarms } from './frame/site-alarms.tsx'
import { say } from './messages.ts'
import { parseRoute, type Route } from './router.ts'
import type { LiveStore } from './store.ts'

const currentRoute = (): Route => parseRoute(location.pathname.slice(basePath.length), location.search)

export const App = ({ store }: { store: LiveStore }) => {
  const [route, setRoute] = useState(currentRoute)
  useEffect(() => {
    const onBack = () => setRoute(currentRoute())
    window.addEventListener('popstate', onBack)
    return () => window.removeEventListener('popstate', onBack)
  }, [])
  const navigate = useCallback<Navigate>((to, { isReplacing } = { isReplacing: false }) => {
    history[isReplacing ? 'replaceState' : 'pushState'](null, '', routeAddress(to))
    setRoute(to)
    if (isReplacing) return
    window.scrollTo(0, 0)
    // A screen reader hears the new page, and the keyboard starts at its top.
    requestAnimationFrame(() => document.getElementById('content')?.focus({ preventScroll: true }))
  }, [])
  useEffect(() => {
    document.title = `${say(route.page === 'missing' ? 'page.missing' : entryOf(route.page).title)} – ${say('app.name')}`
    document.documentElement.dataset['page'] = route.page
  }, [route.page])
  return (
    <LiveContext.Provider value={store}>
      <NavigateContext.Provider value={navigate}>
        <SessionProvider>
          <CommandProvider>
            <a class="skip" href="#content">
              {say('nav.skip')}
            </a>
            <ConnectionBanner />
            <NavigationBar route={route} />
            <Gate route={route}>
              <Page route={route} />
            </Gate>
            <SiteAlarms />
            <Footer route={route} />
          </CommandProvider>
        </SessionProvider>
      </NavigateContext.Provider>
    </LiveContext.Provider>
  )
}
