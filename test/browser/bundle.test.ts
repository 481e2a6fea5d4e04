/** What a screen has to fetch. The wall has to stay small: it starts on old hardware at the end of a long cable. */
import { readdir, readFile } from 'node:fs/promises'
import { join } from 'node:path'
import { gunzipSync, gzipSync } from 'node:zlib'
import { describe, expect, it } from 'vitest'
import { DASHBOARD_DIR } from '../support/build-dashboard.ts'
import { startDashboard } from '../support/dashboard-server.ts'

/** The limit for all scripts, gzip, and our own aim. */
const MOST_BYTES = 120_000
const AIM_BYTES = 55_000
const WALL_AIM_BYTES = 26_000

const assets = join(DASHBOARD_DIR, 'assets')
const filesEnding = async (end: string) => (await readdir(assets)).filter((name) => name.endsWith(end))

describe('the built pages', () => {
  it('stay within their budget', async () => {
    const sizes = new Map<string, number>()
    for (const name of await filesEnding('.js')) sizes.set(name, gzipSync(await readFile(join(assets, name))).length)
    const total = [...sizes.values()].reduce((sum, size) => sum + size, 0)
    expect(total).toBeGreaterThan(10_000)
    expect(total).toBeLessThan(MOST_BYTES)
    expect(total, 'our own aim; raise it only for a reason').toBeLessThan(AIM_BYTES)
    const wall = [...sizes].filter(([name]) => name.startsWith('index-'))
    expect(wall).toHaveLength(1)
    expect(wall[0]![1]).toBeLessThan(WALL_AIM_BYTES)
  })

  it('have compressed twins with the same content, which go over the wire', async () => {
    const server = await startDashboard()
    try {
      for (const name of [...(await filesEnding('.js')), ...(await filesEnding('.css'))]) {
        const plain = await readFile(join(assets, name))
        expect(gunzipSync(await readFile(join(assets, `${name}.gz`))).equals(plain), name).toBe(true)
        const answer = await fetch(`${server.url}/assets/${name}`, { headers: { 'accept-encoding': 'gzip' } })
        expect(answer.headers.get('content-encoding'), name).toBe('gzip')
        expect(Number(answer.headers.get('content-length'))).toBeLessThan(plain.length / 2)
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
