/**
 * How round the corners of a zero-speed cycle's ramps are, from the stored web alone. Pure.
 *
 * A drive whose acceleration takes t_j to build up and to take back (an S-curve) moves as one with sharp corners does on the
 * mean over t_j. A straight line through the middle of such a ramp meets zero t_j/2 away from where the unwind really stands,
 * on either side of the stop: read by sharp corners the stop is t_j too long. With a sharp corner's web g(x) = max(0, x)²/2,
 * its mean over t_j, G(x) = ∫g/t_j, and ramps a_d from s_d to e_d and a_a from s_a on, the stored web falls by
 *   a_d·(G(t − s_d) − G(t − e_d)) − a_a·G(t − s_a)
 * (constant jerk and v·t_j/2 for each S-curved ramp: trade notes; the rest follows by integration). For each t_j of a grid the
 * straight lines' own errors (level, times, slopes, linearised) are projected out by Gram and Schmidt; what is left of the
 * readings is least for the t_j that there was. A tach that is a share off against the carriage bends the fall as corners do, so
 * the grid is tried a second time with that share projected out as well; it costs sight of the corners and needs proof.
 */
import type { MotionPoint } from './motion.ts'
import { STOPPED_BELOW_MPS } from './speeds.ts'

/** A cycle by straight lines: ramp down from `downTMs` to `stopTMs`, up from `moveTMs` to `upTMs`, ms. */
interface StraightCycle {
  downTMs: number
  stopTMs: number
  moveTMs: number
  upTMs: number
}

/** Longest corners that are looked for, s, and the grid: splice drives round by a few tenths (common practice, no source). */
const LONGEST_S = 1.2
const GRID_S = 0.05
/** Shorter ones are as well noise of the carriage, and move the stop by less than a tenth of a second, s. */
const LEAST_S = 0.25
const GRID: readonly number[] = [
  0,
  ...Array.from({ length: Math.round((LONGEST_S - LEAST_S) / GRID_S) }, (_one, i) => LEAST_S + GRID_S * i),
]
/** Of what one cycle showed so much counts at the next: drives are set anew now and then. */
const KEPT_SHARE = 0.9
/** Of the way up only this share counts: above it the unwind may go on to an overspeed or be let down again. */
const UP_SHARE = 0.65
/** A line that strays farther within the cycle bends the fall itself. */
const STRAY_SHARE = 0.03
/** A tach that is off is told where twice its log-likelihood is so much more: 3 σ. */
const OFF_SCALE_GAIN = 9
/** Beside the level, four times and slopes and the line speed's scale so many points have to be left to judge by. */
const LEAST_POINTS = 20

/** No gain of what can't be; finite, as what is kept goes through JSON. */
const NEVER = -1e6
/** Corners that explain the readings as well as the best but for this gain may have been: 0.8 σ. */
const DOUBT_GAIN = 0.7

/** How likely each time of the grid is, and the longest that the corners may well take, s. */
export interface Corners {
  weights: number[]
  mostS: number
  /** A metre by the carriage for one by the tach; 1 where nothing proves that they differ. */
  scale: number
  /** Twice the log-likelihood over that of sharp ones, for each time that was tried, by a right tach and by one that is off: what the next cycle is to know. */
  gains: number[]
}

/**
 * A drive rounds all its cycles alike, so what one showed of it counts for the next.
 * @param known - `gains` of the cycle before. @returns undefined where nothing tells.
 */
export function cornersOf(
  points: readonly MotionPoint[],
  straight: StraightCycle,
  known: readonly number[],
): Corners | undefined {
  const { downTMs, stopTMs, moveTMs, upTMs } = straight
  if (!(downTMs < stopTMs && moveTMs < upTMs)) return undefined
  const untilTMs = moveTMs + UP_SHARE * (upTMs - moveTMs)
  const used = points.filter(({ storedM, tMs }) => storedM !== undefined && tMs <= untilTMs)
  if (used.length < LEAST_POINTS) return undefined
  const lineMps = used.reduce((sum, point) => sum + point.lineMps, 0) / used.length
  if (used.some((point) => Math.abs(point.lineMps - lineMps) > STRAY_SHARE * lineMps)) return undefined
  // A ramp that is all corner takes as long as its corner: a longer one is none, however well it fits a few readings.
  const longestS = Math.min(stopTMs - downTMs, upTMs - moveTMs) / 1000
  const fits = [false, true].flatMap((isScaleOff) =>
    GRID.map((s) => (s > longestS ? undefined : fitOf(used, straight, lineMps, s, isScaleOff))),
  )
  const sharp = fits[0]!.error
  const all = fits.map((fit, i) =>
    fit === undefined ? NEVER : used.length * Math.log(sharp / fit.error) + (known[i] ?? 0),
  )
  const gains = likelier(all)
  const most = Math.max(...gains)
  return {
    weights: weightsOf(gains),
    mostS: GRID[gains.findLastIndex((gain) => most - gain < DOUBT_GAIN)]!,
    scale: fits[all.indexOf(most)]?.scale ?? 1,
    gains: all.map((gain) => KEPT_SHARE * gain),
  }
}

/** By a tach that is off the readings are explained better beyond doubt. */
const isOff = (all: readonly number[]): boolean =>
  Math.max(...all.slice(GRID.length)) - Math.max(...all.slice(0, GRID.length)) >= OFF_SCALE_GAIN

const likelier = (all: readonly number[]): readonly number[] =>
  isOff(all) ? all.slice(GRID.length) : all.slice(0, GRID.length)

/** Bayes, with sharp corners as likely beforehand as all the others together. */
function weightsOf(gains: readonly number[]): number[] {
  const most = Math.max(...gains)
  const weights = gains.map((gain, i) => Math.exp((gain - most) / 2) * (i === 0 ? GRID.length - 1 : 1))
  const sum = weights.reduce((total, weight) => total + weight, 0)
  return weights.map((weight) => weight / sum)
}

/** What the corners' time makes of something, weighed by how likely each time is. */
const weighed = (weights: readonly number[], of: (s: number) => number): number =>
  weights.reduce((sum, weight, i) => sum + weight * of(GRID[i]!), 0)

/** The corners that earlier cycles showed, s. */
export const knownCornersS = (known: readonly number[]): number =>
  known.length === 0 ? 0 : weighed(weightsOf(likelier(known)), (s) => s)

/** How much earlier and later than by straight lines the unwind passes 1 m/min, s; @param mps2 - the ramp. */
export const likelyFootS = (weights: readonly number[], mps2: number): number => weighed(weights, (s) => footS(s, mps2))

/** The same for corners of one length. */
export const footS = (corners: number, mps2: number): number =>
  corners / 2 - Math.sqrt((2 * STOPPED_BELOW_MPS * corners) / mps2)

/**
 * The corners that make the unwind pass 1 m/min so much later, s, than the ramp's straight line meets nothing: of
 * `footS`, solved for their time. Of that the unwind is slower than 1 m/min for the second figure, s, before it stands.
 */
export function footOf(lateS: number, mps2: number): { s: number; slowS: number } {
  const c = Math.sqrt((2 * STOPPED_BELOW_MPS) / mps2)
  const root = c + Math.sqrt(Math.max(0, c * c + 2 * lateS))
  return lateS <= 0 ? { s: 0, slowS: 0 } : { s: root * root, slowS: c * root }
}

/** What is left of the readings, m², and the scale that was projected out of them. */
function fitOf(
  points: readonly MotionPoint[],
  straight: StraightCycle,
  lineMps: number,
  s: number,
  isScaleOff: boolean,
): { error: number; scale: number } {
  const t0 = straight.downTMs
  const downS = (straight.stopTMs - t0) / 1000
  const moveS = (straight.moveTMs - t0) / 1000
  const downMps2 = lineMps / downS
  const upMps2 = (lineMps * 1000) / (straight.upTMs - straight.moveTMs)
  const rest: number[] = []
  const columns: number[][] = Array.from({ length: isScaleOff ? 6 : 5 }, () => [])
  for (const { tMs, storedM } of points) {
    const t = (tMs - t0) / 1000
    const braked = cornerM(t, s) - cornerM(t - downS, s)
    const [atDown, atStop, atMove] = [cornerMps(t, s), cornerMps(t - downS, s), cornerMps(t - moveS, s)]
    const up = cornerM(t - moveS, s)
    const fallM = downMps2 * braked - upMps2 * up
    rest.push(storedM! + fallM)
    const tangents = [1, atDown - atStop, braked / downS - atDown, atMove, up, fallM]
    for (const [i, column] of columns.entries()) column.push(tangents[i]!)
  }
  let scale = 1
  for (const [i, column] of columns.entries()) {
    const square = dot(column, column)
    if (!(square > 0)) continue
    if (i === SCALE_COLUMN) scale = 1 - dot(rest, column) / square
    for (const other of [...columns.slice(i + 1), rest]) {
      const share = dot(other, column) / square
      for (const [k, value] of column.entries()) other[k]! -= share * value
    }
  }
  return { error: dot(rest, rest), scale }
}

const SCALE_COLUMN = 5

const dot = (a: readonly number[], b: readonly number[]): number => a.reduce((sum, value, i) => sum + value * b[i]!, 0)

const power = (x: number, to: number): number => Math.max(0, x) ** to

/** Web of a corner at 1 m/s², m, since the middle of the corner; and its speed, m/s. */
function cornerM(x: number, s: number): number {
  return s === 0 ? power(x, 2) / 2 : (power(x + s / 2, 3) - power(x - s / 2, 3)) / (6 * s)
}

function cornerMps(x: number, s: number): number {
  return s === 0 ? power(x, 1) : (power(x + s / 2, 2) - power(x - s / 2, 2)) / (2 * s)
}
