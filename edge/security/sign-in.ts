/** Turns passwords into sessions, set-up links into the first account, and keeps count of who guesses. */
import type { Clock } from '../clock.ts'
import type { AccountStore, User } from './account-store.ts'
import { Attempts } from './attempts.ts'
import type { AuditSink } from './audit.ts'
import { LockOut, type Tried } from './lock-out.ts'
import { hashPassword, isOutdatedHash, type PasswordCost, verifyPassword } from './password.ts'
import { passwordFault } from './password-rule.ts'
import { personName } from './person.ts'
import { type Refusal, refusalOfWriting } from './refusal.ts'
import type { Role } from './roles.ts'
import { digestOf, isSameDigest, newToken } from './secret-token.ts'
import { type Session, Sessions } from './sessions.ts'
import { accountOf, knowsBrowser, Users } from './users.ts'

/** Each check takes 32 MB and a good part of a core: one at a time, and no long queue. */
const MOST_WAITING = 8
/** A link that nobody used is no standing invitation. */
const SET_UP_MS = 24 * 60 * 60_000

/** Where a request came from. */
export interface From {
  /** Address of the peer. */
  address: string
  /** Token of the browser's own cookie. */
  browser: string | undefined
}

export interface Entered {
  kind: 'entered'
  session: Session
  token: string
  /** For the browser's own cookie. */
  browser: string
}

export type Entry =
  | Entered
  | { kind: 'wrong' } // no such person, or another password
  | { kind: 'locked'; untilTMs: number } // ten wrong passwords for this name
  | { kind: 'wait'; seconds: number } // too many failures from this address
  | { kind: 'busy' } // too many are signing in at this moment
  | { kind: 'refused'; why: Refusal }

export interface SignInOptions {
  store: AccountStore
  clock: Clock
  audit: AuditSink
  /** Without an act for so long a session may only look, ms. */
  idleMs: number
  /** A password must not be made of it. */
  siteName: string
  /** Says a text of the site's language. */
  say: (key: string, parameters?: Readonly<Record<string, string | number>>) => string
  /** Default: what an edge machine can carry. */
  passwordCost?: PasswordCost
}

export class SignIn {
  readonly users: Users
  readonly sessions: Sessions
  readonly lockOut: LockOut
  readonly idleMs: number
  readonly #attempts = new Attempts()
  readonly #options: SignInOptions
  #waiting = 0
  #turn: Promise<unknown> = Promise.resolve()
  /** Compared with where there is no such person, so that the time tells nothing. */
  #nobody: Promise<string> | undefined

  constructor(options: SignInOptions) {
    this.#options = options
    this.idleMs = options.idleMs
    this.lockOut = new LockOut(options.store)
    this.users = new Users(options.store)
    this.sessions = new Sessions(options.store, options.idleMs, this.users.byPerson())
  }

  /** Checks a password; every try goes into the audit. `before` is the session that this one takes the place of. */
  async enter(person: string, password: string, from: From, before?: string): Promise<Entry> {
    const entry = await this.#inTurn(() => this.#check(person, password, from))
    if (entry.kind === 'entered') this.sessions.close(before)
    this.#tell(entry.kind === 'entered' ? entry.session.person : person, from, 'sign-in', entry)
    return entry
  }

  /** Makes a link's token, in place of any earlier one. @throws LastwrapError `store_failing` */
  newSetUpToken(): string {
    const token = newToken()
    const untilTMs = this.#options.clock.nowMs() + SET_UP_MS
    this.#options.store.putSetUpLink({ digest: digestOf(token), untilTMs })
    return token
  }

  /** Makes or regains an engineer's account with a link's token, once, and signs in. */
  async setUp(token: string, person: string, password: string, from: From): Promise<Entry> {
    const entry = await this.#inTurn(() => this.#setUp(token, person, password, from))
    this.#tell(person, from, 'set-up', entry)
    return entry
  }

  /** Why `password` is not taken for `person`. */
  passwordFault(person: string, password: string): Refusal | undefined {
    return passwordFault(password, [person, this.#options.siteName])
  }

  /** Takes a person in, or gives one another password or role; sessions of that person end. */
  async give(
    person: string,
    change: { role?: Role | undefined; password?: string | undefined; mustChange?: boolean },
  ): Promise<Refusal | undefined> {
    const { role, password, mustChange } = change
    const fault = password === undefined ? undefined : this.passwordFault(person, password)
    if (fault !== undefined) return fault
    const hash = password === undefined ? undefined : await this.#hash(password)
    // Asked for again after the wait: somebody else may have changed the same person meanwhile.
    const before = this.users.find(person)
    const user: User = {
      person: before?.person ?? person,
      role: role ?? before?.role ?? 'viewer',
      passwordHash: hash ?? before?.passwordHash ?? '',
      mustChange: mustChange ?? before?.mustChange ?? false,
      createdTMs: before?.createdTMs ?? this.#options.clock.nowMs(),
      lastSignInTMs: before?.lastSignInTMs,
      // A new password is for a person who may have lost a browser too.
      browsers: hash === undefined ? (before?.browsers ?? []) : [],
    }
    const refusal = this.users.put(user)
    if (refusal !== undefined) return refusal
    this.sessions.closeAll(user.person)
    if (hash !== undefined) this.lockOut.unlock(accountOf(user.person))
    return undefined
  }

  /** A person's own new password; needs the present one, so that an unlocked screen is not enough. */
  async changeOwn(session: Session, present: string, password: string, from: From): Promise<Entry> {
    const entry = await this.#inTurn(async (): Promise<Entry> => {
      const checked = await this.#check(session.person, present, from)
      if (checked.kind !== 'entered') return checked
      this.sessions.close(checked.token)
      if (present === password) return { kind: 'refused', why: { key: 'access.password.same' } }
      const why = await this.give(session.person, { password, mustChange: false })
      return why === undefined ? this.#open(session.person, from) : { kind: 'refused', why }
    })
    this.#tell(session.person, from, 'password', entry, true)
    return entry
  }

  #inTurn(work: () => Promise<Entry>): Promise<Entry> {
    if (this.#waiting >= MOST_WAITING) return Promise.resolve({ kind: 'busy' })
    this.#waiting++
    const entry = this.#turn.then(work)
    const done = (): void => {
      this.#waiting--
    }
    this.#turn = entry.then(done, done)
    return entry
  }

  async #check(person: string, password: string, from: From): Promise<Entry> {
    const nowTMs = this.#options.clock.nowMs()
    const user = this.users.find(person)
    const browser = from.browser === undefined ? undefined : digestOf(from.browser)
    const isKnown = knowsBrowser(user, browser)
    const tried: Tried = {
      account: accountOf(person),
      isUser: user !== undefined,
      browser: isKnown ? browser : undefined,
    }
    const waitMs = isKnown ? 0 : this.#attempts.waitMs(from.address, nowTMs)
    if (waitMs > 0) return { kind: 'wait', seconds: Math.ceil(waitMs / 1000) }
    const lockedUntil = this.lockOut.lockedUntil(tried, nowTMs)
    if (lockedUntil !== undefined) return { kind: 'locked', untilTMs: lockedUntil }
    const isRight = await verifyPassword(password, user?.passwordHash ?? (await this.#nobodysHash()))
    if (user === undefined || !isRight) {
      if (!isKnown) this.#attempts.failed(from.address, nowTMs)
      const untilTMs = this.lockOut.wrong(tried, nowTMs)
      return untilTMs === undefined ? { kind: 'wrong' } : { kind: 'locked', untilTMs }
    }
    this.#attempts.succeeded(from.address)
    this.lockOut.right(tried)
    if (isOutdatedHash(user.passwordHash, this.#options.passwordCost)) {
      this.users.put({ ...user, passwordHash: await this.#hash(password) })
    }
    return this.#open(person, from)
  }

  async #setUp(token: string, name: string, password: string, from: From): Promise<Entry> {
    const { clock, store } = this.#options
    const link = store.setUpLink()
    // Nobody guesses 256 bits, so a wrong link costs nothing and is not counted.
    if (link === undefined || link.untilTMs <= clock.nowMs() || !isSameDigest(link.digest, digestOf(token))) {
      return { kind: 'refused', why: { key: 'access.set_up.gone' } }
    }
    const person = personName(name)
    if (person === undefined) return { kind: 'refused', why: { key: 'access.person.blank' } }
    // Used up before the account is made: a link never makes two.
    const fault = this.passwordFault(person, password) ?? refusalOfWriting(() => store.putSetUpLink(undefined))
    if (fault !== undefined) return { kind: 'refused', why: fault }
    const why = await this.give(person, { role: 'engineer', password, mustChange: false })
    if (why === undefined) return this.#open(person, from)
    refusalOfWriting(() => store.putSetUpLink(link))
    return { kind: 'refused', why }
  }

  #open(person: string, from: From): Entry {
    const nowTMs = this.#options.clock.nowMs()
    const user = this.users.find(person)
    if (user === undefined) return { kind: 'wrong' }
    // A cookie that somebody planted must not become one that is known.
    const given = from.browser
    const browser = given !== undefined && knowsBrowser(user, digestOf(given)) ? given : newToken()
    this.users.signedIn(user, digestOf(browser), nowTMs)
    const token = this.sessions.open(user.person, user.role, user.mustChange, nowTMs)
    const session = this.sessions.find(token, nowTMs)
    return session === undefined ? { kind: 'wrong' } : { kind: 'entered', session, token, browser }
  }

  #hash(password: string): Promise<string> {
    return hashPassword(password, this.#options.passwordCost)
  }

  #nobodysHash(): Promise<string> {
    this.#nobody ??= this.#hash(newToken())
    return this.#nobody
  }

  #tell(person: string, from: From, action: string, entry: Entry, isKnown = entry.kind === 'entered'): void {
    this.#options.audit.record({
      tMs: this.#options.clock.nowMs(),
      // A name that came with a wrong password is nobody's: it is what was tried.
      person: isKnown ? person : '',
      from: from.address,
      action,
      subject: isKnown ? '' : (personName(person) ?? ''),
      result: entry.kind === 'entered' ? 'done' : 'refused',
      detail: this.#detailOf(entry),
    })
  }

  #detailOf(entry: Entry): string {
    const { say } = this.#options
    if (entry.kind === 'entered') return ''
    return entry.kind === 'refused' ? say(entry.why.key, entry.why.parameters) : say(`access.audit.${entry.kind}`)
  }
}
