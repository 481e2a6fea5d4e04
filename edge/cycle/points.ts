/** Extremes of a cycle's points. Pure. */
import type { Cycle, CycleInput } from './cycle.ts'
import type { MotionPoint, SpindlePoint } from './motion.ts'
import { STOPPED_BELOW_MPS } from './speeds.ts'
import { movesTMs, stopsTMs } from './standstill.ts'

/** How far the stored web is below its highest of the last seconds, m. */
export function fallM(points: readonly MotionPoint[]): number {
  let highest = Number.NEGATIVE_INFINITY
  for (const { storedM } of points) if (storedM !== undefined && storedM > highest) highest = storedM
  const now = points[points.length - 1]?.storedM
  return now === undefined || highest === Number.NEGATIVE_INFINITY ? 0 : highest - now
}

/** Least web stored up to a time, m. */
export function lowestM(points: readonly MotionPoint[], untilTMs: number): number | undefined {
  let low: number | undefined
  for (const { tMs, storedM } of points) {
    if (storedM !== undefined && tMs <= untilTMs && (low === undefined || storedM < low)) low = storedM
  }
  return low
}

/** The same as the carriage read: strokes of the line move it beside the splice. */
export const lowestCarriageM = (points: readonly MotionPoint[], untilTMs: number): number | undefined =>
  lowestM(
    points.map(({ carriageM, ...point }) => ({ ...point, storedM: carriageM })),
    untilTMs,
  )

/** The last moment at which the stored web was at its highest. */
export function peakTMs(points: readonly MotionPoint[]): number | undefined {
  let best: MotionPoint | undefined
  for (const point of points) {
    if (point.storedM !== undefined && (best?.storedM === undefined || point.storedM >= best.storedM)) best = point
  }
  return best?.tMs
}

/** The longest time for which the spindle stood since a moment, its ends interpolated; undefined where it did not, or still does. */
export function longestStop(
  points: readonly SpindlePoint[],
  sinceTMs: number,
): { fromTMs: number; toTMs: number } | undefined {
  let best: { fromTMs: number; toTMs: number } | undefined
  let fromTMs: number | undefined
  for (let i = 1; i < points.length; i += 1) {
    const before = points[i - 1]!
    const now = points[i]!
    if (now.tMs < sinceTMs) continue
    if (before.surfaceMps >= STOPPED_BELOW_MPS && now.surfaceMps < STOPPED_BELOW_MPS) {
      fromTMs = stopsTMs(points[i - 2], before, now)
    }
    if (fromTMs !== undefined && now.surfaceMps >= STOPPED_BELOW_MPS) {
      const toTMs = movesTMs(before, now, points[i + 1])
      if (best === undefined || toTMs - fromTMs > best.toTMs - best.fromTMs) best = { fromTMs, toTMs }
      fromTMs = undefined
    }
  }
  return best
}

/** Keeps the slowest line and the lowest carriage of a cycle. */
export function noteExtremes(cycle: Cycle, input: CycleInput, point: MotionPoint | undefined): void {
  cycle.minLineMps = Math.min(cycle.minLineMps, input.lineMps)
  if (point?.storedM !== undefined && (cycle.lowStoredM === null || point.storedM < cycle.lowStoredM)) {
    cycle.lowStoredM = point.storedM
  }
}
