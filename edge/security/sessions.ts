/**
 * Who is signed in. A session is a random token in a cookie; here only its digest is kept, so that a look into memory or a
 * dump gives nobody a session. Sessions end with the process: signing in again is the simplest way to be sure.
 */
import { createHash, randomBytes } from 'node:crypto'
import type { Role } from './roles.ts'

export const SESSION_COOKIE = 'lastwrap_session'
/** One shift and its handover. */
const LONGEST_MS = 12 * 60 * 60_000
/** Nobody has so many screens; beyond it the oldest session ends. */
const MOST_SESSIONS = 500
const TOKEN_BYTES = 32

export interface Session {
  person: string
  role: Role
  /** ms since 1970 UTC. */
  untilMs: number
}

const digest = (token: string): string => createHash('sha256').update(token).digest('base64url')

export class Sessions {
  readonly #byDigest = new Map<string, Session>()

  /** Opens a session and returns its token. */
  open(person: string, role: Role, nowMs: number): string {
    const token = randomBytes(TOKEN_BYTES).toString('base64url')
    this.#byDigest.set(digest(token), { person, role, untilMs: nowMs + LONGEST_MS })
    if (this.#byDigest.size > MOST_SESSIONS) {
      const [oldest] = this.#byDigest.keys()
      if (oldest !== undefined) this.#byDigest.delete(oldest)
    }
    return token
  }

  find(token: string | undefined, nowMs: number): Session | undefined {
    if (token === undefined) return undefined
    const key = digest(token)
    const session = this.#byDigest.get(key)
    if (session === undefined || session.untilMs > nowMs) return session
    this.#byDigest.delete(key)
    return undefined
  }

  close(token: string | undefined): void {
    if (token !== undefined) this.#byDigest.delete(digest(token))
  }

  get size(): number {
    return this.#byDigest.size
  }
}

/** The session's token in a `Cookie` header (RFC 6265 4.2). */
export const tokenIn = (cookies: string | undefined): string | undefined => {
  for (const pair of cookies?.split(';') ?? []) {
    const at = pair.indexOf('=')
    if (at > 0 && pair.slice(0, at).trim() === SESSION_COOKIE) return pair.slice(at + 1).trim()
  }
  return undefined
}

/** `Set-Cookie` for a token; an empty token ends the cookie. */
export const sessionCookie = (token: string, isHttps: boolean): string =>
  [
    `${SESSION_COOKIE}=${token}`,
    'Path=/',
    'HttpOnly',
    'SameSite=Strict',
    `Max-Age=${token === '' ? 0 : LONGEST_MS / 1000}`,
    ...(isHttps ? ['Secure'] : []),
  ].join('; ')
