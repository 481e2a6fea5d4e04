/**
 * When a speed that is reported now and then passed 1 m/min. On one side of the passage the web already stands, so a straight
 * line between the two reports would find it too late on the way down and too early on the way up: the ramp of the reports on
 * the moving side is followed instead. Pure.
 */
import type { SpindlePoint } from './motion.ts'
import { STOPPED_BELOW_MPS } from './speeds.ts'

const between = (a: SpindlePoint, b: SpindlePoint): number => {
  const rise = b.surfaceMps - a.surfaceMps
  return rise === 0 ? b.tMs : a.tMs + ((STOPPED_BELOW_MPS - a.surfaceMps) / rise) * (b.tMs - a.tMs)
}

/** The ramp through two reports, followed to 1 m/min; undefined where it does not lead there. */
function followed(from: SpindlePoint | undefined, to: SpindlePoint | undefined): number | undefined {
  if (from === undefined || to === undefined || to.tMs === from.tMs) return undefined
  const slope = (to.surfaceMps - from.surfaceMps) / (to.tMs - from.tMs)
  return slope === 0 ? undefined : from.tMs + (STOPPED_BELOW_MPS - from.surfaceMps) / slope
}

const within = (a: SpindlePoint, b: SpindlePoint, tMs: number | undefined): number =>
  tMs === undefined || tMs < a.tMs || tMs > b.tMs ? between(a, b) : tMs

/** @param earlier - the report before `moving`. */
export const stopsTMs = (earlier: SpindlePoint | undefined, moving: SpindlePoint, standing: SpindlePoint): number =>
  within(moving, standing, followed(earlier, moving))

/** @param later - the report after `moving`. */
export const movesTMs = (standing: SpindlePoint, moving: SpindlePoint, later: SpindlePoint | undefined): number =>
  within(standing, moving, followed(moving, later))
