/**
 * What a countdown shows between and across estimates: it falls at most once a second, does not rise from the
 * estimate's jitter, and when it has to rise it says why. That holds across a gap too (the line threaded, data were missing,
 * the wall showed another page): people compare with the last figure that they saw. Pure: times are arguments (ms of one
 * running clock).
 */
import { stepSeconds, toStep } from '../times.ts'

/** One estimate, and the moment (ms) for which it holds. */
export interface Reading {
  atMs: number
  seconds: number
  metres: number | null
  lineSpeed: number | null
}

export type RiseReason = 'line_slowed' | 'new_roll' | 'length_revised' | 'revised'
/** Why figures fell faster than time passes. */
export type FallReason = 'line_sped_up' | 'revised'
export interface Shown {
  /** Already in steps, s. */
  seconds: number
  /** Why it went up, or fell faster than time passes, for a while after it did. */
  note: RiseReason | FallReason | undefined
  /** The splice is overdue: what is counted is the web until the core is bare. */
  isToCore?: boolean
}

/** A reading is carried forward no longer than this, ms: then it is old, not running. */
const CARRY_LIMIT_MS = 3000
/** At most one change a second; a tick early is no second change to a reader, ms. */
const LEAST_BETWEEN_CHANGES_MS = 950
/** A rise without a visible reason is believed when it has lasted so long, ms. */
const BELIEVE_RISE_AFTER_MS = 10_000
/** Nobody looked for longer than this, ms: there is no steady figure that a rise would disturb. */
const UNSEEN_AFTER_MS = 2000
/** How long the reason for a rise stays in sight, ms: long enough for a look that comes along every few seconds. */
export const NOTE_FOR_MS = 12_000
/** Speed that fell by more than this share explains a rise. */
const SLOWED_SHARE = 0.04
/** Web left that rose by more than this share, and 20 m, is another roll. */
const NEW_ROLL_SHARE = 0.3

/** Figures that fall by more than this share, and 5 s, beyond what passes within 10 s jump. */
const JUMP_SHARE = 0.12
const LEAST_JUMP_S = 5
const PACE_FOR_MS = 10_000
const FASTER_SHARE = 0.04

/** Speed and web left at one moment: what a rise is explained by. */
type Basis = Pick<Reading, 'lineSpeed' | 'metres'>

export class Countdown {
  #reading: Reading | undefined
  #shownSeconds: number | undefined
  #changedAtMs = Number.NEGATIVE_INFINITY
  #seenAtMs = Number.NEGATIVE_INFINITY
  /** When the figures last fell in their normal way. */
  #usual: Basis = { lineSpeed: null, metres: null }
  #risingSinceMs: number | undefined
  #note: { reason: RiseReason | FallReason; untilMs: number; isFall: boolean } | undefined
  /** What stood there a short while ago, and at which line speed: what a fall is measured from. */
  #pace: { atMs: number; seconds: number; lineSpeed: number | null } | undefined

  /** A new estimate; undefined where there is none (standing, threading, unknown): the last figure stays remembered. */
  update(reading: Reading | undefined): void {
    this.#reading = reading
    if (reading === undefined) this.#risingSinceMs = undefined
  }

  show(nowMs: number): Shown | undefined {
    const reading = this.#reading
    if (reading === undefined) return undefined
    const wasUnseen = nowMs - this.#seenAtMs > UNSEEN_AFTER_MS
    this.#seenAtMs = nowMs
    const carriedMs = Math.min(Math.max(0, nowMs - reading.atMs), CARRY_LIMIT_MS)
    const left = Math.max(0, reading.seconds - carriedMs / 1000)
    const next = toStep(left)
    const shown = this.#shownSeconds
    if (shown === undefined) this.#set(next, nowMs, reading)
    else if (next < shown) {
      this.#risingSinceMs = undefined
      if (nowMs - this.#changedAtMs >= LEAST_BETWEEN_CHANGES_MS) this.#set(next, nowMs, reading)
    } else if (left >= shown + 2 * stepSeconds(shown)) this.#rise(next, nowMs, reading, wasUnseen)
    else this.#risingSinceMs = undefined
    this.#noteFall(left, nowMs, reading)
    const note = this.#note !== undefined && nowMs < this.#note.untilMs ? this.#note.reason : undefined
    return { seconds: this.#shownSeconds ?? next, note }
  }

  /** People plan by what they saw: a figure that falls faster than time passes says why, unless a word stands there already. */
  #noteFall(leftS: number, nowMs: number, { lineSpeed }: Reading): void {
    const pace = this.#pace
    const isOld = pace === undefined || nowMs - pace.atMs > PACE_FOR_MS
    const expectedS = isOld ? leftS : pace.seconds - (nowMs - pace.atMs) / 1000
    const isJump = expectedS - leftS > Math.max(LEAST_JUMP_S, JUMP_SHARE * expectedS)
    if (!isOld && !isJump) return
    this.#pace = { atMs: nowMs, seconds: leftS, lineSpeed }
    if (!isJump || (this.#note !== undefined && nowMs < this.#note.untilMs)) return
    const isFaster = (lineSpeed ?? 0) > (pace?.lineSpeed ?? Number.POSITIVE_INFINITY) * (1 + FASTER_SHARE)
    this.#note = { reason: isFaster ? 'line_sped_up' : 'revised', untilMs: nowMs + NOTE_FOR_MS, isFall: true }
  }

  #set(seconds: number, nowMs: number, { lineSpeed, metres }: Reading): void {
    this.#shownSeconds = seconds
    this.#changedAtMs = nowMs
    this.#usual = { lineSpeed, metres }
  }

  #rise(next: number, nowMs: number, reading: Reading, wasUnseen: boolean): void {
    this.#risingSinceMs ??= nowMs
    const isBelieved = wasUnseen || nowMs - this.#risingSinceMs >= BELIEVE_RISE_AFTER_MS
    const reason = reasonToRise(this.#usual, reading, isBelieved)
    if (reason === undefined || nowMs - this.#changedAtMs < LEAST_BETWEEN_CHANGES_MS) return
    // A word that has just come is read before another takes its place; figures of another roll cannot wait for that.
    const standing = this.#note
    const isNews = standing !== undefined && nowMs < standing.untilMs && !standing.isFall
    if (isNews && standing.reason !== reason && reason !== 'new_roll') return
    const { lineSpeed } = this.#usual
    this.#set(next, nowMs, reading)
    // While a line keeps slowing, the speed to compare with stays the one from before it began.
    if (reason === 'line_slowed') this.#usual = { lineSpeed, metres: reading.metres }
    else this.#risingSinceMs = undefined
    this.#pace = undefined
    this.#note = { reason, untilMs: nowMs + NOTE_FOR_MS, isFall: false }
  }
}

/** Undefined where nothing visible explains the rise and it may be jitter. */
const reasonToRise = (usual: Basis, now: Basis, isBelieved: boolean): RiseReason | undefined => {
  const [lengthBefore, length] = [usual.metres ?? Number.NaN, now.metres ?? Number.NaN]
  const [speedBefore, speed] = [usual.lineSpeed ?? Number.NaN, now.lineSpeed ?? Number.NaN]
  if (length > lengthBefore * (1 + NEW_ROLL_SHARE) + 20) return 'new_roll'
  if (speed < speedBefore * (1 - SLOWED_SHARE)) return 'line_slowed'
  if (!isBelieved) return undefined
  return length > lengthBefore ? 'length_revised' : 'revised'
}
