/**
 * The decurler's setting against the roll's diameter, learned as a curve over rolls; says when it stopped following. Pure.
 *
 * Curl grows as the roll gets smaller, so a decurler that follows moves with the diameter. The curve is one mean per span of
 * diameter, of each of the last rolls; what counts is its change from span to span, so a level that people chose is no fault.
 */
import { median, scatter } from '../estimators/statistics.ts'
import { copyOf } from '../plain-data.ts'

/** Span of diameter that makes one point of the curve, m; and rolls that count for it. */
const SPAN_M = 0.02
const KEEP_ROLLS = 8
/** Rolls before the curve is believed. */
const LEAST_ROLLS = 3
/** Spans over which the change is compared. */
const COMPARED = 3
/** The curve has to rise or fall by so many of its scatters over them, and the setting by less than this share of that. */
const LEAST_SCATTERS = 4
const STANDS_SHARE = 0.25

interface Point {
  span: number
  mean: number
}

interface DecurlerState {
  /** By span: means of the last rolls. */
  curve: Record<number, number[]>
  now: { span: number; sum: number; n: number } | null
  passed: Point[]
  isStanding: boolean
}

export class DecurlerWatch {
  #s: DecurlerState = { curve: {}, now: null, passed: [], isStanding: false }

  /** What the setting should have done, and did, since it stopped following; undefined while it follows. */
  get standing(): { position: number; expected: number } | undefined {
    const last = this.#s.passed.at(-1)
    if (!this.#s.isStanding || last === undefined) return undefined
    return { position: last.mean, expected: median(this.#s.curve[last.span] ?? []) ?? last.mean }
  }

  rollChanged(): void {
    this.#s.now = null
    this.#s.passed = []
    this.#s.isStanding = false
  }

  step(diameterM: number | undefined, position: number | undefined): void {
    if (diameterM === undefined || position === undefined) return
    const span = Math.floor(diameterM / SPAN_M)
    const { now } = this.#s
    // A reading that jumps up by noise stays in the span where the roll was.
    if (now === null || span < now.span) {
      if (now !== null) this.#pass({ span: now.span, mean: now.sum / now.n })
      this.#s.now = { span, sum: position, n: 1 }
    } else {
      now.sum += position
      now.n += 1
    }
  }

  #pass(point: Point): void {
    this.#s.passed.push(point)
    if (this.#s.passed.length > COMPARED) this.#s.passed.shift()
    this.#judge()
    if (this.#s.isStanding) return
    const rolls = (this.#s.curve[point.span] ??= [])
    rolls.push(point.mean)
    if (rolls.length > KEEP_ROLLS) rolls.shift()
  }

  #judge(): void {
    const [first] = this.#s.passed
    const last = this.#s.passed.at(-1)
    if (first === undefined || last === undefined || this.#s.passed.length < COMPARED) return
    const from = this.#s.curve[first.span] ?? []
    const to = this.#s.curve[last.span] ?? []
    if (Math.min(from.length, to.length) < LEAST_ROLLS) return
    const expected = median(to)! - median(from)!
    const sd = Math.max(scatter(from) ?? 0, scatter(to) ?? 0)
    const moves = Math.abs(expected) > LEAST_SCATTERS * sd && expected !== 0
    this.#s.isStanding = moves && (last.mean - first.mean) / expected < STANDS_SHARE
  }

  snapshot(): DecurlerState {
    return copyOf(this.#s)
  }

  restore(state: DecurlerState): void {
    this.#s = copyOf(state)
  }
}
