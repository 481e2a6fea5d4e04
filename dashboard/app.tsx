/** The frame around every page: which page, the banner of a lost connection, the footer. */
import type { ComponentType } from 'preact'
import { useCallback, useEffect, useState } from 'preact/hooks'
import { basePath, routeAddress } from './api.ts'
import { CommandProvider } from './frame/commands.tsx'
import { ConnectionBanner } from './frame/connection-banner.tsx'
import { Footer } from './frame/footer.tsx'
import { type Navigate, NavigateContext } from './frame/link.tsx'
import { LiveContext } from './frame/live-context.ts'
import { SiteAlarms } from './frame/site-alarms.tsx'
import { say } from './messages.ts'
import { parseRoute, type Route } from './router.ts'
import type { LiveStore } from './store.ts'
import { WallPage } from './wall/wall-page.tsx'

const currentRoute = (): Route => parseRoute(location.pathname.slice(basePath.length), location.search)

const TITLES = { wall: 'page.wall', splices: 'page.splices', splice: 'page.splice', missing: 'page.missing' } as const

type SplicesPages = typeof import('./splices/pages.tsx')

/** Review comes with its charts only when somebody asks for it: the wall stays small. */
const useSplicesPages = (isWanted: boolean): { pages: SplicesPages | undefined; hasFailed: boolean } => {
  const [pages, setPages] = useState<SplicesPages>()
  const [hasFailed, setFailed] = useState(false)
  useEffect(() => {
    if (!isWanted || pages !== undefined) return
    import('./splices/pages.tsx').then(
      (loaded) => setPages(loaded),
      (error: unknown) => {
        console.warn('The review pages could not be loaded.', error)
        setFailed(true)
      },
    )
  }, [isWanted, pages])
  return { pages, hasFailed }
}

/** After an upgrade the files that this page knows may be gone; the page as it is now knows the new ones. */
const NotLoaded = () => (
  <main id="content" class="page" tabIndex={-1}>
    <h1>{say('page.not_loaded')}</h1>
    <p>{say('page.not_loaded.do')}</p>
    <button type="button" onClick={() => location.reload()}>
      {say('page.reload')}
    </button>
  </main>
)

const Missing = () => (
  <main id="content" class="page" tabIndex={-1}>
    <h1>{say('page.missing')}</h1>
    <p>{say('page.missing.do')}</p>
  </main>
)

const Page = ({ route }: { route: Route }) => {
  const { pages, hasFailed } = useSplicesPages(route.page === 'splices' || route.page === 'splice')
  if (route.page === 'wall') return <WallPage />
  if (route.page === 'missing') return <Missing />
  if (hasFailed) return <NotLoaded />
  if (pages === undefined) return <main id="content" class="page" tabIndex={-1} aria-busy="true" />
  const SplicesPage: ComponentType<{ query: string }> = pages.SplicesPage
  return route.page === 'splices' ? (
    <SplicesPage query={route.query} />
  ) : (
    <pages.SplicePage id={route.id} key={route.id} />
  )
}

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
    document.title = `${say(TITLES[route.page])} – ${say('app.name')}`
    document.documentElement.dataset['page'] = route.page
  }, [route.page])
  return (
    <LiveContext.Provider value={store}>
      <NavigateContext.Provider value={navigate}>
        <CommandProvider>
          <a class="skip" href="#content">
            {say('nav.skip')}
          </a>
          <ConnectionBanner />
          <Page route={route} />
          <SiteAlarms />
          <Footer route={route} />
        </CommandProvider>
      </NavigateContext.Provider>
    </LiveContext.Provider>
  )
}
