/** The people who may sign in: an engineer takes them in, gives roles and first passwords, unlocks and removes. */
import type { FastifyRequest } from 'fastify'
import { Type } from 'typebox'
import type { User } from '../../security/account-store.ts'
import { personName } from '../../security/person.ts'
import type { Refusal } from '../../security/refusal.ts'
import { accountOf } from '../../security/users.ts'
import type { ApiApp } from '../app.ts'
import { notFound, refused } from '../failures.ts'
import type { UserView } from '../messages-access.ts'
import { FAILURES } from '../schemas.ts'
import { NewPassword, Nothing, Person, RoleName, UserViewRef } from '../schemas-access.ts'
import type { SessionContext } from './session.ts'

const ByPerson = Type.Object({ person: Person })
const config = { role: 'engineer' } as const

export const userRoutes = (app: ApiApp, { clock, audit, signIn, say }: SessionContext): void => {
  const isoOf = (tMs: number): string => new Date(tMs).toISOString()
  const viewOf = (user: User): UserView => {
    const nowTMs = clock.nowMs()
    const { looking, acting } = signIn.sessions.countOf(user.person, nowTMs)
    const lock = signIn.lockOut.longestLock(accountOf(user.person), nowTMs)
    return {
      person: user.person,
      role: user.role,
      must_change: user.mustChange,
      created: isoOf(user.createdTMs),
      last_sign_in: user.lastSignInTMs === undefined ? null : isoOf(user.lastSignInTMs),
      locked_until: lock === undefined ? null : isoOf(lock),
      sessions: looking,
      acting,
    }
  }
  const list = (): UserView[] => signIn.users.list().map(viewOf)
  const userOf = (person: string): User => {
    const user = signIn.users.find(person)
    if (user === undefined) throw notFound('user', person, 'take', { route: '/api/users' })
    return user
  }
  /** Records what became of a change, and answers with the list as it is now. */
  const told = (
    request: FastifyRequest,
    action: string,
    subject: string,
    detail: string,
    refusal: Refusal | undefined,
  ): UserView[] => {
    const why = refusal === undefined ? undefined : say(refusal.key, refusal.parameters)
    audit.record({
      tMs: clock.nowMs(),
      person: request.session?.person ?? '',
      from: request.ip,
      action,
      subject,
      result: why === undefined ? 'done' : 'refused',
      detail: why ?? detail,
    })
    if (refusal !== undefined) throw refused(say, 409, 'not_possible', refusal.key, refusal.parameters)
    return list()
  }
  const response = { 200: Type.Array(UserViewRef), ...FAILURES }

  app.get('/api/users', { config, schema: { tags: ['users'], summary: 'Who may sign in, by name', response } }, () =>
    list(),
  )
  app.post(
    '/api/users',
    {
      config,
      schema: {
        tags: ['users'],
        summary: 'Takes a person in; the password holds until the first sign-in',
        body: Type.Object({ person: Person, role: RoleName, password: NewPassword }, { additionalProperties: false }),
        response,
      },
    },
    async (request) => {
      const { role, password } = request.body
      const person = personName(request.body.person)
      if (person === undefined) throw refused(say, 400, 'wrong_parameter', 'access.person.blank')
      const refusal =
        signIn.users.find(person) === undefined
          ? await signIn.give(person, { role, password, mustChange: true })
          : { key: 'access.users.known', parameters: { person } }
      return told(request, 'user added', person, role, refusal)
    },
  )
  app.post(
    '/api/users/:person/role',
    {
      config,
      schema: {
        tags: ['users'],
        summary: 'Gives a person another role and ends the sessions',
        params: ByPerson,
        body: Type.Object({ role: RoleName }, { additionalProperties: false }),
        response,
      },
    },
    async (request) => {
      const { person } = userOf(request.params.person)
      const { role } = request.body
      return told(request, 'user role', person, role, await signIn.give(person, { role }))
    },
  )
  app.post(
    '/api/users/:person/password',
    {
      config,
      schema: {
        tags: ['users'],
        summary: 'Gives a person a password that holds until the next sign-in, ends the sessions and any lock',
        params: ByPerson,
        body: Type.Object({ password: NewPassword }, { additionalProperties: false }),
        response,
      },
    },
    async (request) => {
      const { person } = userOf(request.params.person)
      const { password } = request.body
      return told(request, 'user password', person, '', await signIn.give(person, { password, mustChange: true }))
    },
  )
  app.post(
    '/api/users/:person/unlock',
    {
      config,
      schema: {
        tags: ['users'],
        summary: 'Ends a lock after wrong passwords',
        params: ByPerson,
        body: Nothing,
        response,
      },
    },
    (request) => {
      const { person } = userOf(request.params.person)
      signIn.lockOut.unlock(accountOf(person))
      return told(request, 'user unlocked', person, '', undefined)
    },
  )
  app.post(
    '/api/users/:person/sign-out',
    {
      config,
      schema: {
        tags: ['users'],
        summary: 'Signs a person out in every browser',
        params: ByPerson,
        body: Nothing,
        response,
      },
    },
    (request) => {
      const { person } = userOf(request.params.person)
      const ended = signIn.sessions.closeAll(person)
      return told(request, 'user signed out', person, String(ended), undefined)
    },
  )
  app.post(
    '/api/users/:person/remove',
    {
      config,
      schema: {
        tags: ['users'],
        summary: 'Removes a person, who stays named in history and audit',
        params: ByPerson,
        body: Nothing,
        response,
      },
    },
    (request) => {
      const user = userOf(request.params.person)
      const refusal = signIn.users.remove(user)
      if (refusal === undefined) signIn.sessions.closeAll(user.person)
      return told(request, 'user removed', user.person, '', refusal)
    },
  )
}
