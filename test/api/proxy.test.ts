/** Behind somebody else's server: below a path, and under its name and address. */
import { afterEach, describe, expect, it } from 'vitest'
import { addUser } from '../support/memory-access.ts'
import { startApi, type TestApi, type TestApiOptions } from '../support/start-api.ts'

const PASSWORD = 'tin whistle 9'
let api: TestApi
afterEach(() => api.app.close())

const start = async (web: TestApiOptions['web']): Promise<void> => {
  api = await startApi({ web: { withoutSignIn: 'viewer', ...web } })
  await addUser(api.signIn, 'Ada', 'operator', PASSWORD)
}
const signIn = (url: string, headers: Record<string, string>, remoteAddress = '127.0.0.1') =>
  api.app.inject({ method: 'POST', url, payload: { person: 'Ada', password: PASSWORD }, headers, remoteAddress })

describe('below a path', () => {
  it('both kinds of proxy are understood: one that passes the path on and one that takes it off', async () => {
    await start({ basePath: '/lastwrap' })
    for (const url of [
      '/lastwrap/api/unwinds',
      '/api/unwinds',
      '/lastwrap/api/splices?limit=1',
      '/lastwrap/api/health',
    ]) {
      expect([url, (await api.app.inject(url)).statusCode]).toEqual([url, 200])
    }
    for (const url of ['/lastwrapped/api/unwinds', '/lastwrap/lastwrap/api/unwinds', '/other/api/unwinds']) {
      // Not below the base: a page of the dashboard, which is not built here, and no data.
      expect([url, (await api.app.inject(url)).statusCode]).toEqual([url, 503])
    }
  })

  it('the base without its slash is sent to where the pages find their files', async () => {
    await start({ basePath: '/plant/lastwrap' })
    const answer = await api.app.inject('/plant/lastwrap?from=1')
    expect([answer.statusCode, answer.headers['location']]).toEqual([308, '/plant/lastwrap/?from=1'])
  })

  it('cookies go to that path only, and the description says where it is', async () => {
    await start({ basePath: '/lastwrap' })
    const set = (await signIn('/lastwrap/api/sign-in', {})).headers['set-cookie'] as string[]
    for (const cookie of set) expect(cookie).toContain('Path=/lastwrap/;')
    expect((await api.app.inject('/lastwrap/api/openapi.json')).json().servers).toEqual([{ url: '/lastwrap/' }])
  })
})

describe('what a proxy says of the browser', () => {
  const forwarded = {
    host: '127.0.0.1:8420',
    origin: 'https://plant.example',
    'sec-fetch-site': 'same-origin',
    'x-forwarded-host': 'plant.example',
    'x-forwarded-proto': 'https',
    'x-forwarded-for': '10.9.9.9',
  }

  it('is believed of a trusted one: name, https and address', async () => {
    await start({ trustedProxies: ['127.0.0.1'], allowedHosts: ['plant.example'] })
    const answer = await signIn('/api/sign-in', forwarded)
    expect(answer.statusCode).toBe(200)
    for (const cookie of answer.headers['set-cookie'] as string[]) expect(cookie).toMatch(/; Secure$/)
    expect(api.audit.at(-1)).toMatchObject({ action: 'sign-in', from: '10.9.9.9' })
  })

  it('is not believed of anybody else', async () => {
    await start({ trustedProxies: ['10.1.2.0/24'], allowedHosts: ['plant.example'] })
    const { origin: _, ...headers } = forwarded
    const answer = await signIn('/api/sign-in', headers)
    expect(answer.statusCode).toBe(200)
    for (const cookie of answer.headers['set-cookie'] as string[]) expect(cookie).not.toContain('Secure')
    expect(api.audit.at(-1)).toMatchObject({ from: '127.0.0.1' })
    expect((await signIn('/api/sign-in', forwarded)).statusCode, 'the origin is not the host that was asked').toBe(403)
  })

  it('does not bring in a name that nobody allowed, and does not hide the address of a liar', async () => {
    await start({ trustedProxies: ['127.0.0.1'], allowedHosts: ['plant.example'] })
    const strange = { ...forwarded, 'x-forwarded-host': 'evil.example', origin: 'https://evil.example' }
    expect((await signIn('/api/sign-in', strange)).statusCode).toBe(421)
    // The last hop is what the proxy saw; what the browser wrote before it counts for nothing.
    await signIn('/api/sign-in', { ...forwarded, 'x-forwarded-for': '127.0.0.9, 10.9.9.9' })
    expect(api.audit.at(-1)).toMatchObject({ from: '10.9.9.9' })
  })
})
