/**
 * Who is signed in, and from when on a session may only look.
 *
 * - A session is a random token in a cookie; here only its digest is kept.
 * - What a role may do ends when nobody has acted for the idle time, 12 h after signing in, and with the process. Looking goes on:
 *   a wall screen must not go dark in mid-shift (IEC 62443-4-2 CR 2.5, 2.6).
 * - Signing out, a new password, another role and removal end a session for good.
 */
import type { AccountStore } from './account-store.ts'
import { mayAct, type Role } from './roles.ts'
import { digestOf, newToken } from './secret-token.ts'

/** One shift and its handover (NIST SP 800-63B asks for signing in anew after 12 h; from memory). */
const LONGEST_ACTING_MS = 12 * 60 * 60_000
/** Browsers keep no cookie for longer (RFC 6265bis; from memory). */
export const LONGEST_LOOKING_MS = 400 * 24 * 60 * 60_000
/** More screens than one person or one wall account has; beyond it the oldest session ends. */
const MOST_PER_PERSON = 50

export interface Session {
  readonly person: string
  /** What the person may do while the session may act. */
  readonly role: Role
  /** The person has to choose a password first. */
  readonly mustChange: boolean
  /** Of the token. */
  readonly digest: string
  /** ms since 1970 UTC. */
  untilTMs: number
  /** Until when it may act at the most; 0 for one that a restart left with looking only. */
  actingUntilTMs: number
  lastActTMs: number
}

export class Sessions {
  readonly #byDigest = new Map<string, Session>()
  readonly #store: AccountStore
  readonly #idleMs: number

  /** @param idleMs after so long without an act a session may only look */
  constructor(store: AccountStore, idleMs: number, users: ReadonlyMap<string, { role: Role; mustChange: boolean }>) {
    this.#store = store
    this.#idleMs = idleMs
    for (const { digest, person, untilTMs } of store.sessions()) {
      const user = users.get(person)
      if (user !== undefined) {
        this.#byDigest.set(digest, {
          person,
          role: user.role,
          mustChange: user.mustChange,
          digest,
          untilTMs,
          actingUntilTMs: 0,
          lastActTMs: 0,
        })
      }
    }
  }

  /** Opens a session and returns its token, which is in no earlier answer: nobody can have planted it. */
  open(person: string, role: Role, mustChange: boolean, nowTMs: number): string {
    const token = newToken()
    const digest = digestOf(token)
    const untilTMs = nowTMs + LONGEST_LOOKING_MS
    const actingUntilTMs = nowTMs + LONGEST_ACTING_MS
    this.#byDigest.set(digest, { person, role, mustChange, digest, untilTMs, actingUntilTMs, lastActTMs: nowTMs })
    this.#store.putSession({ digest, person, untilTMs })
    const own = [...this.#byDigest.values()].filter((session) => session.person === person)
    if (own.length > MOST_PER_PERSON) this.#end(own.slice(0, own.length - MOST_PER_PERSON))
    return token
  }

  find(token: string | undefined, nowTMs: number): Session | undefined {
    if (token === undefined) return undefined
    const session = this.#byDigest.get(digestOf(token))
    if (session === undefined || session.untilTMs > nowTMs) return session
    this.#end([session])
    return undefined
  }

  /** False once somebody has ended it. */
  isOpen(session: Session, nowTMs: number): boolean {
    return this.#byDigest.get(session.digest) === session && session.untilTMs > nowTMs
  }

  /** Until when the session may act if nobody acts, ms since 1970 UTC. */
  actsUntil(session: Session): number {
    return Math.min(session.actingUntilTMs, session.lastActTMs + this.#idleMs)
  }

  /** What a session may do now. */
  roleNow(session: Session, nowTMs: number): Role {
    return !session.mustChange && this.actsUntil(session) > nowTMs ? session.role : 'viewer'
  }

  /** Somebody is there: the idle time begins anew, where it is not over. */
  act(session: Session, nowTMs: number): void {
    if (this.actsUntil(session) > nowTMs) session.lastActTMs = nowTMs
  }

  close(token: string | undefined): void {
    const session = token === undefined ? undefined : this.#byDigest.get(digestOf(token))
    if (session !== undefined) this.#end([session])
  }

  /** Ends all sessions of a person. */
  closeAll(person: string): number {
    const ended = [...this.#byDigest.values()].filter((session) => session.person === person)
    this.#end(ended)
    return ended.length
  }

  /** Sessions of a person that have not ended: all, and those that may act. */
  countOf(person: string, nowTMs: number): { looking: number; acting: number } {
    const own = [...this.#byDigest.values()].filter((session) => session.person === person && session.untilTMs > nowTMs)
    const acting = own.filter((session) => mayAct(this.roleNow(session, nowTMs), 'operator'))
    return { looking: own.length, acting: acting.length }
  }

  get size(): number {
    return this.#byDigest.size
  }

  #end(sessions: readonly Session[]): void {
    if (sessions.length === 0) return
    for (const { digest } of sessions) this.#byDigest.delete(digest)
    this.#store.removeSessions(sessions.map(({ digest }) => digest))
  }
}
