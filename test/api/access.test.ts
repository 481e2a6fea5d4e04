import fastify from 'fastify'
import { beforeAll, describe, expect, it } from 'vitest'
import type { ServerOptions } from '../../edge/api/server.ts'
import { hashPassword } from '../../edge/security/password.ts'
import { refuseRoutesWithoutRole } from '../../edge/security/roles.ts'
import { startApi, type TestApi } from '../support/start-api.ts'

const PASSWORD = 'tin whistle 9'
const READY = '/api/unwinds/laminator_inner/ready'
let passwordHash: string
beforeAll(async () => {
  // Cheap, for the real cost is tested elsewhere.
  passwordHash = await hashPassword(PASSWORD, { N: 1024, r: 8, p: 1 })
})

const withPassword = (options: Partial<ServerOptions> = {}) => startApi({ passwordHash, ...options })
const post = (api: TestApi, url: string, payload: object, headers: Record<string, string> = {}) =>
  api.app.inject({ method: 'POST', url, payload, headers })
const signIn = (api: TestApi, password = PASSWORD, from = '127.0.0.1') =>
  api.app.inject({ method: 'POST', url: '/api/sign-in', payload: { person: 'Ada', password }, remoteAddress: from })
const cookieOf = (answer: { headers: Record<string, unknown> }): string =>
  String(answer.headers['set-cookie']).split(';')[0]!

describe('roles', () => {
  it('ends the build of a server with a route that declares none', () => {
    const app = fastify()
    refuseRoutesWithoutRole(app)
    expect(() => app.get('/api/open', () => 'x')).toThrow('The route GET /api/open declares no role')
    expect(() => app.get('/api/odd', { config: { role: 'king' as never } }, () => 'x')).toThrow('declares no role')
    expect(() => app.get('/api/closed', { config: { role: 'viewer' } }, () => 'x')).not.toThrow()
  })

  it('refuses what needs more than the role of this request', async () => {
    const api = await startApi()
    api.app.get('/api/test-settings', { config: { role: 'engineer' } }, () => ({ done: true }))
    const answer = await api.app.inject('/api/test-settings')
    expect(answer.statusCode).toBe(403)
    expect(answer.json()).toEqual({
      error: 'This needs the role engineer, and you have the role operator.',
      code: 'not_allowed',
    })
    expect(api.audit.at(-1)).toMatchObject({ action: 'GET /api/test-settings', result: 'refused' })
  })
})

describe('where it may listen', () => {
  it('not wider than loopback without a password', async () => {
    await expect(startApi({ web: { host: '0.0.0.0' } })).rejects.toMatchObject({
      code: 'not_allowed',
      message: expect.stringContaining('no password is set'),
    })
    await expect(withPassword({ web: { host: '0.0.0.0' } })).resolves.toBeDefined()
  })
})

describe('with a password', () => {
  it('shows everything without sign-in, and takes no command', async () => {
    const api = await withPassword()
    for (const url of ['/api/unwinds', '/api/health', '/api/splices', '/api/alarms', '/api/openapi.json']) {
      expect((await api.app.inject(url)).statusCode).toBe(200)
    }
    const answer = await post(api, READY, { ready: true, person: 'Ada' })
    expect(answer.statusCode).toBe(401)
    expect(answer.json()).toEqual({
      error: 'Sign in first: this needs the password of the site.',
      code: 'sign_in_needed',
    })
    expect(api.daemon.commands).toEqual([])
    expect(api.audit).toMatchObject([{ action: 'POST /api/unwinds/:id/ready', result: 'refused', from: '127.0.0.1' }])
    // Somebody who may not act learns nothing from what the body was checked for.
    expect((await post(api, READY, { nonsense: 1 })).statusCode).toBe(401)
    expect((await api.app.inject('/api/session')).json()).toEqual({ sign_in: true, person: null, role: 'viewer' })
  })

  it('signs a person in; commands then carry that person, whatever the body says', async () => {
    const api = await withPassword()
    const answer = await signIn(api)
    expect(answer.statusCode).toBe(200)
    expect(answer.json()).toEqual({ sign_in: true, person: 'Ada', role: 'operator' })
    const set = String(answer.headers['set-cookie'])
    for (const part of ['HttpOnly', 'SameSite=Strict', 'Path=/', 'Max-Age=43200']) expect(set).toContain(part)
    expect(set).not.toContain('Secure')
    const cookie = cookieOf(answer)
    expect((await post(api, READY, { ready: true, person: 'Bo' }, { cookie: `theme=dark; ${cookie}` })).json()).toEqual(
      { done: true, person: 'Ada' },
    )
    expect(api.daemon.commands.at(-1)).toMatchObject({ person: 'Ada' })
    expect((await api.app.inject({ url: '/api/session', headers: { cookie } })).json()).toMatchObject({ person: 'Ada' })
    expect(api.audit.map(({ action, person, result }) => [action, person, result])).toEqual([
      ['sign-in', 'Ada', 'done'],
      ['ready', 'Ada', 'done'],
    ])
    expect(JSON.stringify([api.audit, api.logged])).not.toContain(PASSWORD)
  })

  it('ends a session by sign-out, after a shift, and never takes a made-up one', async () => {
    const api = await withPassword()
    const cookie = cookieOf(await signIn(api))
    const out = await post(api, '/api/sign-out', {}, { cookie })
    expect(out.headers['set-cookie']).toContain('Max-Age=0')
    expect((await post(api, READY, { ready: true }, { cookie })).statusCode).toBe(401)
    const later = cookieOf(await signIn(api))
    expect(later).not.toBe(cookie)
    api.clock.advance(12 * 3_600_000 - 1)
    expect((await post(api, READY, { ready: true }, { cookie: later })).statusCode).toBe(200)
    api.clock.advance(1)
    expect((await post(api, READY, { ready: true }, { cookie: later })).statusCode).toBe(401)
    expect((await post(api, READY, { ready: true }, { cookie: 'lastwrap_session=x' })).statusCode).toBe(401)
  })

  it('makes an address wait after five wrong passwords, even with the right one, and no other address', async () => {
    const api = await withPassword()
    for (let attempt = 0; attempt < 5; attempt++) {
      const wrong = await signIn(api, 'not it at all')
      expect([wrong.statusCode, wrong.json().code]).toEqual([401, 'sign_in_refused'])
    }
    const locked = await signIn(api)
    expect(locked.statusCode).toBe(429)
    expect(locked.headers['retry-after']).toBe('30')
    expect(locked.json().error).toContain('try again in 30 s')
    expect((await signIn(api, PASSWORD, '10.1.2.3')).statusCode).toBe(200)
    api.clock.advance(30_000)
    expect((await signIn(api)).statusCode).toBe(200)
    expect(api.audit.map(({ result }) => result)).toEqual([...Array(6).fill('refused'), 'done', 'done'])
  })

  it('lets no crowd of guesses through side by side', async () => {
    const api = await withPassword()
    const answers = await Promise.all(Array.from({ length: 20 }, () => signIn(api, 'not it at all')))
    const count = (status: number): number => answers.filter(({ statusCode }) => statusCode === status).length
    expect([count(401), count(429), count(503)]).toEqual([5, 3, 12])
  })

  it('has nothing to sign in to where none is set', async () => {
    const api = await startApi()
    expect((await signIn(api)).json()).toMatchObject({ code: 'not_possible' })
    expect((await api.app.inject('/api/session')).json()).toEqual({ sign_in: false, person: null, role: 'operator' })
  })
})

describe('from where a command may come', () => {
  it.each([
    [{ 'sec-fetch-site': 'cross-site' }, 403],
    [{ 'sec-fetch-site': 'same-site' }, 403],
    [{ 'sec-fetch-site': 'none' }, 403],
    [{ origin: 'http://evil.example' }, 403],
    [{ origin: 'null' }, 403],
    [{ 'sec-fetch-site': 'same-origin', origin: 'http://evil.example' }, 403],
    [{ origin: 'http://localhost:9999' }, 403],
    [{ origin: 'http://localhost:80', host: 'localhost:80' }, 200],
    [{ 'sec-fetch-site': 'same-origin', origin: 'http://127.0.0.1:8420', host: '127.0.0.1:8420' }, 200],
    [{}, 200],
  ])('%j: %i', async (headers, status) => {
    const api = await startApi()
    expect((await post(api, READY, { ready: true }, headers as Record<string, string>)).statusCode).toBe(status)
    expect(api.daemon.commands).toHaveLength(status === 200 ? 1 : 0)
  })

  it('lets a stranger’s page neither sign in nor out', async () => {
    const api = await withPassword()
    const headers = { 'sec-fetch-site': 'cross-site' }
    expect((await post(api, '/api/sign-in', { person: 'Ada', password: PASSWORD }, headers)).statusCode).toBe(403)
    expect((await post(api, '/api/sign-out', {}, headers)).statusCode).toBe(403)
  })
})

describe('under which name it is asked', () => {
  const statusFor = async (api: TestApi, host: string): Promise<number> =>
    (await api.app.inject({ url: '/api/unwinds', headers: { host } })).statusCode

  it('on loopback: by names of this machine only', async () => {
    const api = await startApi()
    for (const host of ['localhost', 'LOCALHOST:8420', '127.0.0.1:8420', '[::1]:8420'])
      expect(await statusFor(api, host)).toBe(200)
    for (const host of [
      'evil.example',
      'localhost.evil.example',
      '192.168.1.5',
      'press-pc',
      'a b',
      'localhost:8420@evil.example',
    ]) {
      expect([host, await statusFor(api, host)]).toEqual([host, 421])
    }
    const answer = await api.app.inject({ url: '/api/unwinds', headers: { host: 'evil.example' } })
    expect(answer.json()).toEqual({
      error: 'This machine is not known as "evil.example": open the page by its IP address or by the machine\'s name.',
      code: 'not_allowed',
    })
  })

  it('wider: by address, by a name without a dot, by a configured one', async () => {
    const api = await withPassword({ web: { host: '0.0.0.0', allowedHosts: ['Press.Works.example'] } })
    for (const host of ['192.168.1.5:8420', 'press-pc:8420', 'press.works.example', '[fd00::1]:8420', 'localhost']) {
      expect([host, await statusFor(api, host)]).toEqual([host, 200])
    }
    expect(await statusFor(api, 'evil.example')).toBe(421)
  })
})

describe('headers', () => {
  it('forbid inline script and foreign frames on every answer, refusals included', async () => {
    const api = await startApi()
    for (const [url, host] of [
      ['/api/unwinds', 'localhost'],
      ['/nothing', 'localhost'],
      ['/api/none', 'localhost'],
      ['/api/unwinds', 'evil.example'],
    ] as const) {
      const { headers } = await api.app.inject({ url, headers: { host } })
      expect(headers['content-security-policy']).toContain("default-src 'self'")
      expect(headers['content-security-policy']).toContain("frame-ancestors 'none'")
      expect(headers['content-security-policy']).not.toContain('unsafe')
      expect(headers['x-content-type-options']).toBe('nosniff')
      expect(headers['referrer-policy']).toBe('no-referrer')
    }
    expect((await api.app.inject('/api/unwinds')).headers['cache-control']).toBe('no-store')
  })
})
