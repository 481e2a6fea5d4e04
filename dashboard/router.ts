/** Which page an address means, and back. Works at the root of a server and under any sub-path. */
import { entryOf, type PageName, pageEntries } from './frame/pages.ts'

export interface Route {
  page: PageName | 'missing'
  /** For a page of one thing. */
  id?: string
  query?: string
}

/** `path` is what follows the base, without a leading slash. */
export const parseRoute = (path: string, query: string): Route => {
  const [first = '', second, ...rest] = path.replace(/\/$/, '').split('/')
  if (rest.length > 0) return { page: 'missing' }
  if ((first === '' || first === 'index.html') && second === undefined) return { page: 'wall' }
  const found = pageEntries.find(
    ([, entry]) => entry.path === first && (entry.hasId === true) === (second !== undefined),
  )
  if (found === undefined) return { page: 'missing' }
  const [page] = found
  if (second === undefined) return { page, query }
  try {
    return { page, id: decodeURIComponent(second), query }
  } catch {
    // A malformed escape is an address that leads nowhere.
    return { page: 'missing' }
  }
}

export const routePath = ({ page, id, query = '' }: Route): string => {
  if (page === 'missing') return ''
  const { path } = entryOf(page)
  const whole = id === undefined ? path : `${path}/${encodeURIComponent(id)}`
  return query === '' || query === '?' ? whole : `${whole}?${query.replace(/^\?/, '')}`
}
