/**
 * The built dashboard. Files whose name holds a hash of their content never change and are kept for ever; `index.html` names
 * them and is asked for each time. Every other address is a page within the dashboard, so it gets `index.html` too.
 */
import { stat } from 'node:fs/promises'
import { join } from 'node:path'
import type { FastifyReply } from 'fastify'
import type { ApiApp } from '../app.ts'
import { Failure } from '../failures.ts'

const ASSETS = 'assets/'

export const dashboardRoutes = (app: ApiApp, dashboardDir: string): void => {
  const index = async (reply: FastifyReply): Promise<FastifyReply> => {
    const built = await stat(join(dashboardDir, 'index.html')).catch(() => undefined)
    if (built === undefined) {
      throw new Failure(
        503,
        'not_ready',
        'The dashboard is not built: run "npm run build" once; the API works without it.',
      )
    }
    return reply.header('cache-control', 'no-cache').sendFile('index.html', dashboardDir, { cacheControl: false })
  }
  const config = { role: 'viewer' as const }
  app.get('/', { config, schema: { hide: true } }, (_request, reply) => index(reply))
  app.get('/*', { config, schema: { hide: true } }, async (request, reply) => {
    const path = (request.params as { '*': string })['*']
    if (path === 'api' || path.startsWith('api/')) return reply.callNotFound()
    if (path.startsWith(ASSETS)) {
      return reply.sendFile(path, dashboardDir, { maxAge: '365d', immutable: true })
    }
    // Icons and the like lie beside index.html; pages have no dot in a first and only part.
    if (!path.includes('/') && path.includes('.')) return reply.sendFile(path, dashboardDir, { maxAge: '1h' })
    return index(reply)
  })
}
