/**
 * What a countdown shows between and across estimates: it falls at most once a second, does not rise from the
 * estimate's jitter, and when it has to rise it says why. Pure: times are arguments (ms of one running clock).
 */
import { stepSeconds, toStep } from '../times.ts'

/** One estimate, and the moment (ms) for which it holds. */
export interface Reading {
  atMs: number
  seconds: number
  metres: number | null
  lineSpeed: number | null
}

export type RiseReason = 'line_slowed' | 'new_roll' | 'revised'
export interface Shown {
  /** Already in steps, s. */
  seconds: number
  /** Why it went up, for a while after it did. */
  note: RiseReason | undefined
}

/** A reading is carried forward no longer than this, ms: then it is old, not running. */
const CARRY_LIMIT_MS = 3000
/** At most one change a second; a tick early is no second change to a reader, ms. */
const LEAST_BETWEEN_CHANGES_MS = 950
/** A rise without a visible reason is believed when it has lasted so long, ms. */
const BELIEVE_RISE_AFTER_MS = 10_000
/** How long the reason for a rise stays in sight, ms. */
const NOTE_FOR_MS = 10_000
/** Speed that fell by more than this share explains a rise. */
const SLOWED_SHARE = 0.04
/** Web left that rose by more than this share, and 20 m, is another roll. */
const NEW_ROLL_SHARE = 0.3

export class Countdown {
  #reading: Reading | undefined
  #shownSeconds: number | undefined
  #changedAtMs = 0
  /** Speed and web left when the figures last fell in their normal way. */
  #usual: { lineSpeed: number | null; metres: number | null } | undefined
  #risingSinceMs: number | undefined
  #note: { reason: RiseReason; untilMs: number } | undefined

  /** A new estimate; undefined where there is none (standing, unknown): the next one starts afresh. */
  update(reading: Reading | undefined): void {
    this.#reading = reading
    if (reading !== undefined) return
    this.#shownSeconds = undefined
    this.#usual = undefined
    this.#risingSinceMs = undefined
    this.#note = undefined
  }

  show(nowMs: number): Shown | undefined {
    const reading = this.#reading
    if (reading === undefined) return undefined
    const carriedMs = Math.min(Math.max(0, nowMs - reading.atMs), CARRY_LIMIT_MS)
    const left = Math.max(0, reading.seconds - carriedMs / 1000)
    const next = toStep(left)
    const shown = this.#shownSeconds
    if (shown === undefined) this.#set(next, nowMs, reading)
    else if (next < shown) {
      this.#risingSinceMs = undefined
      if (nowMs - this.#changedAtMs >= LEAST_BETWEEN_CHANGES_MS) this.#set(next, nowMs, reading)
    } else if (left >= shown + 2 * stepSeconds(shown)) this.#rise(next, nowMs, reading)
    else {
      this.#risingSinceMs = undefined
      if (this.#usual === undefined) this.#usual = { lineSpeed: reading.lineSpeed, metres: reading.metres }
    }
    const note = this.#note !== undefined && nowMs < this.#note.untilMs ? this.#note.reason : undefined
    return { seconds: this.#shownSeconds ?? next, note }
  }

  #set(seconds: number, nowMs: number, reading: Reading): void {
    this.#shownSeconds = seconds
    this.#changedAtMs = nowMs
    this.#usual = { lineSpeed: reading.lineSpeed, metres: reading.metres }
  }

  #rise(next: number, nowMs: number, reading: Reading): void {
    this.#risingSinceMs ??= nowMs
    const reason = this.#reasonToRise(nowMs, reading)
    if (reason === undefined || nowMs - this.#changedAtMs < LEAST_BETWEEN_CHANGES_MS) return
    const usual = this.#usual
    this.#set(next, nowMs, reading)
    // While a line keeps slowing, the speed to compare with stays the one from before it began.
    if (reason === 'line_slowed' && usual !== undefined) this.#usual = { ...usual, metres: reading.metres }
    this.#note = { reason, untilMs: nowMs + NOTE_FOR_MS }
    if (reason !== 'line_slowed') this.#risingSinceMs = undefined
  }

  #reasonToRise(nowMs: number, reading: Reading): RiseReason | undefined {
    const { lineSpeed, metres } = this.#usual ?? { lineSpeed: null, metres: null }
    if (metres !== null && reading.metres !== null && reading.metres > metres * (1 + NEW_ROLL_SHARE) + 20)
      return 'new_roll'
    if (lineSpeed !== null && reading.lineSpeed !== null && reading.lineSpeed < lineSpeed * (1 - SLOWED_SHARE))
      return 'line_slowed'
    return nowMs - (this.#risingSinceMs ?? nowMs) >= BELIEVE_RISE_AFTER_MS ? 'revised' : undefined
  }
}
