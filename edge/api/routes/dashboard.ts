/**
 * The built dashboard. Files whose name holds a hash of their content never change and are kept for ever; `index.html` names
 * them and is asked for each time. Every other address is a page within the dashboard, so it gets `index.html` too.
 */
import { readFile } from 'node:fs/promises'
import { join } from 'node:path'
import type { FastifyReply, FastifyRequest } from 'fastify'
import type { ApiApp } from '../app.ts'
import { failureOf } from '../failures.ts'
import { otherWords } from '../sentences.ts'

const ASSETS = 'assets/'

/**
 * Which files the dashboard as it is served now begins with: a screen that began with other ones is from before an upgrade.
 * Null where it is not built.
 */
export const dashboardBuild = async (dashboardDir: string): Promise<string | null> => {
  const page = await readFile(join(dashboardDir, 'index.html'), 'utf8').catch(() => '')
  // What is only fetched ahead is named in them.
  const own = /<(?:script|link rel="stylesheet")[^>]* (?:src|href)="\.\/assets\/([^"]+\.(?:js|css))"/g
  const files = [...page.matchAll(own)].map((match) => match[1])
  return files.length === 0 ? null : files.toSorted().join(' ')
}

/** @param language - of the site: what a browser shows where nobody chose another one there. */
export const dashboardRoutes = (app: ApiApp, dashboardDir: string, language: string): void => {
  const index = async (request: FastifyRequest, reply: FastifyReply): Promise<FastifyReply> => {
    const page = await readFile(join(dashboardDir, 'index.html'), 'utf8').catch(() => undefined)
    if (page === undefined) {
      throw failureOf(503, 'not_ready', otherWords('not_built'))
    }
    // The page names its files relative to itself, so that it works under a sub-path: deeper pages look further up.
    // The address as the browser sees it, where %2F separates nothing.
    const [address = '/'] = request.url.split('?')
    const inLanguage = page.replace('<html lang="en">', `<html lang="${language}">`)
    const up = '../'.repeat(address.split('/').length - 2)
    return reply
      .header('cache-control', 'no-cache')
      .type('text/html; charset=utf-8')
      .send(up === '' ? inLanguage : inLanguage.replaceAll('="./', `="${up}`))
  }
  // The pages hold no data, and have to come up to ask who is there.
  const config = { role: 'viewer' as const, isOpen: true }
  app.get('/', { config, schema: { hide: true } }, index)
  app.get('/*', { config, schema: { hide: true } }, async (request, reply) => {
    const path = (request.params as { '*': string })['*']
    if (path === 'api' || path.startsWith('api/')) return reply.callNotFound()
    if (path.startsWith(ASSETS)) {
      return reply.sendFile(path, dashboardDir, { maxAge: '365d', immutable: true })
    }
    // Icons and the like lie beside index.html; pages have no dot in a first and only part.
    if (!path.includes('/') && path.includes('.')) return reply.sendFile(path, dashboardDir, { maxAge: '1h' })
    return index(request, reply)
  })
}
