/**
 * A zero-speed cycle with known ramps, held against a carriage that shows too few points of them. Pure.
 *
 * With v the line speed, a the ramps and t_s the stop the stored web falls, from the start on, by
 *   τ < v/a_d:              a_d·τ²/2
 *   then, standing:         v²/(2a_d) + v·(τ − v/a_d)
 *   then, coming back:      … − a_a·σ²/2 + v·σ   with σ the time since the stop's end, until σ = v/a_a
 * (constant ramps; trade notes, N(v); common practice, no source). Start and stop are found by least squares over a grid,
 * the level before the fall for each of them in closed form.
 */
import type { MotionPoint } from './motion.ts'

export interface Ramps {
  /** m/s². */
  downMps2: number
  upMps2: number
}

export interface FittedCycle {
  startedTMs: number
  stopStartTMs: number
  stopEndTMs: number
  backTMs: number
}

/** Grid of the search, ms: finer than the polling by an order. */
const GRID_MS = 40
const LONGEST_STOP_MS = 12_000
/** Points before the fall that tell its level. */
const LEVEL_POINTS = 2
/** A fall is clear beyond this share of the whole, and beyond the reading's steps. */
const CLEAR_SHARE = 0.03

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

interface Fall {
  /** From some points before the fall to its lowest point. */
  points: MotionPoint[]
  /** The start lies between these, ms. */
  fromMs: number
  toMs: number
}

/** The start alone, from points up to the half of the cycle. @param resolutionM - step of the stored web. */
export function fitStart(points: readonly MotionPoint[], ramps: Ramps, resolutionM: number): number | undefined {
  const fall = fallOf(points, resolutionM)
  return fall === undefined ? undefined : search(fall, ramps, [LONGEST_STOP_MS])?.startMs
}

export function fitCycle(points: readonly MotionPoint[], ramps: Ramps, resolutionM: number): FittedCycle | undefined {
  const fall = fallOf(points, resolutionM)
  if (fall === undefined) return undefined
  const stops: number[] = []
  for (let stop = 0; stop <= LONGEST_STOP_MS; stop += GRID_MS) stops.push(stop)
  const fit = search(fall, ramps, stops)
  if (fit === undefined) return undefined
  const { lineMps } = fall.points[0]!
  const stopStartTMs = fit.startMs + (1000 * lineMps) / ramps.downMps2
  const stopEndTMs = stopStartTMs + fit.stopMs
  return { startedTMs: fit.startMs, stopStartTMs, stopEndTMs, backTMs: stopEndTMs + (1000 * lineMps) / ramps.upMps2 }
}

/** Where the stored web leaves its level for its lowest point; undefined where it does not. */
function fallOf(points: readonly MotionPoint[], resolutionM: number): Fall | undefined {
  const stored = points.filter((point) => point.storedM !== undefined)
  if (stored.length < 3) return undefined
  const top = Math.max(...stored.map(({ storedM }) => storedM!))
  // After the highest point: a fill that was just over may have begun lower than the fall has come.
  let low = stored.findLastIndex(({ storedM }) => storedM === top)
  for (let i = low; i < stored.length; i += 1) if (stored[i]!.storedM! <= stored[low]!.storedM!) low = i
  const wholeM = top - stored[low]!.storedM!
  const clearM = Math.max(3 * resolutionM, CLEAR_SHARE * wholeM)
  // Back from the lowest point to the last one that is still at the level: a noisy level has many highest points.
  let level = low
  while (level > 0 && stored[level]!.storedM! < top - clearM) level -= 1
  if (level === low) return undefined
  const from = Math.max(0, level - LEVEL_POINTS)
  return {
    points: stored.slice(from, low + 1),
    fromMs: stored[Math.max(0, level - 1)]!.tMs,
    toMs: stored[level + 1]!.tMs,
  }
}

function search(fall: Fall, ramps: Ramps, stops: readonly number[]): { startMs: number; stopMs: number } | undefined {
  const { points } = fall
  // The speed before the fall: a line that trips at the buffer's end falls itself.
  const { lineMps } = points[0]!
  let best: { startMs: number; stopMs: number; error: number } | undefined
  for (let startMs = fall.fromMs; startMs <= fall.toMs; startMs += GRID_MS) {
    for (const stopMs of stops) {
      // The level that fits best is the mean of reading and fall; what is left is the error.
      let sum = 0
      let square = 0
      for (const point of points) {
        const level = point.storedM! + fallM((point.tMs - startMs) / 1000, stopMs / 1000, lineMps, ramps)
        sum += level
        square += level * level
      }
      const error = square - (sum * sum) / points.length
      if (best === undefined || error < best.error) best = { startMs, stopMs, error }
    }
  }
  return best
}
