/**
 * Lets the monitor lie below a path of somebody else's server. A proxy may pass the whole path on or take the base off itself:
 * both are understood, and the pages name everything relative to themselves.
 */
import type { ApiApp } from './app.ts'

/** The address as it would be at the root of a server; one that is not below the base stays as it is. */
export const withoutBasePath = (url: string, basePath: string): string =>
  url.startsWith(`${basePath}/`) ? url.slice(basePath.length) : url

/** `/lastwrap` is a page whose relative addresses would lead out of the base: the browser is sent to `/lastwrap/`. */
export const redirectToBase = (app: ApiApp, basePath: string): void => {
  app.addHook('onRequest', async (request, reply) => {
    const [path, query] = (request.raw.url ?? '').split('?')
    if (path !== basePath) return
    await reply.redirect(`${basePath}/${query === undefined ? '' : `?${query}`}`, 308)
  })
}
