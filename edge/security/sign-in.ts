/**
 * Signing in with the site's one password, as any named person; a session may do what an operator may.
 * Named users with roles of their own come in here: `enter` is the only place that turns a password into a session.
 */
import type { Clock } from '../clock.ts'
import { Attempts } from './attempts.ts'
import type { AuditSink } from './audit.ts'
import { verifyPassword } from './password.ts'
import { Sessions } from './sessions.ts'

/** Each check takes 32 MB and a good part of a core: one at a time, and no long queue. */
const MOST_WAITING = 8

export type Entry =
  | { kind: 'entered'; token: string }
  | { kind: 'wrong' } // the password is another one
  | { kind: 'wait'; seconds: number } // too many failures from this address
  | { kind: 'busy' } // too many are signing in at this moment

export interface SignInOptions {
  passwordHash: string
  clock: Clock
  audit: AuditSink
}

export class SignIn {
  readonly sessions = new Sessions()
  readonly #attempts = new Attempts()
  readonly #passwordHash: string
  readonly #clock: Clock
  readonly #audit: AuditSink
  #waiting = 0
  #turn: Promise<unknown> = Promise.resolve()

  constructor(options: SignInOptions) {
    this.#passwordHash = options.passwordHash
    this.#clock = options.clock
    this.#audit = options.audit
  }

  /** Checks the password of somebody at `address`; every try goes into the audit. */
  async enter(person: string, password: string, address: string): Promise<Entry> {
    const entry =
      this.#waiting >= MOST_WAITING ? ({ kind: 'busy' } as const) : await this.#inTurn(person, password, address)
    const tMs = this.#clock.nowMs()
    const detail = { entered: '', wrong: 'wrong password', wait: 'locked after failures', busy: 'too many at once' }
    this.#audit.record({
      tMs,
      person,
      from: address,
      action: 'sign-in',
      subject: '',
      result: entry.kind === 'entered' ? 'done' : 'refused',
      detail: detail[entry.kind],
    })
    return entry
  }

  #inTurn(person: string, password: string, address: string): Promise<Entry> {
    this.#waiting++
    const entry = this.#turn.then(() => this.#check(person, password, address))
    const done = (): void => {
      this.#waiting--
    }
    this.#turn = entry.then(done, done)
    return entry
  }

  async #check(person: string, password: string, address: string): Promise<Entry> {
    const waitMs = this.#attempts.waitMs(address, this.#clock.nowMs())
    if (waitMs > 0) return { kind: 'wait', seconds: Math.ceil(waitMs / 1000) }
    if (!(await verifyPassword(password, this.#passwordHash))) {
      this.#attempts.failed(address, this.#clock.nowMs())
      return { kind: 'wrong' }
    }
    this.#attempts.succeeded(address)
    return { kind: 'entered', token: this.sessions.open(person, 'operator', this.#clock.nowMs()) }
  }
}
