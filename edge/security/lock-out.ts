/**
 * Locks an account for a while after ten wrong passwords in a row (IEC 62443-4-2 CR 1.11; NIST SP 800-53 AC-7).
 *
 * Nobody can be locked out by somebody else: a browser from which the person has signed in before is counted by itself
 * (OWASP's "device cookie", from memory), so a flood of guesses from elsewhere leaves it alone. Names that no user has are counted
 * just the same, or the answer would tell which names exist.
 */
import type { AccountStore, KeptLock } from './account-store.ts'

const WRONG_UNTIL_LOCK = 10
const FIRST_LOCK_MS = 15 * 60_000
/** Each further lock is twice as long up to this: some 60 guesses a day. */
const LONGEST_LOCK_MS = 4 * 60 * 60_000
/** A quiet account starts from nothing again. */
const FORGET_MS = 24 * 60 * 60_000
/** Bounds what a flood of invented names can take. */
const MOST_UNKNOWN = 2_000

type Count = Omit<KeptLock, 'tried' | 'isUser'>

export interface Tried {
  /** The name that was entered, as `Users` compares it. */
  account: string
  /** Some user has it. */
  isUser: boolean
  /** Digest of the browser, where this person has signed in from it before. */
  browser: string | undefined
}

/** Where counts outlive the process. */
export type LockStore = Pick<AccountStore, 'locks' | 'putLock' | 'removeLocks'>

const keyOf = ({ account, browser }: Tried): string => `${account}\n${browser ?? ''}`

export class LockOut {
  readonly #users = new Map<string, Count>()
  readonly #unknown = new Map<string, Count>()
  readonly #store: LockStore | undefined

  constructor(store?: LockStore) {
    this.#store = store
    for (const { tried, isUser, ...count } of store?.locks() ?? []) {
      const counts = isUser ? this.#users : this.#unknown
      counts.set(tried, count)
    }
  }

  /** Until when this account may not be tried from there, ms since 1970 UTC; undefined where it may. */
  lockedUntil(tried: Tried, nowTMs: number): number | undefined {
    const until = this.#of(tried).get(keyOf(tried))?.lockedUntilTMs ?? 0
    return until > nowTMs ? until : undefined
  }

  /** @returns until when the account is locked, where this failure was the one that locks it. */
  wrong(tried: Tried, nowTMs: number): number | undefined {
    const counts = this.#of(tried)
    const key = keyOf(tried)
    const before = counts.get(key)
    const isFresh = before === undefined || nowTMs - Math.max(before.lastTMs, before.lockedUntilTMs) > FORGET_MS
    const count = isFresh ? { wrong: 0, locks: 0, lastTMs: nowTMs, lockedUntilTMs: 0 } : before
    count.wrong += 1
    count.lastTMs = nowTMs
    // Set anew, so that the map's order is by last failure and the longest quiet one goes first.
    counts.delete(key)
    counts.set(key, count)
    if (counts === this.#unknown && counts.size > MOST_UNKNOWN) {
      const [oldest] = counts.keys()
      if (oldest !== undefined) this.#forget([oldest])
    }
    const untilTMs = lockAfter(count, nowTMs)
    this.#store?.putLock({ tried: key, isUser: tried.isUser, ...count })
    return untilTMs
  }

  right(tried: Tried): void {
    if (this.#of(tried).has(keyOf(tried))) this.#forget([keyOf(tried)])
  }

  /** Ends every lock of an account. */
  unlock(account: string): void {
    this.#forget([...this.#users.keys()].filter((key) => key.startsWith(`${account}\n`)))
  }

  #forget(keys: readonly string[]): void {
    for (const key of keys) {
      this.#users.delete(key)
      this.#unknown.delete(key)
    }
    if (keys.length > 0) this.#store?.removeLocks(keys)
  }

  /** The longest lock of an account from anywhere, ms since 1970 UTC; undefined where there is none. */
  longestLock(account: string, nowTMs: number): number | undefined {
    const ends = [...this.#users].flatMap(([key, { lockedUntilTMs }]) =>
      key.startsWith(`${account}\n`) && lockedUntilTMs > nowTMs ? [lockedUntilTMs] : [],
    )
    return ends.length === 0 ? undefined : Math.max(...ends)
  }

  /** How many invented names are counted. */
  get unknown(): number {
    return this.#unknown.size
  }

  #of({ isUser }: Tried): Map<string, Count> {
    return isUser ? this.#users : this.#unknown
  }
}

/** @returns until when it is locked, where this failure was the one that locks it. */
function lockAfter(count: Count, nowTMs: number): number | undefined {
  if (count.wrong < WRONG_UNTIL_LOCK) return undefined
  count.lockedUntilTMs = nowTMs + Math.min(LONGEST_LOCK_MS, FIRST_LOCK_MS * 2 ** count.locks)
  count.locks += 1
  count.wrong = 0
  return count.lockedUntilTMs
}
