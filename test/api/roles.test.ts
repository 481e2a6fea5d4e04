/** Every route that changes something, asked by everybody who may not: the table is the API's own description. */
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { mayAct, ROLES, type Role } from '../../edge/security/roles.ts'
import { addUser } from '../support/memory-access.ts'
import { startApi, type TestApi } from '../support/start-api.ts'

interface Route {
  method: string
  path: string
  role: Role
}

const PASSWORD = 'tin whistle 9'
/** Open to whoever is not signed in, for a reason: the way in and out. Everything else that changes something needs a role. */
const WAY_IN = [
  'POST /api/sign-in',
  'POST /api/sign-out',
  'POST /api/session/here',
  'POST /api/password',
  'POST /api/set-up',
]

let api: TestApi
const routes: Route[] = []
const cookies = new Map<Role, string>()

beforeAll(async () => {
  api = await startApi({ web: { withoutSignIn: 'viewer' } })
  const { paths } = (await api.app.inject('/api/openapi.json')).json() as {
    paths: Record<string, Record<string, { 'x-role': Role }>>
  }
  for (const [path, methods] of Object.entries(paths)) {
    for (const [method, { 'x-role': role }] of Object.entries(methods)) {
      routes.push({ method: method.toUpperCase(), path, role })
    }
  }
  for (const role of ROLES) {
    await addUser(api.signIn, `The ${role}`, role, PASSWORD)
    cookies.set(role, await enter(`The ${role}`))
  }
})
afterAll(() => api.app.close())

const enter = async (person: string): Promise<string> => {
  const answer = await api.app.inject({ method: 'POST', url: '/api/sign-in', payload: { person, password: PASSWORD } })
  return (answer.headers['set-cookie'] as string[])[0]!.split(';')[0]!
}
const ask = ({ method, path }: Route, cookie: string | undefined) =>
  api.app.inject({
    method: method as 'GET',
    url: path.replace(/\{\w+\}/g, 'nobody'),
    headers: cookie === undefined ? {} : { cookie },
    ...(method === 'GET' ? {} : { payload: {} }),
  })

describe('every route', () => {
  it('says in the description which role it needs, and none that changes something is for whoever looks', () => {
    expect(routes.length).toBeGreaterThan(25)
    for (const { path, role } of routes) expect([path, ROLES.includes(role)]).toEqual([path, true])
    const open = routes.filter(({ method, role }) => method !== 'GET' && role === 'viewer')
    expect(open.map(({ method, path }) => `${method} ${path}`).sort()).toEqual([...WAY_IN].sort())
    expect(routes.filter(({ role }) => role === 'operator').length).toBeGreaterThan(2)
    expect(routes.filter(({ role }) => role === 'engineer').length).toBeGreaterThan(8)
  })

  // IEC 62443-4-2 CR 2.1; NIST SP 800-53 AC-3, AC-6: what is above one's role is refused before the body is read.
  it.each([undefined, ...ROLES])('refuses what is above %s, and records it', async (held) => {
    const before = api.audit.length
    let refused = 0
    for (const route of routes) {
      if (route.path === '/api/stream' || mayAct(held ?? 'viewer', route.role)) continue
      const { statusCode } = await ask(route, held === undefined ? undefined : cookies.get(held))
      expect([route.path, statusCode]).toEqual([route.path, held === undefined ? 401 : 403])
      refused++
    }
    expect(refused > 0).toBe(held !== 'engineer')
    const entries = api.audit.slice(before)
    expect(entries).toHaveLength(refused)
    for (const { person, result } of entries) {
      expect([person, result]).toEqual([held === undefined ? '' : `The ${held}`, 'refused'])
    }
    expect(api.daemon.commands).toEqual([])
  })

  it('that an engineer may call is no 401 or 403 to one, and leaves an entry where it is a command', async () => {
    for (const route of routes) {
      if (route.path === '/api/stream' || WAY_IN.includes(`${route.method} ${route.path}`)) continue
      const before = api.audit.length
      const { statusCode } = await ask(route, cookies.get('engineer'))
      expect([401, 403], route.path).not.toContain(statusCode)
      if (route.method !== 'GET') {
        expect(api.audit.slice(before), route.path).toMatchObject([{ person: 'The engineer' }])
      }
    }
  })
})
