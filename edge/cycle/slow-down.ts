/**
 * A line that slows down on purpose before its splice and comes back after it: from which speed, to which, how steeply, and
 * how much web it takes at the low speed before the cycle. Pure, bounded.
 */
import { copyOf } from '../plain-data.ts'

/** A line below this share of the speed it held has begun to slow; at this share of it it is back. */
const LEFT_SHARE = 0.97
const BACK_SHARE = 0.95
/** Slower than this share at the cycle's start is a slow-down and no wandering. */
const SLOW_SHARE = 0.95
/** A speed that is held for longer than this before the cycle is the line's own, ms. */
const LONGEST_MS = 120_000
/** The line is brought back soon after the splice, or the speed was changed for another reason, ms. */
const BACK_WITHIN_MS = 120_000
/** One point each so many ms, and how many. */
const EVERY_MS = 250
const MOST_POINTS = 240
/** Between these shares of the way the ramp is straight. */
const RAMP_FROM = 0.1
const RAMP_TO = 0.9

export interface SlowDown {
  mps: number
  rampMps2: number
  /** Line web at the low speed, from the ramp's end to the cycle's start, m. */
  holdM: number
}

/** What one splice showed; `slow` null: the line kept its speed. */
export interface SeenSlowDown {
  tMs: number
  fromMps: number
  slow: SlowDown | null
}

interface Point {
  tMs: number
  mps: number
  webM: number
}

export interface SlowDownState {
  fromMps: number | null
  points: Point[]
  /** Shown by the cycle at hand, until the line comes back. */
  pending: SeenSlowDown | null
}

export class SlowDownWatch {
  #fromMps: number | undefined
  #points: Point[] = []
  #pending: SeenSlowDown | undefined

  /**
   * @param webM - taken by the line; @param heldMps - the speed that the line holds now, if it does.
   * @returns what the last cycle showed, once the line came back.
   */
  step(tMs: number, lineMps: number, webM: number, heldMps: number | undefined): SeenSlowDown | undefined {
    const pending = this.#pending
    if (pending !== undefined) {
      if (lineMps >= BACK_SHARE * pending.fromMps) {
        this.#clear()
        return pending
      }
      if (tMs - pending.tMs > BACK_WITHIN_MS) this.#clear()
    }
    const first = this.#points[0]
    const isLeft = this.#fromMps !== undefined && lineMps < LEFT_SHARE * this.#fromMps
    if (!isLeft || (first !== undefined && tMs - first.tMs > LONGEST_MS)) {
      this.#points = []
      if (heldMps !== undefined && this.#pending === undefined) this.#fromMps = heldMps
    } else this.#note({ tMs, mps: lineMps, webM })
    return undefined
  }

  /** The line slows: the first of it in full, then less and less often, so that minutes fit. */
  #note(point: Point): void {
    const last = this.#points[this.#points.length - 1]
    if (last !== undefined && point.tMs - last.tMs < EVERY_MS) return
    if (this.#points.length >= MOST_POINTS) this.#points.splice(MOST_POINTS / 2, MOST_POINTS / 2, last!)
    this.#points.push(point)
  }

  /** @returns at once where the line kept its speed; else `step` tells when it has come back. */
  cycleStarted(tMs: number, lineMps: number, webM: number): SeenSlowDown | undefined {
    const fromMps = this.#fromMps
    this.#pending = undefined
    if (fromMps === undefined) return undefined
    if (lineMps >= SLOW_SHARE * fromMps) return { tMs, fromMps: lineMps, slow: null }
    const slow = this.#measure(fromMps, lineMps, webM)
    if (slow !== undefined) this.#pending = { tMs, fromMps, slow }
    return undefined
  }

  /** The cycle failed, or the line stands: nothing was shown. */
  forget(): void {
    this.#clear()
  }

  #measure(fromMps: number, toMps: number, webM: number): SlowDown | undefined {
    const fallMps = fromMps - toMps
    const top = this.#points.findLast(({ mps }) => mps >= fromMps - RAMP_FROM * fallMps) ?? this.#points[0]
    const bottom = this.#points.find(({ mps }) => mps <= fromMps - RAMP_TO * fallMps)
    if (top === undefined || bottom === undefined || bottom.tMs <= top.tMs) return undefined
    const rampMps2 = ((top.mps - bottom.mps) * 1000) / (bottom.tMs - top.tMs)
    const restM = Math.max(0, bottom.mps - toMps) ** 2 / (2 * rampMps2)
    return { mps: toMps, rampMps2, holdM: Math.max(0, webM - bottom.webM - restM) }
  }

  #clear(): void {
    this.#points = []
    this.#pending = undefined
  }

  snapshot(): SlowDownState {
    return copyOf({
      fromMps: this.#fromMps ?? null,
      points: this.#points,
      pending: this.#pending ?? null,
    })
  }

  restore(state: SlowDownState): void {
    const { fromMps, points, pending } = copyOf(state)
    this.#fromMps = fromMps ?? undefined
    this.#points = points
    this.#pending = pending ?? undefined
  }
}
