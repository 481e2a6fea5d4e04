import fastify from 'fastify'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { refuseRoutesWithoutRole } from '../../edge/security/roles.ts'
import { addUser } from '../support/memory-access.ts'
import { startApi, type TestApi, type TestApiOptions } from '../support/start-api.ts'

const PASSWORD = 'tin whistle 9'
const READY = '/api/unwinds/laminator_inner/ready'

/** Ada is an operator, and nobody acts without signing in. */
const withUsers = async (web: TestApiOptions['web'] = {}): Promise<TestApi> => {
  const api = await startApi({ web: { withoutSignIn: 'viewer', ...web } })
  await addUser(api.signIn, 'Ada', 'operator', PASSWORD)
  return api
}
const post = (api: TestApi, url: string, payload: object, headers: Record<string, string> = {}) =>
  api.app.inject({ method: 'POST', url, payload, headers })
const signIn = (api: TestApi, password = PASSWORD, from = '127.0.0.1') =>
  api.app.inject({ method: 'POST', url: '/api/sign-in', payload: { person: 'Ada', password }, remoteAddress: from })
const cookieOf = (answer: { headers: Record<string, unknown> }): string =>
  (answer.headers['set-cookie'] as string[])[0]!.split(';')[0]!

describe('roles', () => {
  it('ends the build of a server with a route that declares none', () => {
    const app = fastify()
    refuseRoutesWithoutRole(app)
    expect(() => app.get('/api/open', () => 'x')).toThrow('The route GET /api/open declares no role')
    expect(() => app.get('/api/odd', { config: { role: 'king' as never } }, () => 'x')).toThrow('declares no role')
    expect(() => app.get('/api/closed', { config: { role: 'viewer' } }, () => 'x')).not.toThrow()
  })

  it('refuses what needs more than the role of this request', async () => {
    const api = await withUsers()
    api.app.get('/api/test-settings', { config: { role: 'engineer' } }, () => ({ done: true }))
    expect((await api.app.inject('/api/test-settings')).statusCode).toBe(401)
    const cookie = cookieOf(await signIn(api))
    const answer = await api.app.inject({ url: '/api/test-settings', headers: { cookie } })
    expect(answer.statusCode).toBe(403)
    expect(answer.json()).toMatchObject({
      error: 'This needs the role engineer, and you have the role operator.',
      // Each browser says it in its reader's language.
      words: {
        key: 'access.role',
        parameters: { needed: { key: 'role.engineer' }, held: { key: 'role.operator' } },
      },
      code: 'not_allowed',
    })
    expect(api.audit.at(-1)).toMatchObject({ action: 'GET /api/test-settings', result: 'refused' })
  })
})

describe('where acting needs a sign-in', () => {
  it('everything is shown without one, and no command is taken', async () => {
    const api = await withUsers()
    for (const url of ['/api/unwinds', '/api/health', '/api/splices', '/api/alarms', '/api/openapi.json']) {
      expect((await api.app.inject(url)).statusCode).toBe(200)
    }
    const answer = await post(api, READY, { ready: true, person: 'Ada' })
    expect(answer.statusCode).toBe(401)
    expect(answer.json()).toMatchObject({
      error: 'Sign in first: this is for people who are known here.',
      code: 'sign_in_needed',
    })
    expect(api.daemon.commands).toEqual([])
    expect(api.audit).toMatchObject([{ action: 'POST /api/unwinds/:id/ready', result: 'refused', from: '127.0.0.1' }])
    // Somebody who may not act learns nothing from what the body was checked for.
    expect((await post(api, READY, { nonsense: 1 })).statusCode).toBe(401)
    expect((await api.app.inject('/api/session')).json()).toEqual({
      sign_in: true,
      person: null,
      role: 'viewer',
      signed_in_role: null,
      acts_for: null,
      must_change: false,
      may_look: true,
      needs_set_up: true,
      password_least: 10,
    })
  })

  it('signs a person in; commands then carry that person, whatever the body says', async () => {
    const api = await withUsers()
    const answer = await signIn(api)
    expect(answer.statusCode).toBe(200)
    expect(answer.json()).toMatchObject({ person: 'Ada', role: 'operator', acts_for: 900 })
    for (const set of answer.headers['set-cookie'] as string[]) {
      for (const part of ['HttpOnly', 'SameSite=Strict', 'Path=/', 'Max-Age=34560000']) expect(set).toContain(part)
      expect(set).not.toContain('Secure')
    }
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
    expect(JSON.stringify([api.audit, api.logged, [...api.store.people.values()]])).not.toContain(PASSWORD)
  })

  it('knows a name however its accents and capitals were typed, and says it as it was given', async () => {
    const api = await withUsers()
    await addUser(api.signIn, 'Zoë', 'operator', PASSWORD)
    const answer = await post(api, '/api/sign-in', { person: ' zoE\u0308 ', password: PASSWORD })
    expect(answer.json()).toMatchObject({ person: 'Zoë' })
  })

  it('ends a session by sign-out and never takes a made-up one or one from before the sign-in', async () => {
    const api = await withUsers()
    const cookie = cookieOf(await signIn(api))
    const out = await post(api, '/api/sign-out', {}, { cookie })
    expect(out.headers['set-cookie']).toContain('Max-Age=0')
    expect((await post(api, READY, { ready: true }, { cookie })).statusCode).toBe(401)
    const planted = 'lastwrap_session=planted'
    const later = cookieOf(await post(api, '/api/sign-in', { person: 'Ada', password: PASSWORD }, { cookie: planted }))
    expect([cookie, planted]).not.toContain(later)
    expect((await post(api, READY, { ready: true }, { cookie: planted })).statusCode).toBe(401)
    // Signing in again ends the session that it takes the place of.
    await post(api, '/api/sign-in', { person: 'Ada', password: PASSWORD }, { cookie: later })
    expect((await post(api, READY, { ready: true }, { cookie: later })).statusCode).toBe(401)
  })

  // IEC 62443-4-2 CR 2.5: the privilege ends, what is shown goes on.
  it('locks when nobody acts: the screen goes on, a command asks again; watching and pages that read do not count', async () => {
    const api = await withUsers()
    const cookie = cookieOf(await signIn(api))
    const status = async (url: string): Promise<number> =>
      (await api.app.inject({ url, headers: { cookie } })).statusCode
    for (let minute = 0; minute < 14; minute++) {
      api.clock.advance(60_000)
      expect(await status('/api/unwinds')).toBe(200)
    }
    expect((await post(api, '/api/session/here', {}, { cookie })).json()).toMatchObject({ acts_for: 900 })
    api.clock.advance(14 * 60_000)
    expect((await post(api, READY, { ready: true }, { cookie })).statusCode).toBe(200)
    api.clock.advance(15 * 60_000)
    expect((await post(api, '/api/session/here', {}, { cookie })).json()).toMatchObject({
      person: 'Ada',
      role: 'viewer',
      signed_in_role: 'operator',
      acts_for: 0,
    })
    const refused = await post(api, READY, { ready: true }, { cookie })
    expect([refused.statusCode, refused.json().code]).toEqual([401, 'sign_in_needed'])
    expect(await status('/api/unwinds')).toBe(200)
    expect(
      api.audit.map(({ action }) => action),
      'a touch is nothing to record',
    ).not.toContain('POST /api/session/here')
  })

  it('locks a name after ten wrong passwords, says for how long, and an engineer unlocks it', async () => {
    const api = await withUsers()
    await addUser(api.signIn, 'Eve', 'engineer', PASSWORD)
    for (let attempt = 0; attempt < 9; attempt++) {
      const wrong = await signIn(api, 'not it at all', `10.0.0.${attempt}`)
      expect([wrong.statusCode, wrong.json()]).toMatchObject([
        401,
        { error: 'Name or password is wrong.', code: 'sign_in_refused' },
      ])
    }
    const sentence = 'Locked after ten wrong passwords: try again in 15 min, or ask an engineer to unlock it.'
    for (const password of ['not it at all', PASSWORD]) {
      const locked = await signIn(api, password, '10.0.0.99')
      expect([locked.statusCode, locked.headers['retry-after']]).toEqual([429, '900'])
      expect(locked.json()).toMatchObject({ error: sentence, code: 'too_many' })
    }
    const locks = api.audit.filter(({ detail }) => detail === 'locked after ten wrong passwords')
    expect(locks.map(({ person, subject, from }) => [person, subject, from])).toEqual(
      Array(2).fill(['', 'Ada', '10.0.0.99']),
    )
    const cookie = cookieOf(await post(api, '/api/sign-in', { person: 'Eve', password: PASSWORD }))
    const users = (await api.app.inject({ url: '/api/users', headers: { cookie } })).json()
    expect(users[0]).toMatchObject({ person: 'Ada', locked_until: '2026-03-02T06:15:00.000Z' })
    const unlocked = await post(api, '/api/users/Ada/unlock', {}, { cookie })
    expect(unlocked.json()[0]).toMatchObject({ person: 'Ada', locked_until: null })
    expect((await signIn(api)).statusCode).toBe(200)
  })

  it('ends a lock by itself, and lets nobody lock out a person at a browser that the person has used', async () => {
    const api = await withUsers()
    const set = (await signIn(api)).headers['set-cookie'] as string[]
    const browser = set.find((one) => one.startsWith('lastwrap_browser='))!.split(';')[0]!
    // Round after round, and from the same address, as everybody behind one proxy has it.
    for (let round = 0; round < 6; round++) {
      for (let attempt = 0; attempt < 12; attempt++) await signIn(api, 'not it at all')
      api.clock.advance(5 * 60_000)
    }
    expect((await signIn(api)).statusCode).toBe(429)
    const own = await post(api, '/api/sign-in', { person: 'Ada', password: PASSWORD }, { cookie: browser })
    expect(own.statusCode).toBe(200)
    api.clock.advance(4 * 3_600_000)
    expect((await signIn(api)).statusCode).toBe(200)
  })

  it('slows down an address that tries one password on many names, existing or not, and tells the two not apart', async () => {
    const api = await withUsers()
    await addUser(api.signIn, 'Bo', 'operator', PASSWORD)
    const tries = ['Ada', 'Bo', ...Array.from({ length: 18 }, (_, n) => `name ${n}`)]
    const answers = []
    for (const person of tries) answers.push(await post(api, '/api/sign-in', { person, password: 'one for all 1' }))
    expect(new Set(answers.map(({ statusCode, payload }) => `${statusCode} ${payload}`)).size).toBe(1)
    const slowed = await post(api, '/api/sign-in', { person: 'Bo', password: PASSWORD })
    expect([slowed.statusCode, slowed.headers['retry-after']]).toEqual([429, '30'])
    expect(slowed.json().error).toContain('try again in 30 s')
    expect((await signIn(api, PASSWORD, '10.1.2.3')).statusCode).toBe(200)
    api.clock.advance(30_000)
    expect((await signIn(api)).statusCode).toBe(200)
  })

  it('lets no crowd of guesses through side by side', async () => {
    const api = await withUsers()
    const answers = await Promise.all(Array.from({ length: 20 }, () => signIn(api, 'not it at all')))
    const count = (status: number): number => answers.filter(({ statusCode }) => statusCode === status).length
    expect([count(401), count(429), count(503)]).toEqual([8, 0, 12])
  })
})

describe('where even looking needs a sign-in', () => {
  it('nothing but the way in answers, and a viewer sees all and may do nothing', async () => {
    const api = await withUsers({ withoutSignIn: 'nothing' })
    await addUser(api.signIn, 'Wall', 'viewer', PASSWORD)
    for (const url of ['/api/unwinds', '/api/health', '/api/stream', '/api/openapi.json', '/api/splices/x/trace']) {
      const answer = await api.app.inject(url)
      expect([url, answer.statusCode, answer.json().code]).toEqual([url, 401, 'sign_in_needed'])
    }
    expect((await api.app.inject('/api/session')).json()).toMatchObject({ may_look: false })
    expect((await api.app.inject('/api/alive')).json()).toEqual({ alive: true })
    const cookie = cookieOf(await post(api, '/api/sign-in', { person: 'Wall', password: PASSWORD }))
    expect(
      api.audit.map(({ action }) => action),
      'a screen that waits is nothing to record',
    ).toEqual(['sign-in'])
    api.clock.advance(90 * 24 * 3_600_000)
    expect((await api.app.inject({ url: '/api/unwinds', headers: { cookie } })).statusCode).toBe(200)
    const refused = await post(api, READY, { ready: true }, { cookie })
    expect(refused.json()).toMatchObject({
      error: 'This needs the role operator, and you have the role viewer.',
      code: 'not_allowed',
    })
  })
})

describe('from where a command may come', () => {
  let open: TestApi
  beforeAll(async () => {
    open = await startApi()
  })
  afterAll(() => open.app.close())

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
    const before = open.daemon.commands.length
    expect((await post(open, READY, { ready: true }, headers as Record<string, string>)).statusCode).toBe(status)
    expect(open.daemon.commands.length - before).toBe(status === 200 ? 1 : 0)
  })

  it('lets a stranger’s page neither sign in nor out, nor act with the session of whoever looks at it', async () => {
    const api = await withUsers()
    const cookie = cookieOf(await signIn(api))
    const headers = { 'sec-fetch-site': 'cross-site', cookie }
    expect((await post(api, '/api/sign-in', { person: 'Ada', password: PASSWORD }, headers)).statusCode).toBe(403)
    expect((await post(api, '/api/sign-out', {}, headers)).statusCode).toBe(403)
    expect((await post(api, READY, { ready: true }, headers)).statusCode).toBe(403)
    // A form of another site can send only what is no JSON.
    const form = await api.app.inject({
      method: 'POST',
      url: READY,
      headers: { cookie, 'content-type': 'application/x-www-form-urlencoded' },
      payload: 'ready=true',
    })
    expect(form.statusCode).toBe(415)
    expect(api.daemon.commands).toEqual([])
    expect(api.audit.at(-1)).toMatchObject({ person: 'Ada', action: 'POST /api/unwinds/:id/ready', detail: '415' })
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
    expect(answer.json()).toMatchObject({
      error:
        'This machine is not known as "evil.example": open the page by its IP address or by the machine\'s name, or add the name to allowed_hosts in the section web of the configuration.',
      code: 'not_allowed',
    })
  })

  it('wider: by address, by a name without a dot, by a configured one', async () => {
    const api = await withUsers({ host: '0.0.0.0', allowedHosts: ['Press.Works.example'] })
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
