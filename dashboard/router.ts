/** Which page an address means, and back. Works at the root of a server and under any sub-path. */

export type Route =
  | { page: 'wall' }
  | { page: 'splices'; query: string }
  | { page: 'splice'; id: string }
  | { page: 'missing' }

/** `path` is what follows the base, without a leading slash. */
export const parseRoute = (path: string, query: string): Route => {
  const [first = '', second, ...rest] = path.replace(/\/$/, '').split('/')
  if (first === '' || first === 'index.html') return { page: 'wall' }
  if (first !== 'splices' || rest.length > 0) return { page: 'missing' }
  if (second === undefined) return { page: 'splices', query }
  try {
    return { page: 'splice', id: decodeURIComponent(second) }
  } catch {
    // A malformed escape is an address that leads nowhere.
    return { page: 'missing' }
  }
}

export const routePath = (route: Route): string => {
  if (route.page === 'splices') return route.query === '' ? 'splices' : `splices?${route.query.replace(/^\?/, '')}`
  if (route.page === 'splice') return `splices/${encodeURIComponent(route.id)}`
  return ''
}
