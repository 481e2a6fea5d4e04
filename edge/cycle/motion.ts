/**
 * How line, unwind and buffer moved over the last seconds. Pure.
 *
 * A point stands at the time of each report of the unwind's surface speed, or of the carriage where no tag gives the speed:
 * it then follows from the web balance, v_u = v + dS/dt (trade notes, "Symbols and relations"; common practice, no source).
 * Points at report times and not on a fixed grid: a carriage polled once a second must not look like a staircase.
 */
import { LineFit } from './line-fit.ts'

export interface MotionPoint {
  tMs: number
  /** Line speed, m/s. */
  lineMps: number
  /** Surface speed at the unwind, m/s; measured or derived. Undefined where neither is possible. */
  unwindMps: number | undefined
  /** Web stored in the buffer, m; where the line is indexed as if it took its web evenly. */
  storedM: number | undefined
  /** As the carriage read, where that is another. */
  carriageM?: number | undefined
}

/** Surface speed by the spindle's turns, m/s: sharp where the unwind stands, off by the diameter's error elsewhere. */
export interface SpindlePoint {
  tMs: number
  surfaceMps: number
}

/** As long as a whole cycle, ms, and a limit for fast tags. */
const KEEP_SPINDLE_MS = 30_000
const MOST_SPINDLE = 400
/** Longer than any deceleration of a driven unwind, ms; and a limit for fast tags. */
const KEEP_MS = 8000
const MOST_POINTS = 240
/** Span of the slope of stored web, ms: short beside a stop of one second, long beside one step of the reading. */
export const SLOPE_MS = 400
/** Gaps between reports that are remembered, and how alike they are where a tag is polled. */
const GAPS = 8
const REGULAR_RATIO = 1.5
/** A tag that reports on change is sampled about so often, until reports in a row show it, ms (common practice, no source). */
const USUAL_MS = 100
/** Rate at which the carriage's noise is learned; one report changes it no more than so many times itself, beyond a floor in m². */
const NOISE_RATE = 0.03
const NOISE_JUMP = 25
const NOISE_FLOOR_M2 = 1e-5
/** Reports farther apart bend with the web's own motion, ms. */
const NOISE_GAP_MS = 350
/** Steps of the line speed that are kept, one each 100 ms. */
const LINE_STEPS = 20

export interface MotionState {
  points: MotionPoint[]
  spindle: SpindlePoint[]
  line: number[]
  resolutionM: number
  strokeM: number
  isResting: boolean
  gapsMs: number[]
  noiseVar: number
}

export class Motion {
  #points: MotionPoint[] = []
  #line: number[] = []
  #spindle: SpindlePoint[] = []
  /** Smallest step that the stored web was seen to make, m. */
  resolutionM = 0.5
  /** Web of one stroke where the line is indexed, m; 0 where it takes its web evenly. */
  strokeM = 0
  /** It rests between two strokes: that it goes on is not known before the next. */
  isResting = false
  #noiseVar = 0
  /** Times between the last reports, ms. */
  #gapsMs: number[] = []

  /** Time between two samples of the tag, ms: all gaps alike where it is polled, the shortest where it reports on change. */
  get periodMs(): number {
    if (this.#gapsMs.length < GAPS) return USUAL_MS
    const least = Math.min(...this.#gapsMs)
    return Math.max(...this.#gapsMs) < REGULAR_RATIO * least ? least : Math.min(least, 2 * USUAL_MS)
  }

  /** Standard deviation of one report of the stored web, m. */
  get noiseM(): number {
    return Math.sqrt(this.#noiseVar)
  }

  /** A report of the spindle. */
  noteSpindle(tMs: number, surfaceMps: number): void {
    const last = this.#spindle[this.#spindle.length - 1]
    if (last !== undefined && tMs <= last.tMs) return
    // As for the carriage: what reports on change held until just before it changed.
    if (last !== undefined && tMs - last.tMs > 1.5 * USUAL_MS) this.#spindle.push({ ...last, tMs: tMs - USUAL_MS })
    this.#spindle.push({ tMs, surfaceMps })
    while (this.#spindle.length > MOST_SPINDLE || this.#spindle[0]!.tMs < tMs - KEEP_SPINDLE_MS) this.#spindle.shift()
  }

  get spindle(): readonly SpindlePoint[] {
    return this.#spindle
  }

  /** The line speed at a step. */
  noteLine(lineMps: number): void {
    this.#line.push(lineMps)
    if (this.#line.length > LINE_STEPS) this.#line.shift()
  }

  /** A report. @param measuredMps - the unwind's surface speed where a tag gives it. */
  report(
    tMs: number,
    lineMps: number,
    measuredMps: number | undefined,
    storedM: number | undefined,
    carriageM?: number,
  ): void {
    const last = this.last
    if (last !== undefined) {
      const gapMs = tMs - last.tMs
      if (gapMs <= 0) return
      if (gapMs >= 20) {
        this.#gapsMs.push(gapMs)
        if (this.#gapsMs.length > GAPS) this.#gapsMs.shift()
      }
      this.#learnResolution(last.storedM, storedM)
      if (gapMs <= NOISE_GAP_MS) this.#learnNoise(storedM)
      // A tag that reports on change held its value until one period before it changed.
      const { periodMs } = this
      if (gapMs > 1.5 * periodMs) this.#push({ ...last, tMs: tMs - periodMs, lineMps })
    }
    this.#push({ tMs, lineMps, unwindMps: measuredMps, storedM, carriageM })
    if (measuredMps === undefined) this.#derive()
  }

  #learnResolution(beforeM: number | undefined, nowM: number | undefined): void {
    if (beforeM === undefined || nowM === undefined) return
    const step = Math.abs(nowM - beforeM)
    if (step > 1e-6 && step < this.resolutionM) this.resolutionM = step
  }

  /** From second differences, which a steady fall leaves at nothing: σ² = mean (s − 2s₁ + s₂)²/6. */
  #learnNoise(storedM: number | undefined): void {
    const before = this.last?.storedM
    const earlier = this.beforeLast?.storedM
    if (storedM === undefined || before === undefined || earlier === undefined) return
    const seen = (storedM - 2 * before + earlier) ** 2 / 6
    const most = NOISE_JUMP * Math.max(this.#noiseVar, NOISE_FLOOR_M2)
    this.#noiseVar += NOISE_RATE * (Math.min(seen, most) - this.#noiseVar)
  }

  #push(point: MotionPoint): void {
    this.#points.push(point)
    while (this.#points.length > MOST_POINTS || this.#points[0]!.tMs < point.tMs - KEEP_MS) this.#points.shift()
  }

  #derive(): void {
    const point = this.#points[this.#points.length - 1]!
    const slope = this.storedSlopeMps(SLOPE_MS)
    point.unwindMps = slope === undefined ? undefined : Math.max(0, point.lineMps + slope)
  }

  get points(): readonly MotionPoint[] {
    return this.#points
  }

  get last(): MotionPoint | undefined {
    return this.#points[this.#points.length - 1]
  }

  /** The point before the last one. */
  get beforeLast(): MotionPoint | undefined {
    return this.#points[this.#points.length - 2]
  }

  /** Slope of the stored web over the last points, by least squares, m/s. At least two points, however far apart. */
  storedSlopeMps(overMs: number): number | undefined {
    const count = this.#points.length
    if (count < 2) return undefined
    const end = this.#points[count - 1]!.tMs
    const fit = new LineFit()
    for (let i = count - 1; i >= 0; i -= 1) {
      const { tMs, storedM } = this.#points[i]!
      if (fit.count >= 2 && end - tMs > overMs) break
      if (storedM === undefined) break
      fit.add((tMs - end) / 1000, storedM)
    }
    return fit.slope
  }

  /** Line speed stayed within a share of its present value over the last second or two. */
  isLineSteady(steps: number, share: number): boolean {
    const count = this.#line.length
    if (count === 0) return false
    const now = this.#line[count - 1]!
    for (let i = Math.max(0, count - 1 - steps); i < count; i += 1) {
      if (Math.abs(this.#line[i]! - now) > share * now) return false
    }
    return true
  }

  /** Forgets everything: after a gap the past says nothing about the present. */
  clear(): void {
    this.#points = []
    this.#spindle = []
    this.#line = []
  }

  snapshot(): MotionState {
    return {
      points: this.#points.map((point) => ({ ...point })),
      spindle: this.#spindle.map((point) => ({ ...point })),
      line: [...this.#line],
      resolutionM: this.resolutionM,
      strokeM: this.strokeM,
      isResting: this.isResting,
      gapsMs: [...this.#gapsMs],
      noiseVar: this.#noiseVar,
    }
  }

  restore(state: MotionState): void {
    this.#points = state.points.map(known)
    this.#spindle = state.spindle.map((point) => ({ ...point }))
    this.#line = [...state.line]
    this.resolutionM = state.resolutionM
    this.strokeM = state.strokeM
    this.isResting = state.isResting
    this.#gapsMs = [...state.gapsMs]
    this.#noiseVar = state.noiseVar
  }
}

/** JSON leaves out what is undefined; reading it back must not turn it into null. */
export const known = (point: MotionPoint): MotionPoint => ({
  ...point,
  unwindMps: point.unwindMps ?? undefined,
  storedM: point.storedM ?? undefined,
  carriageM: point.carriageM ?? undefined,
})
