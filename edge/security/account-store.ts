/**
 * What has to outlive a restart of who may do what. A contract: the file behind it is the history folder's.
 *
 * Secrets are kept as digests or memory-hard hashes only, so that a copy of the file signs nobody in.
 */
import type { Role } from './roles.ts'

export interface User {
  /** As it was entered; no two differ in case alone. */
  person: string
  role: Role
  /** `scrypt$…`. */
  passwordHash: string
  /** The password was given by an engineer and opens nothing until the person has chosen another. */
  mustChange: boolean
  /** ms since 1970 UTC. */
  createdTMs: number
  lastSignInTMs: number | undefined
  /** Digests of browsers from which this person has signed in, newest last. */
  browsers: readonly string[]
}

export interface KeptSession {
  /** Of the token. */
  digest: string
  person: string
  /** ms since 1970 UTC. */
  untilTMs: number
}

/** A link with which one engineer's account can be made or regained. */
export interface SetUpLink {
  digest: string
  untilTMs: number
}

/** Wrong passwords for one name, from one browser or from anywhere. */
export interface KeptLock {
  /** The account, and the browser where it is known; opaque. */
  tried: string
  isUser: boolean
  /** In a row since the last lock. */
  wrong: number
  locks: number
  /** ms since 1970 UTC; 0 where it is not locked. */
  lastTMs: number
  lockedUntilTMs: number
}

export interface AccountStore {
  users(): User[]
  /** Durable when it returns. @throws LastwrapError `store_failing` where it can't be written. */
  putUser(user: User): void
  /** With the person's sessions. @throws LastwrapError `store_failing` */
  removeUser(person: string): void
  /** A session that can't be kept ends with the process, which is no reason to refuse it: these two never throw. */
  putSession(session: KeptSession): void
  removeSessions(digests: readonly string[]): void
  sessions(): KeptSession[]
  /** Counts of wrong passwords, so that a restart opens no lock; not kept is no reason to refuse anybody: these never throw. */
  locks(): KeptLock[]
  putLock(lock: KeptLock): void
  removeLocks(tried: readonly string[]): void
  /** Read afresh: the command makes links while the monitor runs. */
  setUpLink(): SetUpLink | undefined
  /** @throws LastwrapError `store_failing` */
  putSetUpLink(link: SetUpLink | undefined): void
}
