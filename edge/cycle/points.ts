/** Extremes of a cycle's points. Pure. */
import type { MotionPoint } from './motion.ts'

/** Least web stored up to a time, m. */
export function lowestM(points: readonly MotionPoint[], untilTMs: number): number | undefined {
  let low: number | undefined
  for (const { tMs, storedM } of points) {
    if (storedM !== undefined && tMs <= untilTMs && (low === undefined || storedM < low)) low = storedM
  }
  return low
}

/** When the unwind was fastest after its stop: there it was back at line speed. */
export function fastestTMs(points: readonly MotionPoint[], sinceTMs: number | null): number | undefined {
  let best: MotionPoint | undefined
  for (const point of points) {
    if (point.unwindMps === undefined || sinceTMs === null || point.tMs < sinceTMs) continue
    if (best?.unwindMps === undefined || point.unwindMps > best.unwindMps) best = point
  }
  return best?.tMs
}

/** The last moment at which the stored web was at its highest. */
export function peakTMs(points: readonly MotionPoint[]): number | undefined {
  let best: MotionPoint | undefined
  for (const point of points) {
    if (point.storedM !== undefined && (best?.storedM === undefined || point.storedM >= best.storedM)) best = point
  }
  return best?.tMs
}
