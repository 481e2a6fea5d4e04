/** Signing in and out, who one is, one's own password, and the link that makes the first engineer. */
import type { FastifyReply, FastifyRequest } from 'fastify'
import { Type } from 'typebox'
import { BROWSER_COOKIE, type CookieScope, cookieIn, SESSION_COOKIE, setCookie } from '../../security/cookies.ts'
import { PASSWORD_MIN_LENGTH } from '../../security/password-rule.ts'
import { personName } from '../../security/person.ts'
import { mayAct } from '../../security/roles.ts'
import type { Session } from '../../security/sessions.ts'
import type { Entry, From, SignIn } from '../../security/sign-in.ts'
import type { ApiApp, RouteContext } from '../app.ts'
import { refused } from '../failures.ts'
import type { SessionView } from '../messages-access.ts'
import { FAILURES } from '../schemas.ts'
import { GivenPassword, NewPassword, Nothing, Person, SessionViewRef } from '../schemas-access.ts'

export interface SessionContext extends RouteContext {
  signIn: SignIn
  /** Somebody who is not signed in may act. */
  actsWithoutSignIn: boolean
  basePath: string
}

const OPEN = { role: 'viewer', isOpen: true } as const

export const sessionRoutes = (app: ApiApp, context: SessionContext): void => {
  const { clock, audit, signIn, say, actsWithoutSignIn, basePath } = context
  const fromOf = (request: FastifyRequest): From => ({
    address: request.ip,
    browser: cookieIn(request.headers.cookie, BROWSER_COOKIE),
  })
  const tokenOf = (request: FastifyRequest): string | undefined => cookieIn(request.headers.cookie, SESSION_COOKIE)
  const scopeOf = (request: FastifyRequest): CookieScope => ({ basePath, isHttps: request.protocol === 'https' })

  const viewOf = (request: FastifyRequest, session: Session | undefined): SessionView => {
    const nowTMs = clock.nowMs()
    const roleNow = session === undefined ? request.role : signIn.sessions.roleNow(session, nowTMs)
    return {
      sign_in: !actsWithoutSignIn,
      person: session?.person ?? null,
      role: roleNow,
      signed_in_role: session?.role ?? null,
      acts_for:
        session === undefined ? null : Math.max(0, Math.floor((signIn.sessions.actsUntil(session) - nowTMs) / 1000)),
      must_change: session?.mustChange ?? false,
      may_look: session !== undefined || request.mayLook,
      needs_set_up: !signIn.users.hasEngineer,
      password_least: PASSWORD_MIN_LENGTH,
    }
  }

  /** Answers with the new session, or says why there is none. */
  const answer = (request: FastifyRequest, reply: FastifyReply, entry: Entry): SessionView => {
    // Sign-in has told the audit itself, by name.
    request.trail.isTold = true
    switch (entry.kind) {
      case 'wrong':
        throw refused(say, 401, 'sign_in_refused', 'access.wrong')
      case 'locked': {
        const seconds = Math.ceil((entry.untilTMs - clock.nowMs()) / 1000)
        void reply.header('retry-after', String(seconds))
        throw refused(say, 429, 'too_many', 'access.locked', { minutes: Math.ceil(seconds / 60) })
      }
      case 'wait':
        void reply.header('retry-after', String(entry.seconds))
        throw refused(say, 429, 'too_many', 'access.wait', { seconds: entry.seconds })
      case 'busy':
        void reply.header('retry-after', '5')
        throw refused(say, 503, 'too_many', 'access.busy')
      case 'refused':
        throw refused(say, 409, 'not_possible', entry.why.key, entry.why.parameters)
      case 'entered': {
        const scope = scopeOf(request)
        void reply.header('set-cookie', [
          setCookie(SESSION_COOKIE, entry.token, scope),
          setCookie(BROWSER_COOKIE, entry.browser, scope),
        ])
        return viewOf(request, entry.session)
      }
    }
  }

  const sessionOf = (request: FastifyRequest): Session => {
    if (request.session === undefined) throw refused(say, 401, 'sign_in_needed', 'access.sign_in')
    return request.session
  }

  const forgotten = (request: FastifyRequest, reply: FastifyReply): SessionView => {
    void reply.header('set-cookie', setCookie(SESSION_COOKIE, '', scopeOf(request)))
    const role = actsWithoutSignIn ? request.role : 'viewer'
    return { ...viewOf(request, undefined), role }
  }

  app.get(
    '/api/session',
    {
      config: OPEN,
      schema: {
        tags: ['session'],
        summary: 'Who this is and what may be done',
        response: { 200: SessionViewRef, ...FAILURES },
      },
    },
    (request) => viewOf(request, request.session),
  )
  app.post(
    '/api/sign-in',
    {
      config: OPEN,
      schema: {
        tags: ['session'],
        summary: 'Signs a person in',
        body: Type.Object({ person: Person, password: GivenPassword }, { additionalProperties: false }),
        response: { 200: SessionViewRef, ...FAILURES },
      },
    },
    async (request, reply) => {
      const { person, password } = request.body
      if (personName(person) === undefined) throw refused(say, 400, 'wrong_parameter', 'access.person.blank')
      return answer(request, reply, await signIn.enter(person, password, fromOf(request), tokenOf(request)))
    },
  )
  app.post(
    '/api/sign-out',
    {
      config: OPEN,
      schema: {
        tags: ['session'],
        summary: 'Ends the session, or all sessions of the person',
        body: Type.Object(
          { everywhere: Type.Optional(Type.Boolean({ default: false, description: 'In every browser' })) },
          { additionalProperties: false },
        ),
        response: { 200: SessionViewRef, ...FAILURES },
      },
    },
    (request, reply) => {
      const { session } = request
      if (session !== undefined) {
        const isEverywhere = request.body.everywhere === true
        if (isEverywhere) signIn.sessions.closeAll(session.person)
        else signIn.sessions.close(tokenOf(request))
        audit.record({
          tMs: clock.nowMs(),
          person: session.person,
          from: request.ip,
          action: 'sign-out',
          subject: isEverywhere ? 'everywhere' : '',
          result: 'done',
          detail: '',
        })
      }
      return forgotten(request, reply)
    },
  )
  app.post(
    '/api/session/here',
    {
      config: { ...OPEN, isQuiet: true },
      schema: {
        tags: ['session'],
        summary: 'Somebody touched the screen: the idle time begins anew, where it is not over',
        body: Nothing,
        response: { 200: SessionViewRef, ...FAILURES },
      },
    },
    (request) => {
      const { session } = request
      if (session !== undefined && mayAct(session.role, 'operator')) signIn.sessions.act(session, clock.nowMs())
      return viewOf(request, session)
    },
  )
  app.post(
    '/api/password',
    {
      config: OPEN,
      schema: {
        tags: ['session'],
        summary: "Changes one's own password and signs out every other browser",
        body: Type.Object({ present: GivenPassword, password: NewPassword }, { additionalProperties: false }),
        response: { 200: SessionViewRef, ...FAILURES },
      },
    },
    async (request, reply) => {
      const { present, password } = request.body
      return answer(request, reply, await signIn.changeOwn(sessionOf(request), present, password, fromOf(request)))
    },
  )
  app.post(
    '/api/set-up',
    {
      config: OPEN,
      schema: {
        tags: ['session'],
        summary: "Makes an engineer's account with the link that the monitor printed; each link works once",
        body: Type.Object(
          { token: Type.String({ minLength: 1, maxLength: 100 }), person: Person, password: NewPassword },
          { additionalProperties: false },
        ),
        response: { 200: SessionViewRef, ...FAILURES },
      },
    },
    async (request, reply) => {
      const { token, person, password } = request.body
      return answer(request, reply, await signIn.setUp(token, person, password, fromOf(request)))
    },
  )
}
