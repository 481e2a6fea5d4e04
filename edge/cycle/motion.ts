/**
 * How line, unwind and buffer moved over the last seconds, on the pipeline's fixed step. Pure.
 *
 * Where no tag gives the unwind's surface speed it follows from the web balance: v_u = v + dS/dt
 * (trade notes, "Symbols and relations"; common practice, no source).
 */
export interface MotionPoint {
  tMs: number
  /** Line speed, m/s. */
  lineMps: number
  /** Surface speed at the unwind, m/s; measured or derived. Undefined where neither is possible. */
  unwindMps: number | undefined
  /** Web stored in the buffer, m. */
  storedM: number | undefined
}

/** Eight seconds at the pipeline's step of 100 ms: longer than any deceleration of a driven unwind. */
const KEEP = 80
/** Points of the slope of stored web: 0.5 s, short beside a stop of one second, long beside one step of the reading. */
const SLOPE_POINTS = 5

export interface MotionState {
  points: MotionPoint[]
  resolutionM: number
}

export class Motion {
  #points: MotionPoint[] = []
  /** Smallest step that the stored web was seen to make, m. */
  resolutionM = 0.5

  /** @param measuredMps - the unwind's surface speed where a tag gives it. */
  push(tMs: number, lineMps: number, measuredMps: number | undefined, storedM: number | undefined): MotionPoint {
    const last = this.last
    if (last?.storedM !== undefined && storedM !== undefined && storedM !== last.storedM) {
      const step = Math.abs(storedM - last.storedM)
      if (step > 1e-6 && step < this.resolutionM) this.resolutionM = step
    }
    const point: MotionPoint = { tMs, lineMps, unwindMps: measuredMps, storedM }
    this.#points.push(point)
    if (this.#points.length > KEEP) this.#points.shift()
    if (measuredMps === undefined) {
      const slope = this.storedSlopeMps(SLOPE_POINTS)
      if (slope !== undefined) point.unwindMps = Math.max(0, lineMps + slope)
    }
    return point
  }

  get points(): readonly MotionPoint[] {
    return this.#points
  }

  get last(): MotionPoint | undefined {
    return this.#points[this.#points.length - 1]
  }

  /** The point of about so many seconds ago, or the oldest. */
  ago(seconds: number): MotionPoint | undefined {
    const index = this.#points.length - 1 - Math.round(seconds * 10)
    return this.#points[Math.max(0, index)]
  }

  /** Slope of the stored web over the last points, by least squares, m/s. */
  storedSlopeMps(count: number): number | undefined {
    const from = this.#points.length - count
    if (from < 0) return undefined
    const t0 = this.#points[from]!.tMs
    let n = 0
    let sumT = 0
    let sumS = 0
    let sumTT = 0
    let sumTS = 0
    for (let i = from; i < this.#points.length; i += 1) {
      const { tMs, storedM } = this.#points[i]!
      if (storedM === undefined) return undefined
      const t = (tMs - t0) / 1000
      n += 1
      sumT += t
      sumS += storedM
      sumTT += t * t
      sumTS += t * storedM
    }
    const spread = n * sumTT - sumT * sumT
    return spread > 0 ? (n * sumTS - sumT * sumS) / spread : undefined
  }

  /** Line speed changed by less than a share over the last seconds. */
  isLineSteady(seconds: number, share: number): boolean {
    const now = this.last
    if (now === undefined) return false
    const from = Math.max(0, this.#points.length - 1 - Math.round(seconds * 10))
    for (let i = from; i < this.#points.length; i += 1) {
      if (Math.abs(this.#points[i]!.lineMps - now.lineMps) > share * now.lineMps) return false
    }
    return true
  }

  /** Forgets everything: after a gap the past says nothing about the present. */
  clear(): void {
    this.#points = []
  }

  snapshot(): MotionState {
    return { points: this.#points.map((point) => ({ ...point })), resolutionM: this.resolutionM }
  }

  restore(state: MotionState): void {
    this.#points = state.points.map((point) => ({
      ...point,
      unwindMps: point.unwindMps ?? undefined,
      storedM: point.storedM ?? undefined,
    }))
    this.resolutionM = state.resolutionM
  }
}
