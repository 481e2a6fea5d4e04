/**
 * A zero-speed cycle with known ramps, fitted to a carriage that is polled slowly. Pure.
 *
 * With v the line speed, a the ramps and t_s the stop the stored web falls, from the start on, by
 *   τ < v/a_d:              a_d·τ²/2
 *   then, standing:         v²/(2a_d) + v·(τ − v/a_d)
 *   then, coming back:      … − a_a·σ²/2 + v·σ   with σ the time since the stop's end, until σ = v/a_a
 * (constant ramps; trade notes, N(v); common practice, no source). Start and stop are found by least squares over a grid.
 */
import type { MotionPoint } from './motion.ts'
import type { CycleShape } from './shape.ts'

export interface Ramps {
  /** m/s². */
  downMps2: number
  upMps2: number
}

/** Grid of the search, ms: finer than the polling by an order. */
const GRID_MS = 40
const LONGEST_STOP_MS = 12_000

/** Web taken from the buffer since the start, m. */
export function fallM(sinceS: number, stopS: number, lineMps: number, ramps: Ramps): number {
  if (sinceS <= 0) return 0
  const downS = lineMps / ramps.downMps2
  if (sinceS <= downS) return (ramps.downMps2 * sinceS ** 2) / 2
  const standing = Math.min(sinceS - downS, stopS)
  const base = lineMps ** 2 / (2 * ramps.downMps2) + lineMps * standing
  const upS = Math.min(Math.max(0, sinceS - downS - stopS), lineMps / ramps.upMps2)
  return base + lineMps * upS - (ramps.upMps2 * upS ** 2) / 2
}

interface Fit {
  startMs: number
  stopMs: number
  error: number
}

/** The start alone, from points up to the half of the cycle. */
export function fitStart(points: readonly MotionPoint[], ramps: Ramps): number | undefined {
  const use = slowing(points)
  return use === undefined ? undefined : search(use, ramps, [LONGEST_STOP_MS])?.startMs
}

export function fitCycle(points: readonly MotionPoint[], ramps: Ramps): CycleShape | undefined {
  const use = slowing(points)
  if (use === undefined) return undefined
  const low = lowest(use)
  // After its lowest the carriage rises with the refill, which is no part of the cycle.
  const cycle = use.filter((point) => point.tMs <= low.tMs)
  const stops: number[] = []
  for (let stop = 0; stop <= LONGEST_STOP_MS; stop += GRID_MS) stops.push(stop)
  const fit = search(cycle, ramps, stops)
  if (fit === undefined) return undefined
  const lineMps = low.lineMps
  const stopStartTMs = fit.startMs + (1000 * lineMps) / ramps.downMps2
  const stopEndTMs = stopStartTMs + fit.stopMs
  return { startedTMs: fit.startMs, stopStartTMs, stopEndTMs, backTMs: stopEndTMs + (1000 * lineMps) / ramps.upMps2 }
}

/** From two points before the fall on; undefined where nothing falls. */
function slowing(points: readonly MotionPoint[]): MotionPoint[] | undefined {
  const stored = points.filter((point) => point.storedM !== undefined)
  if (stored.length < 3) return undefined
  const low = stored.indexOf(lowest(stored))
  let peak = low
  for (let i = low; i >= 0; i -= 1) if (stored[i]!.storedM! >= stored[peak]!.storedM!) peak = i
  const from = Math.max(0, peak - 1)
  return low - peak < 1 ? undefined : stored.slice(from)
}

const lowest = (points: readonly MotionPoint[]): MotionPoint =>
  points.reduce((low, point) => (point.storedM! <= low.storedM! ? point : low))

function search(points: readonly MotionPoint[], ramps: Ramps, stops: readonly number[]): Fit | undefined {
  const peak = points.reduce((high, point) => (point.storedM! >= high.storedM! ? point : high))
  const next = points.find((point) => point.tMs > peak.tMs)
  if (next === undefined) return undefined
  let best: Fit | undefined
  // The start lies between the point before the highest one and the first clear fall.
  const from = points[Math.max(0, points.indexOf(peak) - 1)]!.tMs
  for (let startMs = from; startMs <= next.tMs; startMs += GRID_MS) {
    for (const stopMs of stops) {
      let error = 0
      for (const point of points) {
        if (point.tMs < peak.tMs) continue
        const since = (point.tMs - startMs) / 1000
        const expected = peak.storedM! - fallM(since, stopMs / 1000, point.lineMps, ramps)
        error += (point.storedM! - expected) ** 2
      }
      if (best === undefined || error < best.error) best = { startMs, stopMs, error }
    }
  }
  return best
}
