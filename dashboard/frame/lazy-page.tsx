/** Shows the page that a route means, and fetches its code when it is first asked for. */
import type { ComponentType } from 'preact'
import { useEffect, useState } from 'preact/hooks'
import { say } from '../messages.ts'
import type { Route } from '../router.ts'
import { WallPage } from '../wall/wall-page.tsx'
import { entryOf, type PageName, type PageProps } from './pages.ts'

const loaded = new Map<PageName, ComponentType<PageProps>>()

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

const LazyPage = ({ page, id, query }: PageProps & { page: PageName }) => {
  const [failed, setFailed] = useState<PageName>()
  const [, redraw] = useState(0)
  useEffect(() => {
    const { load } = entryOf(page)
    if (loaded.has(page) || load === undefined) return
    load().then(
      (component) => {
        loaded.set(page, component)
        redraw((count) => count + 1)
      },
      (error: unknown) => {
        console.warn('A page could not be loaded.', error)
        setFailed(page)
      },
    )
  }, [page])
  if (failed === page) return <NotLoaded />
  const Component = loaded.get(page)
  if (Component === undefined) return <main id="content" class="page" tabIndex={-1} aria-busy="true" />
  return <Component id={id} query={query} key={`${page} ${id}`} />
}

export const Page = ({ route: { page, id = '', query = '' } }: { route: Route }) => {
  if (page === 'wall') return <WallPage />
  if (page === 'missing') return <Missing />
  return <LazyPage page={page} id={id} query={query} />
}
