/**
 * Slows down whoever tries one password on many names: after some failures an address has to wait, each time twice as long.
 * `lock-out.ts` counts by name. An IPv6 guest owns a whole /64, so that counts as one address.
 */
import { isIPv6 } from 'node:net'

/** A crew may share an address, and mistypes happen, with gloves more often. */
const FREE_FAILURES = 20
const FIRST_WAIT_MS = 30_000
const LONGEST_WAIT_MS = 15 * 60_000
/** A quiet address is forgotten after this. */
const FORGET_MS = 60 * 60_000
/** Bounds the memory that a flood of addresses can take. */
const MOST_ADDRESSES = 2_000

interface Record {
  failures: number
  lastMs: number
}

const keyOf = (address: string): string => {
  if (!isIPv6(address) || address.startsWith('::ffff:')) return address
  const [head = '', tail] = address.split('::')
  const groups = head === '' ? [] : head.split(':')
  const rest = tail === undefined || tail === '' ? [] : tail.split(':')
  while (tail !== undefined && groups.length + rest.length < 8) groups.push('0')
  return `${[...groups, ...rest].slice(0, 4).join(':')}::/64`
}

export class Attempts {
  readonly #records = new Map<string, Record>()

  /** How long this address has still to wait, ms; 0 where it may try. */
  waitMs(address: string, nowMs: number): number {
    const record = this.#records.get(keyOf(address))
    if (record === undefined || record.failures < FREE_FAILURES) return 0
    const pause = Math.min(LONGEST_WAIT_MS, FIRST_WAIT_MS * 2 ** (record.failures - FREE_FAILURES))
    return Math.max(0, record.lastMs + pause - nowMs)
  }

  failed(address: string, nowMs: number): void {
    const key = keyOf(address)
    const before = this.#records.get(key)
    const failures = before === undefined || nowMs - before.lastMs > FORGET_MS ? 1 : before.failures + 1
    // Set anew, so that the map's order is by last failure and the longest quiet address goes first.
    this.#records.delete(key)
    this.#records.set(key, { failures, lastMs: nowMs })
    if (this.#records.size > MOST_ADDRESSES) {
      const [oldest] = this.#records.keys()
      if (oldest !== undefined) this.#records.delete(oldest)
    }
  }

  succeeded(address: string): void {
    this.#records.delete(keyOf(address))
  }

  get size(): number {
    return this.#records.size
  }
}
