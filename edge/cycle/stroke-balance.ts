/**
 * What the buffer would hold if the line took its web evenly and not in strokes. Pure, O(1).
 *
 * Between two reports of the carriage the unwind gave u·dt = w + dS, with w the web that the line took (web balance, trade
 * notes). In an interval in which a stroke began or ended w is wrong by up to a report's time at full speed, so u is taken
 * from the intervals on either side: the roll is far too heavy to feel a stroke. The evened content then is
 *   S̄ ← S̄ + (u − v̄)·dt,   drawn to S + ∫(v − v̄)dt with a time constant of some strokes,
 * where v̄ is the line's mean speed; the integral is let go by and by, so that it lies about nothing and S̄ amid the strokes.
 * Where the carriage is read too seldom to see inside a stroke, the mean over whole strokes stands for it.
 */

import { copyOf } from '../plain-data.ts'
import type { Strokes } from '../signals/strokes.ts'

/** Time constants, s: of the integral, and of the draw; long beside a stroke of about one. */
const EVEN_S = 5
const DRAW_S = 3
/** Fewer reports to a stroke do not show what happens inside it. */
const REPORTS_TO_SEE = 3.5
/** Strokes that end and begin in so many intervals in a row leave nothing between them. */
const MOST_UNCLEAR = 4
/** A carriage that is read more seldom than this is taken as it is, ms: a whole cycle is then held against it (model.ts). */
const COARSE_MS = 350
/** Mean over so many reports at least. */
const MEAN_REPORTS = 2
const MEAN_MOST = 12
const PERIOD_RATE = 0.1

/** Content of the buffer at a time, ms and m: evened, and as the carriage read. */
export interface Stored {
  tMs: number
  storedM: number
  carriageM: number
}

interface Report {
  tMs: number
  storedM: number
  lineWebM: number
}

interface Waiting {
  tMs: number
  dtS: number
  levelMps: number
  targetM: number
  carriageM: number
}

export interface StrokeBalanceState {
  isOn: boolean
  last: Report | null
  periodMs: number
  evenM: number
  aheadM: number
  rateMps: number | null
  waiting: Waiting[]
  recent: Stored[]
}

const nothing = (): StrokeBalanceState => ({
  isOn: false,
  last: null,
  periodMs: 100,
  evenM: 0,
  aheadM: 0,
  rateMps: null,
  waiting: [],
  recent: [],
})

export class StrokeBalance {
  #s = nothing()

  /**
   * A report of the carriage.
   * @param lineWebM - taken by the line so far, m; @param levelMps - its speed without its strokes.
   * @returns the evened content at this time and at those that waited for it; nothing while a stroke begins or ends.
   */
  report(tMs: number, storedM: number, lineWebM: number, levelMps: number, strokes: Strokes): Stored[] {
    const s = this.#s
    const { last } = s
    s.last = { tMs, storedM, lineWebM }
    if (last !== null && tMs > last.tMs)
      s.periodMs += PERIOD_RATE * (Math.min(tMs - last.tMs, 2 * s.periodMs) - s.periodMs)
    const isOn = strokes.isRunning(tMs)
    if (!isOn || !s.isOn || last === null || tMs <= last.tMs) {
      this.#s = { ...nothing(), isOn, last: s.last, periodMs: s.periodMs, evenM: storedM }
      return [{ tMs, storedM, carriageM: storedM }]
    }
    if (strokes.wholeMs < REPORTS_TO_SEE * s.periodMs) return this.#mean(tMs, storedM, strokes.wholeMs)
    s.recent = []
    const dtS = (tMs - last.tMs) / 1000
    const tookM = lineWebM - last.lineWebM
    s.aheadM = (s.aheadM + tookM - levelMps * dtS) * Math.exp(-dtS / EVEN_S)
    s.waiting.push({ tMs, dtS, levelMps, targetM: storedM + s.aheadM, carriageM: storedM })
    const isClear = !strokes.isUnclear(last.tMs, tMs)
    if (!isClear && s.waiting.length <= MOST_UNCLEAR) return []
    const rateMps = isClear ? (tookM + storedM - last.storedM) / dtS : (s.rateMps ?? levelMps)
    const betweenMps = s.rateMps === null ? rateMps : (s.rateMps + rateMps) / 2
    const evened = s.waiting.map(({ tMs: atMs, ...one }, i) => {
      const unwindMps = i === s.waiting.length - 1 ? rateMps : betweenMps
      s.evenM += (unwindMps - one.levelMps) * one.dtS
      s.evenM += (one.targetM - s.evenM) * (1 - Math.exp(-one.dtS / DRAW_S))
      return { tMs: atMs, storedM: s.evenM, carriageM: one.carriageM }
    })
    s.rateMps = rateMps
    s.waiting = []
    return evened
  }

  /** Strokes too short to be looked into: the mean of as many as the reports need. */
  #mean(tMs: number, storedM: number, wholeMs: number): Stored[] {
    const s = this.#s
    s.waiting = []
    s.rateMps = null
    s.aheadM = 0
    s.evenM = storedM
    if (s.periodMs > COARSE_MS) return [{ tMs, storedM, carriageM: storedM }]
    s.recent.push({ tMs, storedM, carriageM: storedM })
    const overMs = wholeMs * Math.ceil((MEAN_REPORTS * s.periodMs) / wholeMs)
    while (s.recent.length > MEAN_MOST || s.recent[0]!.tMs <= tMs - overMs) s.recent.shift()
    const { length } = s.recent
    s.evenM = s.recent.reduce((sum, one) => sum + one.storedM, 0) / length
    const carriageM = Math.min(...s.recent.map((one) => one.carriageM))
    return [{ tMs: Math.round(s.recent.reduce((sum, one) => sum + one.tMs / length, 0)), storedM: s.evenM, carriageM }]
  }

  /** The newest evened content, m; undefined where the line takes its web evenly. */
  get evenM(): number | undefined {
    return this.#s.isOn ? this.#s.evenM : undefined
  }

  /** After a gap the past says nothing about the present. */
  clear(): void {
    this.#s = nothing()
  }

  snapshot(): StrokeBalanceState {
    return copyOf(this.#s)
  }

  restore(state: StrokeBalanceState): void {
    this.#s = copyOf(state)
  }
}
