/**
 * Reconciles the list of splices with the PLC's own counter. Pure.
 *
 * Each rise of the counter is paired with the splice nearest in time. What finds no partner within the window is named:
 * a count without a splice (nobody saw it happen: it can be entered by hand), or a splice without a count.
 */
import { copyOf } from '../plain-data.ts'
export interface CountMismatch {
  tMs: number
  kind: 'counted' | 'seen'
  splices: number
}

/** A counter may rise at the cycle's start or once the refill is over, and its tag may be polled slowly, ms. */
const WINDOW_MS = 180_000
/** A counter that rises by more than this at once was set by a person, or counts something else. */
const MOST_AT_ONCE = 20

interface Waiting {
  tMs: number
  /** An attempt without a transfer, or a missed splice: some counters count these too, others don't. */
  isOptional: boolean
}

interface CountState {
  last: number | null
  lastTMs: number
  counts: { tMs: number }[]
  splices: Waiting[]
}

export class CountCheck {
  #s: CountState = { last: null, lastTMs: 0, counts: [], splices: [] }

  /** The counter's value now. */
  count(value: number, tMs: number): void {
    const { last } = this.#s
    this.#s.last = value
    this.#s.lastTMs = tMs
    // Before it is known, and where it starts anew, there is nothing to compare.
    if (last === null || value < last) return
    const rise = Math.round(value - last)
    if (rise > MOST_AT_ONCE) return
    for (let i = 0; i < rise; i++) this.#s.counts.push({ tMs })
  }

  /** A splice that this monitor saw. @param isOptional - it had no transfer. */
  seen(tMs: number, isOptional: boolean): void {
    if (this.#s.last !== null) this.#s.splices.push({ tMs, isOptional })
  }

  /** Nobody saw what happened until now: what waits for a partner, and what the counter did meanwhile, is no finding. */
  gap(): void {
    this.#s = { last: null, lastTMs: this.#s.lastTMs, counts: [], splices: [] }
  }

  step(tMs: number): CountMismatch[] {
    if (this.#s.counts.length === 0 && this.#s.splices.length === 0) return []
    this.#pair(({ isOptional }) => !isOptional)
    const isDue = (one: { tMs: number }): boolean => tMs - one.tMs > WINDOW_MS
    // An attempt may be counted or not: only a count that found no splice was perhaps its.
    if (this.#s.counts.some(isDue)) this.#pair(() => true)
    const counted = this.#s.counts.filter(isDue).map(({ tMs: at }) => mismatch(at, 'counted'))
    const seen = this.#s.splices
      .filter((one) => isDue(one) && !one.isOptional)
      .map(({ tMs: at }) => mismatch(at, 'seen'))
    this.#s.counts = this.#s.counts.filter((one) => !isDue(one))
    // An attempt waits for as long as a count that may be its.
    this.#s.splices = this.#s.splices.filter((one) => tMs - one.tMs <= (one.isOptional ? 2 : 1) * WINDOW_MS)
    return [...counted, ...seen].sort((a, b) => a.tMs - b.tMs)
  }

  /** Pairs counts with splices that may be theirs, nearest in time first. */
  #pair(mayBe: (splice: Waiting) => boolean): void {
    for (;;) {
      const pairs = this.#s.counts.flatMap((count) =>
        this.#s.splices
          .filter((splice) => mayBe(splice) && Math.abs(splice.tMs - count.tMs) <= WINDOW_MS)
          .map((splice) => ({ count, splice, apartMs: Math.abs(splice.tMs - count.tMs) })),
      )
      const best = pairs.sort((a, b) => a.apartMs - b.apartMs)[0]
      if (best === undefined) return
      this.#s.counts = this.#s.counts.filter((one) => one !== best.count)
      this.#s.splices = this.#s.splices.filter((one) => one !== best.splice)
    }
  }

  snapshot(): CountState {
    return copyOf(this.#s)
  }

  restore(state: CountState): void {
    this.#s = copyOf(state)
  }
}

const mismatch = (tMs: number, kind: CountMismatch['kind']): CountMismatch => ({ tMs, kind, splices: 1 })
