/** When a zero-speed cycle's unwind was back at line speed: where its own ramp ended. Pure. */
import type { MotionPoint } from './motion.ts'

/** When the unwind was fastest after its stop: there it was back at line speed. */
function fastestTMs(points: readonly MotionPoint[], sinceTMs: number | null): number | undefined {
  let best: MotionPoint | undefined
  for (const point of points) {
    if (point.unwindMps === undefined || sinceTMs === null || point.tMs < sinceTMs) continue
    if (best?.unwindMps === undefined || point.unwindMps > best.unwindMps) best = point
  }
  return best?.tMs
}

/** The unwind's own ramp ends no lower than this share of the line's speed; it is over once it fell by so much of it again. */
const RAMP_END_SHARE = 0.9
const PAST_PEAK_SHARE = 0.02

/**
 * When the ramp after the stop ended, where the unwind fell below the line again before it had held its speed: at the first
 * peak near line speed that two points in a row lie clearly below. Undefined where it fell nowhere.
 */
export function rampPeakTMs(points: readonly MotionPoint[], sinceTMs: number | null): number | undefined {
  if (sinceTMs === null) return undefined
  let best: { tMs: number; unwindMps: number } | undefined
  let below = 0
  for (const { tMs, lineMps, unwindMps } of points) {
    if (unwindMps === undefined || tMs < sinceTMs) continue
    if (best === undefined || unwindMps > best.unwindMps) best = { tMs, unwindMps }
    const isPast = best.unwindMps >= RAMP_END_SHARE * lineMps && unwindMps < best.unwindMps - PAST_PEAK_SHARE * lineMps
    below = isPast ? below + 1 : 0
    if (below >= 2) return best.tMs
  }
  return undefined
}

/** What tells where the ramp ended. */
interface RampEndInput {
  points: readonly MotionPoint[]
  /** A tag gives the surface speed. */
  isMeasured: boolean
  /** Web of one stroke where the line is indexed, m, else 0. */
  strokeM: number
  stopEndTMs: number | null
  /** By the cycle's shape. */
  shapeBackTMs: number | undefined
  /** Now: it counts as back. */
  tMs: number
}

/** `isFalling`: from there on the buffer is let down again, which is no part of the cycle; `storedM`: then, m. */
export function rampEnd(input: RampEndInput): { backTMs: number; isFalling: boolean; storedM: number | undefined } {
  const { points, isMeasured, strokeM, stopEndTMs, shapeBackTMs, tMs } = input
  const lowest = points.reduce<MotionPoint | undefined>(
    (low, point) =>
      point.storedM !== undefined && (low?.storedM === undefined || point.storedM <= low.storedM) ? point : low,
    undefined,
  )
  // An indexed line's unwind wanders: its ramp has no peak.
  const peakedTMs = isMeasured && strokeM === 0 ? rampPeakTMs(points, stopEndTMs) : undefined
  const isFalling = peakedTMs !== undefined || (lowest !== undefined && lowest.tMs >= tMs - 200)
  const rampTMs = peakedTMs ?? (isMeasured ? fastestTMs(points, stopEndTMs) : shapeBackTMs)
  let backTMs = isMeasured ? tMs - 100 : (lowest?.tMs ?? shapeBackTMs ?? tMs)
  if (isFalling && rampTMs !== undefined && rampTMs < tMs) backTMs = rampTMs
  const at = isMeasured || isFalling ? points.findLast((point) => point.tMs <= backTMs) : lowest
  return { backTMs, isFalling, storedM: at?.storedM }
}
