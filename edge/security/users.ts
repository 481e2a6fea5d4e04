/**
 * The people who may sign in. Each is known by a name; two names that differ in case or in how an accent was typed are one.
 * There is no account that comes with the program and no password that anybody else knows.
 */
import type { AccountStore, User } from './account-store.ts'
import { personName } from './person.ts'
import { type Refusal, refusalOfWriting } from './refusal.ts'
import { isSameDigest } from './secret-token.ts'

/** A plant's crews, and a bound on what is kept in memory. */
const MOST_USERS = 500
/** Panels and a few phones; the one that was longest unused is forgotten. */
const MOST_BROWSERS = 20

export class Users {
  readonly #byAccount = new Map<string, User>()
  readonly #store: AccountStore

  constructor(store: AccountStore) {
    this.#store = store
    for (const user of store.users()) this.#byAccount.set(accountOf(user.person), user)
  }

  list(): User[] {
    return [...this.#byAccount.values()].sort((a, b) => a.person.localeCompare(b.person))
  }

  find(person: string): User | undefined {
    return this.#byAccount.get(accountOf(person))
  }

  /** By the name as it was given to the user. */
  byPerson(): Map<string, User> {
    return new Map(this.list().map((user) => [user.person, user]))
  }

  get hasEngineer(): boolean {
    return this.list().some(({ role }) => role === 'engineer')
  }

  /** Adds or replaces; tells why not. */
  put(user: User): Refusal | undefined {
    const account = accountOf(user.person)
    const before = this.#byAccount.get(account)
    if (before === undefined && this.#byAccount.size >= MOST_USERS) {
      return { key: 'access.users.many', parameters: { most: MOST_USERS } }
    }
    if (before?.role === 'engineer' && user.role !== 'engineer' && this.#isLastEngineer(before)) {
      return { key: 'access.users.last_engineer', parameters: { person: before.person } }
    }
    const refusal = refusalOfWriting(() => this.#store.putUser(user))
    if (refusal === undefined) this.#byAccount.set(account, user)
    return refusal
  }

  remove(user: User): Refusal | undefined {
    if (this.#isLastEngineer(user)) {
      return { key: 'access.users.last_engineer', parameters: { person: user.person } }
    }
    const refusal = refusalOfWriting(() => this.#store.removeUser(user.person))
    if (refusal === undefined) this.#byAccount.delete(accountOf(user.person))
    return refusal
  }

  /** A full disk must not keep anybody from signing in: what can't be kept of this is forgotten with the process. */
  signedIn(user: User, browser: string, nowTMs: number): void {
    const browsers = [...user.browsers.filter((one) => one !== browser), browser].slice(-MOST_BROWSERS)
    const changed = { ...user, browsers, lastSignInTMs: nowTMs }
    this.#byAccount.set(accountOf(user.person), changed)
    refusalOfWriting(() => this.#store.putUser(changed))
  }

  #isLastEngineer(user: User): boolean {
    return user.role === 'engineer' && this.list().filter(({ role }) => role === 'engineer').length === 1
  }
}

/** What a name is compared by. */
export const accountOf = (person: string): string => (personName(person) ?? '').normalize('NFKC').toLowerCase()

/** True where the person has signed in from this browser before. */
export const knowsBrowser = (user: User | undefined, browser: string | undefined): boolean =>
  browser !== undefined && user?.browsers.some((one) => isSameDigest(one, browser)) === true
