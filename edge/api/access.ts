/**
 * Who may call what, checked before a body is read.
 *
 * - Acting needs a session of somebody whose role goes so far. Looking needs none where the site says so; then nothing ever makes a
 *   wall screen go dark.
 * - Every request has to name a host that is ours; every command has to come from our own page or from no browser.
 * - Every command leaves an entry in the audit; `audit-trail.ts` sees to those whose route writes none.
 */
import type { FastifyRequest } from 'fastify'
import type { Clock } from '../clock.ts'
import { NOBODY_NAMED } from '../entries.ts'
import type { Messages } from '../messages/message.ts'
import type { AuditSink } from '../security/audit.ts'
import { cookieIn, SESSION_COOKIE } from '../security/cookies.ts'
import { type HostRule, isHostAllowed, isSameOrigin } from '../security/origin.ts'
import { personName } from '../security/person.ts'
import { higher, mayAct, type Role } from '../security/roles.ts'
import type { Session } from '../security/sessions.ts'
import type { SignIn } from '../security/sign-in.ts'
import type { ApiApp } from './app.ts'
import { type Failure, refused } from './failures.ts'
import { shown } from './sentences.ts'

declare module 'fastify' {
  interface FastifyRequest {
    /** Who is signed in. */
    session: Session | undefined
    /** What this request may do now. */
    role: Role
    /** False where even looking needs a session and there is none. */
    mayLook: boolean
  }
  interface FastifyInstance {
    /** For an answer that goes on and on: whether who asked for it may still see it. */
    stillLooks: (request: FastifyRequest) => boolean
  }
}

export interface AccessOptions {
  hostRule: HostRule
  signIn: SignIn
  /** What somebody may do who is not signed in. */
  withoutSignIn: Role | 'nothing'
  clock: Clock
  audit: AuditSink
  say: Messages
}

const READS = new Set(['GET', 'HEAD', 'OPTIONS'])

export const isCommand = ({ method }: FastifyRequest): boolean => !READS.has(method)

export const guardAccess = (app: ApiApp, options: AccessOptions): void => {
  const { hostRule, signIn, withoutSignIn, clock, audit, say } = options
  app.decorateRequest('session', undefined)
  app.decorateRequest('role', 'viewer')
  app.decorateRequest('mayLook', false)
  app.decorate('stillLooks', ({ session }: FastifyRequest) => {
    return withoutSignIn !== 'nothing' || (session !== undefined && signIn.sessions.isOpen(session, clock.nowMs()))
  })
  app.addHook('onRequest', async (request) => {
    if (!isHostAllowed(request.host, hostRule)) {
      throw refused(say, 421, 'not_allowed', 'access.host', { host: shown(request.host) })
    }
    const nowTMs = clock.nowMs()
    const session = signIn.sessions.find(cookieIn(request.headers.cookie, SESSION_COOKIE), nowTMs)
    request.session = session
    request.mayLook = session !== undefined || withoutSignIn !== 'nothing'
    request.role = higher(
      session === undefined ? 'viewer' : signIn.sessions.roleNow(session, nowTMs),
      withoutSignIn === 'nothing' ? 'viewer' : withoutSignIn,
    )
    const refusal = refusalOf(request, say)
    if (refusal === undefined) {
      // Watching is no act: a page that reads by itself must not keep a session acting.
      if (session !== undefined && request.routeOptions.config.role !== 'viewer') signIn.sessions.act(session, nowTMs)
      return
    }
    // A screen that waits for somebody to sign in asks again and again, and wants nothing that is anybody's own.
    if (refusal.code === 'sign_in_needed' && request.routeOptions.config.role === 'viewer') throw refusal
    audit.record({
      tMs: nowTMs,
      person: session?.person ?? '',
      from: request.ip,
      action: actionOf(request),
      subject: '',
      result: 'refused',
      detail: refusal.message,
    })
    throw refusal
  })
}

/** What the audit calls a request whose route has no word of its own for it. */
export const actionOf = (request: FastifyRequest): string => `${request.method} ${request.routeOptions.url ?? ''}`

/** Why this request may not go on; undefined where it may. */
const refusalOf = (request: FastifyRequest, say: Messages): Failure | undefined => {
  if (isCommand(request) && !isSameOrigin({ ...request.headers, host: request.host })) {
    return refused(say, 403, 'not_allowed', 'access.origin')
  }
  // An address without a route has no role and ends in the answer 404.
  const { role: needed, isOpen } = request.routeOptions.config
  if (needed === undefined || isOpen === true) return undefined
  if (request.mayLook && mayAct(request.role, needed)) return undefined
  const { session } = request
  if (session === undefined) return refused(say, 401, 'sign_in_needed', 'access.sign_in')
  if (session.mustChange) return refused(say, 403, 'not_allowed', 'access.must_change')
  if (mayAct(session.role, needed)) return refused(say, 401, 'sign_in_needed', 'access.idle')
  return refused(say, 403, 'not_allowed', 'access.role', {
    needed: { key: `role.${needed}` },
    held: { key: `role.${session.role}` },
  })
}

/** In whose name a command runs: who is signed in, else the name that came with it, else `local`. */
export const personOf = (request: FastifyRequest, named: string | undefined): string =>
  request.session?.person ?? (named === undefined ? undefined : personName(named)) ?? NOBODY_NAMED
