/** What a screen has to fetch. The wall has to stay small: it starts on old hardware at the end of a long cable. */
import { readdir, readFile } from 'node:fs/promises'
import { join } from 'node:path'
import { gunzipSync, gzipSync } from 'node:zlib'
import { describe, expect, it } from 'vitest'
import { DASHBOARD_DIR } from '../support/build-dashboard.ts'
import { startDashboard } from '../support/dashboard-server.ts'

/** For whatever one page needs, scripts, gzip: more than that is felt on a panel at the end of a long cable. */
const MOST_BYTES = 120_000
/** Our own aims, raised only for a reason (the words of every page come with the first one): the wall comes within a second on old hardware, and lists are opened in passing. */
const WALL_AIM_BYTES = 50_000
const PAGE_AIM_BYTES = 95_000

const assets = join(DASHBOARD_DIR, 'assets')
const filesEnding = async (end: string) => (await readdir(assets)).filter((name) => name.endsWith(end))

describe('the built pages', () => {
  it('ask for no more than their budget, the wall and every page that is fetched later', async () => {
    const texts = new Map<string, string>()
    for (const name of await filesEnding('.js')) texts.set(name, await readFile(join(assets, name), 'utf8'))
    const linked = (text: string, pattern: RegExp): string[] =>
      [...text.matchAll(pattern)].map((match) => match[1] ?? '')
    /** A script with everything that it imports at once. */
    const whole = (name: string, found = new Set<string>()): Set<string> => {
      if (found.has(name)) return found
      found.add(name)
      for (const next of linked(texts.get(name) ?? '', /(?:from|import)\s*["'`]\.\/([\w.-]+\.js)["'`]/g))
        whole(next, found)
      return found
    }
    const bytesOf = (names: Iterable<string>): number =>
      [...names].reduce((sum, name) => sum + gzipSync(texts.get(name) ?? '').length, 0)
    const page = await readFile(join(DASHBOARD_DIR, 'index.html'), 'utf8')
    const first = new Set(linked(page, /["']\.\/assets\/([\w.-]+\.js)["']/g).flatMap((name) => [...whole(name)]))
    const wall = bytesOf(first)
    expect(wall).toBeGreaterThan(10_000)
    expect(wall).toBeLessThan(WALL_AIM_BYTES)
    expect(WALL_AIM_BYTES).toBeLessThan(MOST_BYTES)
    const later = new Set(
      [...texts.values()].flatMap((text) => linked(text, /import\(\s*["'`]\.\/([\w.-]+\.js)["'`]\s*\)/g)),
    )
    expect(later.size, 'pages are fetched when somebody asks for them').toBeGreaterThan(2)
    for (const name of later) expect(bytesOf(new Set([...first, ...whole(name)])), name).toBeLessThan(PAGE_AIM_BYTES)
    // Whatever is there belongs to some page: nothing is built for nobody.
    const reached = new Set([...first, ...[...later].flatMap((name) => [...whole(name)])])
    expect([...texts.keys()].filter((name) => !reached.has(name))).toEqual([])
  })

  it('have compressed twins with the same content, which go over the wire', async () => {
    const server = await startDashboard()
    try {
      for (const name of [...(await filesEnding('.js')), ...(await filesEnding('.css'))]) {
        const plain = await readFile(join(assets, name))
        const twin = await readFile(join(assets, `${name}.gz`))
        expect(gunzipSync(twin).equals(plain), name).toBe(true)
        const answer = await fetch(`${server.url}/assets/${name}`, { headers: { 'accept-encoding': 'gzip' } })
        expect(answer.headers.get('content-encoding'), name).toBe('gzip')
        expect(Number(answer.headers.get('content-length')), name).toBe(twin.length)
      }
    } finally {
      await server.stop()
    }
  })

  it('hold no inline script or style and name nobody else', async () => {
    const page = await readFile(join(DASHBOARD_DIR, 'index.html'), 'utf8')
    expect(page).not.toMatch(/<style|<script(?![^>]*\bsrc=)|\sstyle=|\son\w+=/i)
    for (const [, address] of page.matchAll(/(?:src|href)="([^"]+)"/g)) expect(address).toMatch(/^\.\//)
  })
})
