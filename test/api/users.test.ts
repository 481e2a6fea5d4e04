import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import type { AlarmView } from '../../edge/api/messages.ts'
import { addUser } from '../support/memory-access.ts'
import { startApi, type TestApi } from '../support/start-api.ts'

const PASSWORD = 'tin whistle 9'
const OTHER = 'brass kettle 7'
let api: TestApi
let engineer: string
beforeEach(async () => {
  api = await startApi({ web: { withoutSignIn: 'viewer' } })
  await addUser(api.signIn, 'Eve', 'engineer', PASSWORD)
  engineer = await enter('Eve')
})
afterEach(() => api.app.close())

const post = (url: string, payload: object, cookie = engineer) =>
  api.app.inject({ method: 'POST', url, payload, headers: { cookie } })
const enter = async (person: string, password = PASSWORD): Promise<string> => {
  const answer = await post('/api/sign-in', { person, password }, '')
  expect([person, answer.statusCode]).toEqual([person, 200])
  return (answer.headers['set-cookie'] as string[])[0]!.split(';')[0]!
}
const session = async (cookie: string) => (await api.app.inject({ url: '/api/session', headers: { cookie } })).json()

describe('people', () => {
  it('are taken in with a password that opens nothing but the choice of another', async () => {
    const added = await post('/api/users', { person: 'Bo', role: 'operator', password: OTHER })
    expect(added.json()).toMatchObject([{ person: 'Bo', role: 'operator', must_change: true, last_sign_in: null }, {}])
    const bo = await enter('Bo', OTHER)
    expect(await session(bo)).toMatchObject({ role: 'viewer', signed_in_role: 'operator', must_change: true })
    const refused = await post('/api/unwinds/laminator_inner/ready', { ready: true }, bo)
    expect([refused.statusCode, refused.json().error]).toEqual([403, 'Choose a password of your own first.'])
    const changed = await post('/api/password', { present: OTHER, password: PASSWORD }, bo)
    expect(changed.json()).toMatchObject({ person: 'Bo', role: 'operator', must_change: false })
    expect((await session(bo)).person, 'the session with the first password is over').toBeNull()
    expect((await post('/api/sign-in', { person: 'Bo', password: OTHER }, '')).statusCode).toBe(401)
    expect(JSON.stringify([api.audit, api.logged])).not.toContain(OTHER)
  })

  it.each([
    ['/api/users', { person: 'EVE', role: 'viewer', password: OTHER }, /^There is somebody called EVE already/],
    [
      '/api/users',
      { person: 'Bo', role: 'viewer', password: 'short' },
      /^The password has 5 characters: take at least 10/,
    ],
    [
      '/api/users',
      { person: 'Brunhilde', role: 'viewer', password: 'Brunhilde 1' },
      /^The password is made of "Brunhilde"/,
    ],
    ['/api/users', { person: ' ', role: 'viewer', password: OTHER }, /^The name is blank/],
    [
      '/api/users',
      { person: 'Bo', role: 'king', password: OTHER },
      /^The parameter role has to be one of viewer, operator/,
    ],
    ['/api/users/Eve/role', { role: 'operator' }, /^Eve is the only engineer: give somebody else that role first\.$/],
    ['/api/users/Eve/remove', {}, /^Eve is the only engineer/],
    ['/api/users/Nobody/remove', {}, /^There is no user "Nobody": take a name from \/api\/users\.$/],
    ['/api/password', { present: OTHER, password: 'tin whistle 10' }, /^Name or password is wrong\.$/],
    ['/api/password', { present: PASSWORD, password: PASSWORD }, /^The new password is the old one/],
  ])('%s %j is refused in a sentence', async (url, payload, sentence) => {
    const answer = await post(url, payload)
    expect(answer.statusCode).toBeGreaterThanOrEqual(400)
    expect(answer.statusCode).toBeLessThan(500)
    expect(answer.json().error).toMatch(sentence)
    expect(api.signIn.users.list()).toHaveLength(1)
    expect(api.audit.at(-1)).toMatchObject({ result: 'refused', person: 'Eve' })
  })

  it('lose their sessions with another role, a given password and removal', async () => {
    await addUser(api.signIn, 'Bo', 'operator', PASSWORD)
    let bo = await enter('Bo')
    expect((await post('/api/users/Bo/role', { role: 'viewer' })).json()[0]).toMatchObject({
      sessions: 0,
      role: 'viewer',
    })
    expect((await session(bo)).person).toBeNull()
    bo = await enter('Bo')
    await post('/api/users/Bo/password', { password: OTHER })
    expect((await session(bo)).person).toBeNull()
    bo = await enter('Bo', OTHER)
    await post('/api/users/Bo/remove', {})
    expect((await session(bo)).person).toBeNull()
    expect((await post('/api/sign-in', { person: 'Bo', password: OTHER }, '')).statusCode).toBe(401)
  })

  it('sign out here, everywhere, or are signed out', async () => {
    await addUser(api.signIn, 'Bo', 'operator', PASSWORD)
    const [panel, phone, third] = [await enter('Bo'), await enter('Bo'), await enter('Bo')]
    await post('/api/sign-out', {}, panel)
    expect((await session(phone)).person).toBe('Bo')
    await post('/api/sign-out', { everywhere: true }, phone)
    expect([(await session(phone)).person, (await session(third)).person]).toEqual([null, null])
    const last = await enter('Bo')
    expect((await post('/api/users/Bo/sign-out', {})).json()[0]).toMatchObject({ person: 'Bo', sessions: 0 })
    expect((await session(last)).person).toBeNull()
  })

  it('are told where the disk is full, and those who are there still sign in', async () => {
    api.store.isFull = true
    const refused = await post('/api/users', { person: 'Bo', role: 'operator', password: OTHER })
    expect([refused.statusCode, refused.json().error]).toEqual([409, 'It could not be kept: The disk is full.'])
    expect(await session(await enter('Eve'))).toMatchObject({ role: 'engineer' })
  })

  it('who acknowledge one alarm at the same moment are both answered with who was first', async () => {
    await addUser(api.signIn, 'Bo', 'operator', PASSWORD)
    const bo = await enter('Bo')
    const standing = (await api.app.inject('/api/alarms?standing=true')).json() as AlarmView[]
    const { id } = standing.find(({ acknowledged }) => acknowledged === null)!
    const answers = await Promise.all([
      post(`/api/alarms/${id}/acknowledge`, {}, bo),
      post(`/api/alarms/${id}/acknowledge`, {}, engineer),
    ])
    expect(answers.map(({ statusCode }) => statusCode)).toEqual([200, 200])
    const [first] = answers.map((answer) => answer.json().person)
    expect(answers.map((answer) => answer.json().person)).toEqual([first, first])
    expect(api.daemon.commands.filter(({ kind }) => kind === 'acknowledge')).toHaveLength(1)
    const recorded = api.audit.filter(({ action }) => action.includes('acknowledge')).map(({ person }) => person)
    expect(recorded.sort(), 'the second came too late, and is on record too').toEqual(['Bo', 'Eve'])
  })
})

describe('the set-up link', () => {
  const setUp = (token: string, person = 'Ada', password = OTHER) =>
    post('/api/set-up', { token, person, password }, '')

  it('makes one engineer, who is signed in, and is used up', async () => {
    const token = api.signIn.newSetUpToken()
    expect(JSON.stringify(api.store.link)).not.toContain(token)
    expect((await setUp(token, 'Ada', 'short')).json().error, 'a mistake does not use it up').toMatch(
      /has 5 characters/,
    )
    const done = await setUp(token)
    expect(done.json()).toMatchObject({ person: 'Ada', role: 'engineer', needs_set_up: false })
    const cookie = (done.headers['set-cookie'] as string[])[0]!.split(';')[0]!
    expect((await api.app.inject({ url: '/api/users', headers: { cookie } })).statusCode).toBe(200)
    const again = await setUp(token, 'Mallory')
    expect([again.statusCode, again.json().error]).toEqual([
      409,
      'This link is used up, too old or mistyped: "lastwrap set-up-link" on the machine of the monitor prints a new one.',
    ])
    expect(api.signIn.users.find('Mallory')).toBeUndefined()
  })

  it('makes one engineer of two who open it at once, is over after a day and by a newer one', async () => {
    const both = await Promise.all(['Ada', 'Bo'].map((person, n) => [api.signIn.newSetUpToken(), person, n] as const))
    const [older, token] = both.map(([one]) => one)
    expect((await setUp(older!)).statusCode).toBe(409)
    const answers = await Promise.all([setUp(token!, 'Ada'), setUp(token!, 'Bo')])
    expect(answers.map(({ statusCode }) => statusCode)).toEqual([200, 409])
    const late = api.signIn.newSetUpToken()
    api.clock.advance(24 * 3_600_000)
    expect((await setUp(late)).statusCode).toBe(409)
  })

  it('gives an engineer who forgot the password a way back, and a full disk leaves it usable', async () => {
    const token = api.signIn.newSetUpToken()
    api.store.isFull = true
    expect((await setUp(token, 'eve')).json().error).toBe('It could not be kept: The disk is full.')
    api.store.isFull = false
    expect((await setUp(token, 'eve')).json()).toMatchObject({ person: 'Eve', role: 'engineer' })
    expect((await session(engineer)).person).toBeNull()
    expect(api.signIn.users.list()).toHaveLength(1)
  })
})

describe('the audit', () => {
  it('is read by engineers, as JSON and as a file that runs no formula', async () => {
    await addUser(api.signIn, '=cmd()', 'operator', PASSWORD)
    const other = await enter('=cmd()')
    await post('/api/unwinds/laminator_inner/ready', { ready: true }, other)
    const { headers, statusCode, payload } = await api.app.inject({
      url: '/api/audit.csv',
      headers: { cookie: engineer },
    })
    expect(statusCode).toBe(200)
    expect(headers['content-type']).toBe('text/csv; charset=utf-8')
    expect(headers['content-disposition']).toBe('attachment; filename="lastwrap-audit.csv"')
    const lines = payload.trimEnd().split('\r\n')
    expect(lines[0]).toBe('id,time,person,from,action,subject,result,detail')
    expect(lines[1]).toContain(",2026-03-02T06:00:00.000Z,'=cmd(),127.0.0.1,ready,laminator_inner,done,")
    const entries = await api.app.inject({ url: '/api/audit?person=Eve&limit=1', headers: { cookie: engineer } })
    expect(entries.json()).toMatchObject([{ person: 'Eve', action: 'sign-in', result: 'done' }])
    expect((await api.app.inject({ url: '/api/audit?from=yesterday', headers: { cookie: engineer } })).statusCode).toBe(
      400,
    )
  })
})
