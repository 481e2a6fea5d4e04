/**
 * Times of a zero-speed cycle from its whole shape. Pure.
 *
 * Where the surface speed is measured its crossings count. Where it follows from the stored web it is noisy near zero: the
 * ramps are then fitted as straight lines between 15 and 85 % of the line speed and extrapolated to the line speed and to
 * zero. A carriage that is polled too slowly for that is held against the cycle as the data sheet has it (model.ts).
 */
import { type Corners, cornersOf, footOf, footS, knownCornersS, likelyFootS } from './corners.ts'
import { LineFit } from './line-fit.ts'
import { fitCycle, fitStart, type Ramps } from './model.ts'
import type { MotionPoint, SpindlePoint } from './motion.ts'
import { STOPPED_BELOW_MPS } from './speeds.ts'
import { movesTMs, stopsTMs } from './standstill.ts'

export interface CycleShape {
  startedTMs: number | undefined
  stopStartTMs: number | undefined
  stopEndTMs: number | undefined
  backTMs: number | undefined
  /** The stop by corners as round as they may have been, s: it may have been as short. */
  leastStopS?: number
  /** The same without the feet of rounded ramps, on which the unwind creeps below 1 m/min: what a data sheet calls the stop, s. */
  plainStopS?: number
  /** What was learned of the corners (corners.ts). */
  corners?: number[]
}

const NOTHING: CycleShape = {
  startedTMs: undefined,
  stopStartTMs: undefined,
  stopEndTMs: undefined,
  backTMs: undefined,
}
/** Points farther apart than this do not show a ramp, ms. */
const COARSE_MS = 350
/** A speed by the web balance is to be as sure as this share of the line speed, over no shorter and no longer a span than these, ms. */
const SPEED_NOISE_SHARE = 0.03
const LEAST_SPAN_MS = 200
const LONGEST_SPAN_MS = 600
/** A longer span than this share of a ramp would bend it. */
const RAMP_SHARE = 0.25
/** A tach and a carriage differ by no more: beyond it is another trouble, share (common practice, no source). */
const MOST_SCALE_OFF = 0.05
/** The position loop of an unwind answers a stroke with so much of it (common practice, no source). */
const STROKE_SHARE = 0.04

export interface ShapeInput {
  points: readonly MotionPoint[]
  isMeasured: boolean
  periodMs: number
  /** Smallest step of the stored web, and standard deviation of one report of it, m. */
  resolutionM: number
  noiseM: number
  /** Web of one stroke where the line is indexed, m, else 0: line and unwind then wander by some of it. */
  strokeM: number
  ramps: Ramps
  /** Of the cycles before (corners.ts). */
  corners: readonly number[]
}

/** The whole cycle. */
export function shapeOf(input: ShapeInput): CycleShape {
  if (input.isMeasured) return measuredShape(input)
  const { points, periodMs, ramps } = input
  const derived = periodMs > COARSE_MS ? undefined : derivedShape(input)
  if (derived?.isFitted === true) return withCorners(input, derived)
  return fitCycle(points, ramps, stepM(input)) ?? derived ?? NOTHING
}

/** Beyond a step of the reading and beyond what an indexed line's unwind wanders by, m. */
const stepM = ({ resolutionM, strokeM }: ShapeInput): number => Math.max(resolutionM, STROKE_SHARE * strokeM)

/** Straight lines make the stop of rounded ramps too long, and of a tach that reads too high too short. */
function withCorners(input: ShapeInput, straight: CycleShape): CycleShape {
  const { points, strokeM, corners: known } = input
  const { startedTMs: downTMs, stopStartTMs: stopTMs, stopEndTMs: moveTMs, backTMs: upTMs } = straight
  if (downTMs === undefined || stopTMs === undefined || moveTMs === undefined || upTMs === undefined) return straight
  // An indexed line's unwind wanders: corners as clear as may be prove nothing.
  const wanders = strokeM > 0
  const corners = cornersOf(points, { downTMs, stopTMs, moveTMs, upTMs }, wanders ? [] : known)
  if (corners === undefined) return straight
  const { scale } = corners
  const isOff = !wanders && scale !== 1 && Math.abs(scale - 1) < MOST_SCALE_OFF
  const inMetres = isOff ? points.map((point) => ({ ...point, lineMps: scale * point.lineMps })) : points
  const rescaled = isOff ? derivedShape({ ...input, points: inMetres }) : undefined
  return rounded(rescaled?.isFitted === true ? rescaled : straight, inMetres, corners, wanders)
}

function rounded(shape: CycleShape, points: readonly MotionPoint[], corners: Corners, wanders: boolean): CycleShape {
  const { startedTMs: downTMs, stopStartTMs: stopTMs, stopEndTMs: moveTMs, backTMs: upTMs } = shape
  if (downTMs === undefined || stopTMs === undefined || moveTMs === undefined || upTMs === undefined) return shape
  const learned = wanders ? {} : { corners: corners.gains }
  const { lineMps } = points[0]!
  const downMps2 = (1000 * lineMps) / (stopTMs - downTMs)
  const upMps2 = (1000 * lineMps) / (upTMs - moveTMs)
  const straightS = (moveTMs - stopTMs) / 1000
  const leastStopS = Math.max(0, straightS - footS(corners.mostS, downMps2) - footS(corners.mostS, upMps2))
  const plainStopS = Math.max(0, straightS - corners.mostS)
  if (wanders) return { ...shape, ...learned, leastStopS, plainStopS }
  const stopStartTMs = stopTMs + 1000 * likelyFootS(corners.weights, downMps2)
  const stopEndTMs = Math.max(stopStartTMs, moveTMs - 1000 * likelyFootS(corners.weights, upMps2))
  return { ...shape, ...learned, stopStartTMs, stopEndTMs, leastStopS, plainStopS }
}

/** When the unwind began to slow, from the first half of the cycle. */
export function startOf(input: ShapeInput): number | undefined {
  const { points, isMeasured, periodMs, ramps, strokeM } = input
  if (isMeasured && strokeM > 0) return wanderingStart(points, ramps)
  if (isMeasured) return periodMs > COARSE_MS ? rampStart(points, ramps) : slowingSince(points)
  const derived = periodMs > COARSE_MS ? undefined : derivedShape(input).startedTMs
  // A ramp as flat as noise leads to before anything was seen.
  const isSeen = derived !== undefined && derived >= points[0]!.tMs
  return isSeen ? derived - 500 * knownCornersS(input.corners) : fitStart(points, ramps, stepM(input))
}

/** Crossings of the 1 m/min line between samples; by the machine's ramps where samples are too far apart to show one. */
function measuredShape({ points, periodMs, ramps }: ShapeInput): CycleShape {
  let stopStartTMs: number | undefined
  let stopEndTMs: number | undefined
  const isCoarse = periodMs > COARSE_MS
  for (let i = 1; i < points.length; i += 1) {
    const a = surface(points[i - 1])
    const b = surface(points[i])
    if (a === undefined || b === undefined) continue
    const isStanding = b.surfaceMps < STOPPED_BELOW_MPS
    const wasStanding = a.surfaceMps < STOPPED_BELOW_MPS
    if (stopStartTMs === undefined && !wasStanding && isStanding) {
      stopStartTMs = isCoarse ? a.tMs + (1000 * a.surfaceMps) / ramps.downMps2 : stopsTMs(surface(points[i - 2]), a, b)
    }
    if (stopStartTMs !== undefined && wasStanding && !isStanding) {
      stopEndTMs = isCoarse ? b.tMs - (1000 * b.surfaceMps) / ramps.upMps2 : movesTMs(a, b, surface(points[i + 1]))
    }
  }
  const shape = { ...NOTHING, stopStartTMs, stopEndTMs }
  return isCoarse ? shape : withFeet(points, shape)
}

/** How long the unwind crept on the feet of its ramps, from how late it passes 1 m/min after their straight middle. */
function withFeet(points: readonly MotionPoint[], shape: CycleShape): CycleShape {
  const { stopStartTMs, stopEndTMs } = shape
  if (stopStartTMs === undefined || stopEndTMs === undefined) return shape
  const speeds = points.flatMap(({ tMs, lineMps, unwindMps }) =>
    unwindMps === undefined ? [] : [{ tMs, lineMps, unwindMps }],
  )
  const from = speeds.findIndex(({ tMs }) => tMs > stopStartTMs)
  const last = speeds.findLastIndex(({ tMs }) => tMs < stopEndTMs)
  const down = from < 0 ? undefined : fitRamp(walk(speeds, from, -1), -1)
  const up = last < 0 ? undefined : fitRamp(walk(speeds, last, 1), 1)
  const slowS = (ramp: typeof down, lateMs: number): number =>
    ramp === undefined ? 0 : footOf(lateMs / 1000, ramp.slopeMps2).slowS
  const feetS = slowS(down, stopStartTMs - (down?.atZeroTMs ?? 0)) + slowS(up, (up?.atZeroTMs ?? 0) - stopEndTMs)
  return { ...shape, plainStopS: Math.max(0, (stopEndTMs - stopStartTMs) / 1000 - feetS) }
}

const surface = (point: MotionPoint | undefined): SpindlePoint | undefined =>
  point?.unwindMps === undefined ? undefined : { tMs: point.tMs, surfaceMps: point.unwindMps }

interface FittedRamp {
  atLineTMs: number
  atZeroTMs: number
  slopeMps2: number
}

interface SpeedPoint {
  tMs: number
  lineMps: number
  unwindMps: number
}

/**
 * Surface speed by the web balance between a report before and one after: the next ones, or as far apart as the carriage's noise
 * asks. A speed that is all noise looks like a stop on its way down.
 */
function balance({ points, noiseM, ramps }: ShapeInput): SpeedPoint[] {
  const speeds: SpeedPoint[] = []
  let [from, to] = [0, 0]
  for (let i = 1; i + 1 < points.length; i += 1) {
    const at = points[i]!
    const noiseMs = (1000 * Math.SQRT2 * noiseM) / (SPEED_NOISE_SHARE * Math.max(at.lineMps, 1e-3))
    const rampMs = (1000 * at.lineMps) / Math.max(ramps.downMps2, ramps.upMps2)
    const mostMs = Math.min(LONGEST_SPAN_MS, RAMP_SHARE * rampMs)
    const asideMs = Math.max(LEAST_SPAN_MS, Math.min(noiseMs, mostMs)) / 2
    while (from + 1 < i && points[from + 1]!.tMs <= at.tMs - asideMs) from += 1
    to = Math.max(to, i + 1)
    while (to + 1 < points.length && points[to]!.tMs < at.tMs + asideMs) to += 1
    const a = points[from]!
    const b = points[to]!
    if (a.storedM === undefined || b.storedM === undefined || b.tMs <= a.tMs) continue
    const slope = ((b.storedM - a.storedM) * 1000) / (b.tMs - a.tMs)
    speeds.push({ tMs: (a.tMs + b.tMs) / 2, lineMps: at.lineMps, unwindMps: at.lineMps + slope })
  }
  return speeds
}

/** `isFitted`: both ramps showed enough points for a line. */
function derivedShape(input: ShapeInput): CycleShape & { isFitted: boolean } {
  const speeds = balance(input)
  const slowest = speeds.findIndex((point) => point.unwindMps < 0.1 * point.lineMps)
  const from = slowest < 0 ? speeds.length - 1 : slowest
  const down = from < 0 ? undefined : fitRamp(walk(speeds, from, -1), -1)
  if (slowest < 0) return { ...NOTHING, startedTMs: down?.atLineTMs, isFitted: false }
  let last = slowest
  for (let i = slowest; i < speeds.length; i += 1) if (speeds[i]!.unwindMps < 0.1 * speeds[i]!.lineMps) last = i
  const up = fitRamp(walk(speeds.slice(0, fastestFrom(speeds, last) + 1), last, 1), 1)
  return {
    startedTMs: down?.atLineTMs,
    stopStartTMs: down?.atZeroTMs ?? speeds[slowest]!.tMs,
    stopEndTMs: up?.atZeroTMs ?? speeds[last]!.tMs,
    backTMs: up?.atLineTMs,
    isFitted: down !== undefined && up !== undefined,
  }
}

/** The fastest point from an index on: a buffer that holds too much is let down again before the line speed is seen. */
function fastestFrom(speeds: readonly SpeedPoint[], from: number): number {
  let best = from
  for (let i = from; i < speeds.length; i += 1) if (speeds[i]!.unwindMps > speeds[best]!.unwindMps) best = i
  return best
}

/** The points of one ramp, from the stop outwards until the line speed is reached. */
function walk(speeds: readonly SpeedPoint[], from: number, direction: 1 | -1): SpeedPoint[] {
  const ramp: SpeedPoint[] = []
  for (let i = from; i >= 0 && i < speeds.length; i += direction) {
    const point = speeds[i]!
    if (point.unwindMps / Math.max(1e-6, point.lineMps) > 0.9) break
    ramp.push(point)
  }
  return ramp
}

/** Where a ramp is straight, shares of the line speed. */
const STRAIGHT = { from: 0.15, to: 0.85 }

/**
 * Straight line of the surface speed against time; undefined with too few points for one, or where it leads the wrong way: one
 * point whose time is off can look like the stop, and what is fitted before it is noise. Which points lie in the straight part is
 * asked of their own speed first, then of the line through them: a choice by noisy speeds flattens the ramp.
 * @param direction - -1 down to the stop, 1 up from it
 */
function fitRamp(ramp: readonly SpeedPoint[], direction: 1 | -1): FittedRamp | undefined {
  const first = fitLine(ramp, direction, ({ unwindMps }) => unwindMps)
  return first && (fitLine(ramp, direction, ({ tMs }) => first.speedAt(tMs)) ?? first)
}

function fitLine(
  ramp: readonly SpeedPoint[],
  direction: 1 | -1,
  speedOf: (point: SpeedPoint) => number,
): (FittedRamp & { speedAt: (tMs: number) => number }) | undefined {
  const straight = ramp.filter((point) => {
    const share = speedOf(point) / Math.max(1e-6, point.lineMps)
    return share >= STRAIGHT.from && share <= STRAIGHT.to
  })
  if (straight.length < 3) return undefined
  const t0 = straight[0]!.tMs
  const fit = new LineFit()
  let lineMps = 0
  for (const point of straight) {
    fit.add((point.tMs - t0) / 1000, point.unwindMps)
    lineMps += point.lineMps / straight.length
  }
  const { slope } = fit
  if (slope === undefined || !Number.isFinite(slope) || !(slope * direction > 0)) return undefined
  const timeAt = (mps: number): number => t0 + (fit.meanX + (mps - fit.meanY) / slope) * 1000
  return {
    atLineTMs: timeAt(lineMps),
    atZeroTMs: timeAt(0),
    slopeMps2: Math.abs(slope),
    speedAt: (tMs) => fit.meanY + slope * ((tMs - t0) / 1000 - fit.meanX),
  }
}

/** When the measured surface speed began to fall, walking back from a point well on the way down. */
function slowingSince(points: readonly MotionPoint[]): number | undefined {
  for (let i = points.length - 1; i > 0; i -= 1) {
    const now = points[i]!
    const before = points[i - 1]!
    if (now.unwindMps === undefined || before.unwindMps === undefined) return undefined
    const fall = before.unwindMps - now.unwindMps
    const onSpeed = before.unwindMps >= 0.97 * before.lineMps
    // Coming down from an overspeed fill the ramp begins above the line speed: follow it to its top.
    if (onSpeed && fall < 0.01 * before.lineMps) {
      const last = now.unwindMps >= 0.97 * now.lineMps ? i : i - 1
      return leftSpeed(points, last)
    }
  }
  return undefined
}

/** Between the last point on speed and the first below it: where the ramp of the next two points meets that speed. */
function leftSpeed(points: readonly MotionPoint[], last: number): number {
  const [at, first, second] = [points[last]!, points[last + 1], points[last + 2]]
  if (first?.unwindMps === undefined || second?.unwindMps === undefined) return at.tMs
  const slope = (first.unwindMps - second.unwindMps) / (second.tMs - first.tMs)
  if (!(slope > 0)) return at.tMs
  return Math.max(at.tMs, Math.min(first.tMs, first.tMs - (at.unwindMps! - first.unwindMps) / slope))
}

/** Where the unwind answers every stroke: its ramp down, taken back to the line speed. */
function wanderingStart(points: readonly MotionPoint[], ramps: Ramps): number | undefined {
  const speeds = points.flatMap(({ tMs, lineMps, unwindMps }) =>
    unwindMps === undefined ? [] : [{ tMs, lineMps, unwindMps }],
  )
  const last = speeds[speeds.length - 1]
  if (last === undefined) return undefined
  const byFigures = last.tMs - (1000 * (last.lineMps - last.unwindMps)) / ramps.downMps2
  return fitRamp(walk(speeds, speeds.length - 1, -1), -1)?.atLineTMs ?? byFigures
}

/** The first point on the way down, taken back along the ramp to the line speed. */
function rampStart(points: readonly MotionPoint[], ramps: Ramps): number | undefined {
  for (let i = points.length - 1; i > 0; i -= 1) {
    const now = points[i]!
    const before = points[i - 1]!
    if (now.unwindMps === undefined || before.unwindMps === undefined) return undefined
    if (before.unwindMps < 0.97 * before.lineMps) continue
    const backMs = (1000 * (now.lineMps - now.unwindMps)) / ramps.downMps2
    return Math.max(before.tMs, now.tMs - backMs)
  }
  return undefined
}
