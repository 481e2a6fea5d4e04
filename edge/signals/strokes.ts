/**
 * A line that takes its web in strokes: it moves and rests several times a second or every second or so. Pure, O(1).
 *
 * Told by a speed that keeps falling and rising, with rests shorter than what counts as standing (recording contract: 2 s).
 * Where a level is asked for the answer is
 *   v̄ = v_peak · Σ(w_i/v_i) / ΣT_i      over whole strokes i of web w_i, highest speed v_i and duration T_i,
 * which is the web taken per time, and follows a new speed with the first stroke that shows it. The sampling of the speed
 * puts beginnings and ends off by up to a report; over whole strokes that is as often early as late.
 */
import { copyOf } from '../plain-data.ts'

/** A stroke begins above and ends below these shares of the highest speed of late. */
const MOVES_SHARE = 0.6
const RESTS_SHARE = 0.3
/** Slower strokes are an encoder that flickers, m/s: 3 m/min. */
const LEAST_MPS = 0.05
/** A longer rest is a stop, and a longer stroke is none, ms. */
const LONGEST_REST_MS = 1900
const LONGEST_STROKE_MS = 4000
/** So many strokes in a row show the habit, their highest speeds this much alike: ramps are taken in strokes, too. */
const STROKES_SHOWN = 3
const ALIKE_RATIO = 1.6
/** Strokes are averaged over so long, and never over more, ms. */
const MEAN_MS = 30_000
const MOST_STROKES = 120
/** A rest or a move that lasts so many times the longest of late has ended the strokes; a report or two may be late. */
const OVER_FACTOR = 1.2
const LATE_REPORTS = 1.5
/** The newest strokes, over so long, ms, differ from those before beyond reports that are late and this share: another habit. */
const NEWEST_MS = 3000
const CHANGED_SHARE = 0.03
/** The speed changed by so much of its highest: when, between two reports, is not known. */
const EDGE_SHARE = 0.2
const EDGES_KEPT = 8
/** The time between two reports of a polled tag is learned at this rate; longer gaps are a tag that reports on change, ms. */
const PERIOD_RATE = 0.1
const LONGEST_PERIOD_MS = 1000

interface Stroke {
  /** How long it took with its rest, and how much of that it would have moved at its highest speed, ms. */
  wholeMs: number
  fullMs: number
  moveMs: number
  restMs: number
  peakMps: number
}

/** Strokes that come to their speed at once move at it for this share of their time: the newest report then tells the level. */
const FLAT_SHARE = 0.93

interface Present {
  startTMs: number
  /** The newest speed while it moved, m/s. */
  movingMps: number
  /** When its rest began, ms; null while it moves. */
  restTMs: number | null
  webM: number
  peakMps: number
}

interface Edge {
  fromTMs: number
  toTMs: number
}

export interface StrokesState {
  isShown: boolean
  periodMs: number
  last: { tMs: number; mps: number } | null
  present: Present | null
  strokes: Stroke[]
  edges: Edge[]
}

const nothing = (): StrokesState => ({
  isShown: false,
  periodMs: 100,
  last: null,
  present: null,
  strokes: [],
  edges: [],
})

export class Strokes {
  #s = nothing()

  /** A report of the line speed. */
  report(mps: number, tMs: number): void {
    const s = this.#s
    const { last } = s
    if (last !== null && tMs <= last.tMs) {
      last.mps = mps
      return
    }
    s.last = { tMs, mps }
    if (last === null) return
    const gapMs = tMs - last.tMs
    if (gapMs <= LONGEST_PERIOD_MS) s.periodMs += PERIOD_RATE * (Math.min(gapMs, 2 * s.periodMs) - s.periodMs)
    const { present } = s
    const peakMps = Math.max(LEAST_MPS, present?.peakMps ?? 0, s.strokes[s.strokes.length - 1]?.peakMps ?? 0)
    if (Math.abs(mps - last.mps) > EDGE_SHARE * peakMps) {
      s.edges.push({ fromTMs: Math.max(last.tMs, tMs - 2 * s.periodMs), toTMs: tMs })
      if (s.edges.length > EDGES_KEPT) s.edges.shift()
    }
    if (present === null) {
      if (mps > LEAST_MPS && last.mps <= RESTS_SHARE * mps) this.#begin(tMs, mps)
      return
    }
    present.webM += (last.mps * gapMs) / 1000
    if (present.restTMs === null) {
      present.peakMps = Math.max(present.peakMps, mps)
      if (mps < RESTS_SHARE * present.movingMps) present.restTMs = tMs
      else present.movingMps = mps
      if (present.restTMs !== null) return
      if (tMs - present.startTMs > LONGEST_STROKE_MS || this.#isOver(tMs)) this.#forget()
    } else if (mps > Math.max(LEAST_MPS, MOVES_SHARE * this.#usualPeakMps(present))) {
      this.#close(present, tMs)
      this.#begin(tMs, mps)
    }
  }

  /** A stroke after a much faster one is seen all the same: a line ramps down in strokes. */
  #usualPeakMps({ peakMps }: Present): number {
    return peakMps / ALIKE_RATIO
  }

  #begin(tMs: number, mps: number): void {
    this.#s.present = { startTMs: tMs, restTMs: null, webM: 0, peakMps: mps, movingMps: mps }
  }

  #close({ startTMs, restTMs, webM, peakMps }: Present, tMs: number): void {
    const s = this.#s
    const restMs = tMs - restTMs!
    if (restMs > LONGEST_REST_MS) {
      // After a stop the habit is the same until a stroke that does not end says otherwise.
      if (!s.isShown) s.strokes = []
      return
    }
    s.strokes.push({
      wholeMs: tMs - startTMs,
      fullMs: (1000 * webM) / peakMps,
      moveMs: restTMs! - startTMs,
      restMs,
      peakMps,
    })
    s.strokes = s.strokes.slice(Math.max(newestFrom(s.strokes, MEAN_MS), s.strokes.length - MOST_STROKES))
    const from = newestFrom(s.strokes, NEWEST_MS)
    if (this.#isChanged(from)) s.strokes = s.strokes.slice(from)
    const newest = s.strokes.slice(-STROKES_SHOWN)
    const peaks = newest.map((one) => one.peakMps)
    if (newest.length === STROKES_SHOWN && Math.max(...peaks) < ALIKE_RATIO * Math.min(...peaks)) s.isShown = true
  }

  /** The strokes from an index on move for another share of their time than those before. */
  #isChanged(from: number): boolean {
    const { strokes, periodMs } = this.#s
    if (from === 0) return false
    const newest = strokes.slice(from)
    const wholeMs = newest.reduce((sum, one) => sum + one.wholeMs, 0)
    const before = shareOf(strokes.slice(0, from))
    return Math.abs(shareOf(newest) - before) > CHANGED_SHARE + (LATE_REPORTS * periodMs) / wholeMs
  }

  /** The rest or the move lasts longer than any of late. */
  #isOver(tMs: number): boolean {
    const { present, strokes, periodMs } = this.#s
    if (present === null || strokes.length === 0) return false
    const isResting = present.restTMs !== null
    const longestMs = Math.max(...strokes.map(({ moveMs, restMs }) => (isResting ? restMs : moveMs)))
    const limitMs = OVER_FACTOR * longestMs + LATE_REPORTS * periodMs
    return tMs - (present.restTMs ?? present.startTMs) > (isResting ? Math.min(limitMs, LONGEST_REST_MS) : limitMs)
  }

  #forget(): void {
    const { last, periodMs } = this.#s
    this.#s = { ...nothing(), last, periodMs }
  }

  /** The speed has no value from here on. */
  lose(): void {
    this.#s = nothing()
  }

  /** The line takes its web in strokes now; a rest that lasts longer than a stroke's has ended them. */
  isRunning(tMs: number): boolean {
    const { isShown, present } = this.#s
    return isShown && present !== null && !this.#isOver(tMs)
  }

  get isResting(): boolean {
    return (this.#s.present?.restTMs ?? null) !== null
  }

  /** Mean duration of the strokes, ms. */
  get wholeMs(): number {
    const { strokes } = this.#s
    return strokes.reduce((sum, one) => sum + one.wholeMs, 0) / Math.max(1, strokes.length)
  }

  /** The line's speed without its strokes, m/s. @param mps - what its tag says. */
  levelMps(tMs: number, mps: number): number {
    if (!this.isRunning(tMs)) return mps
    const { present, strokes } = this.#s
    const before = strokes[strokes.length - 1]!
    const { startTMs, restTMs, peakMps, movingMps } = present!
    const { fullMs, moveMs } = sumOf(strokes)
    if (fullMs > FLAT_SHARE * moveMs) return shareOf(strokes) * movingMps
    // A stroke may still be on its way to its highest speed.
    const isTold = restTMs !== null || tMs - startTMs >= before.moveMs / 2
    return shareOf(strokes) * (isTold ? peakMps : Math.max(peakMps, before.peakMps))
  }

  /** A stroke began or ended between these moments, and when is not known. */
  isUnclear(fromTMs: number, toTMs: number): boolean {
    return this.#s.edges.some((edge) => edge.fromTMs < toTMs && edge.toTMs > fromTMs)
  }

  snapshot(): StrokesState {
    return copyOf(this.#s)
  }

  restore(state: StrokesState): void {
    this.#s = copyOf(state)
  }
}

/** Index of the first of the newest strokes that together last no longer than that, and one more. */
function newestFrom(strokes: readonly Stroke[], overMs: number): number {
  let sumMs = 0
  for (let i = strokes.length - 1; i >= 0; i -= 1) {
    sumMs += strokes[i]!.wholeMs
    if (sumMs > overMs) return i
  }
  return 0
}

/** Of its time a line moves so much, as if at its highest speed. */
function shareOf(strokes: readonly Stroke[]): number {
  const { fullMs, wholeMs } = sumOf(strokes)
  return wholeMs > 0 ? fullMs / wholeMs : 1
}

function sumOf(strokes: readonly Stroke[]): { fullMs: number; moveMs: number; wholeMs: number } {
  const sum = { fullMs: 0, moveMs: 0, wholeMs: 0 }
  for (const one of strokes) {
    sum.fullMs += one.fullMs
    sum.moveMs += one.moveMs
    sum.wholeMs += one.wholeMs
  }
  return sum
}
