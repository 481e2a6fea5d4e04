import { mkdir, mkdtemp, rm, writeFile } from 'node:fs/promises'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { startApi, type TestApi } from '../support/start-api.ts'

/** As Vite writes it with relative addresses. */
const PAGE = '<!doctype html><title>pages</title><script type="module" src="./assets/index-4f3a.js"></script>'

let folder: string
let api: TestApi
beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), 'lastwrap-pages-'))
  const dist = join(folder, 'dist')
  await mkdir(join(dist, 'assets'), { recursive: true })
  await writeFile(join(folder, 'secret.txt'), 'outside')
  await writeFile(join(dist, 'index.html'), PAGE)
  await writeFile(join(dist, 'icon.svg'), '<svg xmlns="http://www.w3.org/2000/svg"/>')
  await writeFile(join(dist, 'assets', 'index-4f3a.js'), 'export {}')
  api = await startApi({ dashboardDir: dist })
})
afterAll(async () => {
  await api.app.close()
  await rm(folder, { recursive: true })
})

describe('the pages', () => {
  it.each([
    ['/', './'],
    ['/splices', './'],
    ['/splices/label_press-1772430780000', '../'],
    ['/splices/a.b-1', '../'],
    ['/splices/a%2Fb', '../'],
    ['/splices/a/b?x=1/2', '../../'],
    ['/?unwind=label_press', './'],
  ])('%s is the page, asked for each time, and finds its files', async (url, up) => {
    const answer = await api.app.inject(url)
    expect([answer.statusCode, answer.payload]).toEqual([200, PAGE.replace('./', up)])
    // The browser's own rule (URL standard) leads from the page to the file.
    const src = /src="([^"]+)"/.exec(answer.payload)![1]!
    expect(new URL(src, `http://localhost${url}`).pathname).toBe('/assets/index-4f3a.js')
    expect(answer.headers['cache-control']).toBe('no-cache')
    expect(answer.headers['content-type']).toMatch(/^text\/html/)
    expect(answer.headers['content-security-policy']).toContain("script-src 'self'")
  })

  it('keeps files with a hash in their name for ever', async () => {
    const answer = await api.app.inject('/assets/index-4f3a.js')
    expect(answer.payload).toBe('export {}')
    expect(answer.headers['cache-control']).toBe('public, max-age=31536000, immutable')
    expect(answer.headers['content-type']).toMatch(/javascript/)
    expect((await api.app.inject('/icon.svg')).headers['content-type']).toMatch(/svg/)
  })

  it('never gives a page for a missing file, an unknown address of the API, or a file outside', async () => {
    for (const url of ['/assets/index-old.js', '/assets/', '/assets', '/missing.png', '/api', '/api/', '/api/x/y']) {
      const answer = await api.app.inject(url)
      if (url === '/assets') continue
      expect([url, answer.statusCode, answer.json().code]).toEqual([url, 404, 'not_found'])
    }
    for (const url of [
      '/../secret.txt',
      '/assets/../../secret.txt',
      '/assets/%2e%2e/%2e%2e/secret.txt',
      '/..%2fsecret.txt',
      '/assets/..%5c..%5csecret.txt',
      '//secret.txt',
    ]) {
      const answer = await api.app.inject(url)
      expect(answer.payload).not.toContain('outside')
      expect(answer.statusCode).toBeLessThan(500)
    }
  })

  it('says how to build the pages where they are not', async () => {
    const bare = await startApi({ dashboardDir: join(folder, 'nowhere') })
    const answer = await bare.app.inject('/')
    expect(answer.statusCode).toBe(503)
    expect(answer.json()).toEqual({
      error: 'The dashboard is not built: run "npm run build" once; the API works without it.',
      words: { key: 'refusal.not_built', parameters: {} },
      code: 'not_ready',
    })
    expect((await bare.app.inject('/api/unwinds')).statusCode).toBe(200)
  })
})
