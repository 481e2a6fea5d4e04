/** Accounts and audit in memory, with users whose passwords are hashed cheaply: the real cost has a test of its own. */
import type { Clock } from '../../edge/clock.ts'
import { LastwrapError } from '../../edge/errors.ts'
import { createMessages } from '../../edge/messages/message.ts'
import type { AccountStore, KeptLock, KeptSession, SetUpLink, User } from '../../edge/security/account-store.ts'
import type { AuditEntry, AuditFilter, AuditLog, KeptEntry } from '../../edge/security/audit.ts'
import type { Role } from '../../edge/security/roles.ts'
import { SignIn } from '../../edge/security/sign-in.ts'

export const CHEAP = { N: 1024, r: 8, p: 1 }
export const IDLE_MS = 15 * 60_000

export class MemoryAccess implements AccountStore, AuditLog {
  readonly people = new Map<string, User>()
  readonly kept = new Map<string, KeptSession>()
  readonly counts = new Map<string, KeptLock>()
  readonly audit: AuditEntry[] = []
  link: SetUpLink | undefined
  isFull = false

  users(): User[] {
    return [...this.people.values()]
  }
  putUser(user: User): void {
    this.#refuseWhereFull()
    this.people.set(user.person, user)
  }
  removeUser(person: string): void {
    this.#refuseWhereFull()
    this.people.delete(person)
  }
  putSession(session: KeptSession): void {
    this.kept.set(session.digest, session)
  }
  removeSessions(digests: readonly string[]): void {
    for (const digest of digests) this.kept.delete(digest)
  }
  sessions(): KeptSession[] {
    return [...this.kept.values()]
  }
  locks(): KeptLock[] {
    return [...this.counts.values()]
  }
  putLock(lock: KeptLock): void {
    this.counts.set(lock.tried, lock)
  }
  removeLocks(tried: readonly string[]): void {
    for (const one of tried) this.counts.delete(one)
  }
  setUpLink(): SetUpLink | undefined {
    return this.link
  }
  putSetUpLink(link: SetUpLink | undefined): void {
    this.#refuseWhereFull()
    this.link = link
  }
  record(entry: AuditEntry): void {
    this.audit.push(entry)
  }
  entries(filter: AuditFilter): KeptEntry[] {
    return this.audit
      .map((entry, at) => ({ ...entry, id: at + 1 }))
      .filter(({ person }) => filter.person === undefined || person === filter.person)
      .reverse()
      .slice(0, filter.limit)
  }
  trouble(): undefined {
    return undefined
  }

  #refuseWhereFull(): void {
    if (this.isFull) throw new LastwrapError('store_failing', 'The disk is full.')
  }
}

export const signInOver = (store: AccountStore & AuditLog, clock: Clock): SignIn =>
  new SignIn({
    store,
    clock,
    audit: store,
    idleMs: IDLE_MS,
    siteName: 'Alder Quay Works',
    say: createMessages('en', { strict: true }),
    passwordCost: CHEAP,
  })

/** Somebody of the crew, as if that password had been chosen long ago; with `mustChange` an engineer has just given it. */
export const addUser = async (
  signIn: SignIn,
  person: string,
  role: Role,
  password: string,
  mustChange = false,
): Promise<void> => {
  const refusal = await signIn.give(person, { role, password, mustChange })
  if (refusal !== undefined) throw new Error(`${person} was not taken in: ${refusal.key}`)
}
