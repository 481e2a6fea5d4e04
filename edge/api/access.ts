/**
 * Who may call what, checked before a body is read.
 *
 * - Without a password the API listens on loopback only: everybody at this machine is `operator`.
 * - With a password, seeing needs no sign-in (a wall screen must not go dark in mid-shift); each command needs a session.
 * - Every request has to name a host that is ours; every command has to come from our own page or from no browser.
 */
import type { FastifyRequest } from 'fastify'
import type { Clock } from '../clock.ts'
import type { AuditSink } from '../security/audit.ts'
import { type HostRule, isHostAllowed, isSameOrigin } from '../security/origin.ts'
import { NOBODY_NAMED, personName } from '../security/person.ts'
import { mayAct, type Role } from '../security/roles.ts'
import { type Session, tokenIn } from '../security/sessions.ts'
import type { SignIn } from '../security/sign-in.ts'
import type { ApiApp } from './app.ts'
import { Failure, shown } from './failures.ts'

declare module 'fastify' {
  interface FastifyRequest {
    /** Who is signed in. */
    session: Session | undefined
    /** What this request may do. */
    role: Role
  }
}

export interface AccessOptions {
  hostRule: HostRule
  /** Undefined where no password is set. */
  signIn: SignIn | undefined
  clock: Clock
  audit: AuditSink
}

const READS = new Set(['GET', 'HEAD', 'OPTIONS'])

export const guardAccess = (app: ApiApp, { hostRule, signIn, clock, audit }: AccessOptions): void => {
  app.decorateRequest('session', undefined)
  app.decorateRequest('role', 'viewer')
  app.addHook('onRequest', async (request) => {
    if (!isHostAllowed(request.headers.host, hostRule)) {
      throw new Failure(
        421,
        'not_allowed',
        `This machine is not known as ${shown(request.headers.host ?? '')}: open the page by its IP address or by the machine's name.`,
      )
    }
    request.session = signIn?.sessions.find(tokenIn(request.headers.cookie), clock.nowMs())
    request.role = signIn === undefined ? 'operator' : (request.session?.role ?? 'viewer')
    const refusal = refusalOf(request, signIn !== undefined)
    if (refusal === undefined) return
    audit.record({
      tMs: clock.nowMs(),
      person: request.session?.person ?? '',
      from: request.ip,
      action: `${request.method} ${request.routeOptions.url ?? ''}`,
      subject: '',
      result: 'refused',
      detail: refusal.message,
    })
    throw refusal
  })
}

/** Why this request may not go on; undefined where it may. */
const refusalOf = (request: FastifyRequest, hasSignIn: boolean): Failure | undefined => {
  if (!READS.has(request.method) && !isSameOrigin(request.headers)) {
    return new Failure(
      403,
      'not_allowed',
      'Commands are taken only from the pages of this daemon, not from another site.',
    )
  }
  // An address without a route has no role and ends in the answer 404.
  const { role: needed, isSession } = request.routeOptions.config
  if (needed === undefined || isSession === true || mayAct(request.role, needed)) return undefined
  if (hasSignIn && request.session === undefined) {
    return new Failure(401, 'sign_in_needed', 'Sign in first: this needs the password of the site.')
  }
  return new Failure(403, 'not_allowed', `This needs the role ${needed}, and you have the role ${request.role}.`)
}

/** In whose name a command runs: who is signed in, else the name that came with it, else `local`. */
export const personOf = (request: FastifyRequest, named: string | undefined): string =>
  request.session?.person ?? (named === undefined ? undefined : personName(named)) ?? NOBODY_NAMED
