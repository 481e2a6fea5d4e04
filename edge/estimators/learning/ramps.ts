/**
 * What the unwind's two ramps take from the buffer, learned from the last cycles. Pure; plain data.
 *
 *   (N − v·t_stop)/v = J + v·(c_d + c_a·g)
 *
 * N is the net fall of the stored web over one cycle, J what rounded corners cost (v·t_j/2 of each S-curved ramp, trade
 * notes), c_d = 1/(2·a_dec), c_a = 1/(2·a_acc) for a usual roll, and g the load: how much harder than a usual one the new
 * roll is to bring up to speed. A drive that follows its ramp does not feel it (g = 1). One at the limit of its torque does:
 * a = M·R/J with J = m(R² + r²)/2 and m ∝ w(R² − r²) make 1/a ∝ w(R⁴ − r⁴)/R (trade notes). A roll that the web pulls up with
 * a limited force F has a = F·R²/J, so 1/a ∝ w(R⁴ − r⁴)/R² (the same equation of motion). Which of the three it is the
 * residuals of the last cycles tell.
 *
 * Regression with the data sheet as prior, by sequential updates of a normal's mean and covariance (Kalman's formulas for
 * constant states; A. Gelb (ed.), Applied Optimal Estimation, 1974, section 4.2, from memory), and Tukey's biweight against
 * bad cycles (tuning constant 4.685, from memory).
 */
import { median, scatter } from '../statistics.ts'
import { AGE_DAYS, DAY_MS } from './evidence.ts'

export interface RollLoad {
  diameterM: number
  coreM: number
  /** Where widths differ and are known. */
  widthM: number | null
}

export interface SeenRamps {
  tMs: number
  lineMps: number
  /** (N − v·t_stop)/v, s. */
  lossS: number
  /** From the first slowing until the web stood, s; null where it was not seen. */
  downS: number | null
  /** Of the roll that was brought up to speed; null until it was seen. */
  load: RollLoad | null
}

export type RampLimit = 'ramp' | 'torque' | 'force'

/** A fit, as plain data. */
export interface LearnedRamps {
  limit: RampLimit
  /** J s, c_d s²/m, c_a s²/m. */
  mean: [number, number, number]
  /** Median of what w(R⁴ − r⁴)/Rⁿ was, in the model's own unit: where g is 1. */
  usualLoad: number
  /** The cycle's own scatter, share of the loss. */
  scatterShare: number
  cycles: number
}

export interface RampSheet {
  decelerationMps2: number
  accelerationMps2: number
}

/** Cycles that count. */
const KEEP = 20
/** Data sheets err by 15 % (common practice, no source); a drive that is said to be linear may round its corners by so much, s. */
const SHEET_SD_SHARE = 0.15
const CORNER_SD_S = 0.25
/** A cycle's ramps scatter by this share before any was seen. */
const USUAL_SCATTER = 0.03
/** The start of a cycle is seen no better than this, s. */
const START_SD_S = 0.15
const TUKEY = 4.685
const ROUNDS = 5
/** A model with a load has to explain the losses better by so much of their log-likelihood: chance gives 3 in one of 400 (χ², one degree). */
const BETTER_BY = 4.5
/** Loads have to differ before they can tell anything. */
const LEAST_LOAD_RATIO = 1.15
const LEAST_LOADED = 5
/** A changed setting: see evidence.ts. */
const CHANGED_AFTER = 3
const CHANGED_SDS = 3
const KNOWN_AFTER = 4

export const usualRamps = (sheet: RampSheet): LearnedRamps => ({
  limit: 'ramp',
  mean: [0, 1 / (2 * sheet.decelerationMps2), 1 / (2 * sheet.accelerationMps2)],
  usualLoad: 1,
  scatterShare: USUAL_SCATTER,
  cycles: 0,
})

/** w(R⁴ − r⁴)/Rⁿ of a roll, in m³ or m² (width as a share of a metre). */
function loadOf(limit: RampLimit, load: RollLoad): number {
  const [radius, core] = [load.diameterM / 2, load.coreM / 2]
  return ((load.widthM ?? 1) * Math.max(0, radius ** 4 - core ** 4)) / radius ** (limit === 'torque' ? 1 : 2)
}

/** How much harder than a usual roll: 1 where the ramp limits, or where nothing is known of the roll. */
export function loadFactor(ramps: LearnedRamps, load: RollLoad | undefined): number {
  if (ramps.limit === 'ramp' || load === undefined || !(ramps.usualLoad > 0)) return 1
  return loadOf(ramps.limit, load) / ramps.usualLoad
}

/** Takes the newest cycle in; forgets what is too old. */
export function noteRamps(cycles: SeenRamps[], seen: SeenRamps): void {
  cycles.push(seen)
  while (cycles.length > KEEP || cycles[0]!.tMs < seen.tMs - AGE_DAYS * DAY_MS) cycles.shift()
}

/** The fit to the cycles seen. Leaves of `cycles` only the newest where these show a changed setting. */
export function learnRamps(cycles: SeenRamps[], sheet: RampSheet): LearnedRamps {
  const before = cycles.length - CHANGED_AFTER
  if (before >= KNOWN_AFTER && hasChanged(fitBest(cycles.slice(0, before), sheet), cycles.slice(before))) {
    cycles.splice(0, before)
  }
  return fitBest(cycles, sheet).learned
}

interface Fit {
  learned: LearnedRamps
  covariance: Matrix
  logLikelihood: number
}

function fitBest(cycles: readonly SeenRamps[], sheet: RampSheet): Fit {
  const plain = fitTo('ramp', cycles, sheet)
  const loaded = cycles.filter(({ load }) => load !== null)
  if (loaded.length < LEAST_LOADED) return plain
  const loads = loaded.map(({ load }) => loadOf('torque', load!))
  if (Math.max(...loads) < LEAST_LOAD_RATIO * Math.min(...loads)) return plain
  // Held against each other on the same cycles.
  const same = fitTo('ramp', loaded, sheet)
  const others = [fitTo('torque', loaded, sheet), fitTo('force', loaded, sheet)]
  const best = others[0]!.logLikelihood >= others[1]!.logLikelihood ? others[0]! : others[1]!
  return best.logLikelihood > same.logLikelihood + BETTER_BY ? best : plain
}

type Vector = [number, number, number]
type Matrix = [Vector, Vector, Vector]

const rowOf = (seen: SeenRamps, factor: number): Vector => [1, seen.lineMps, seen.lineMps * factor]
const dot = (a: Vector, b: Vector): number => a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
const times = (m: Matrix, v: Vector): Vector => [dot(m[0], v), dot(m[1], v), dot(m[2], v)]

/** One measurement x·θ = y with so much variance. */
function update(mean: Vector, covariance: Matrix, x: Vector, y: number, variance: number): void {
  const px = times(covariance, x)
  const gain = 1 / (dot(x, px) + variance)
  const miss = y - dot(x, mean)
  for (let i = 0; i < 3; i += 1) {
    mean[i]! += px[i]! * gain * miss
    for (let j = 0; j < 3; j += 1) covariance[i]![j]! -= px[i]! * px[j]! * gain
  }
}

function fitTo(limit: RampLimit, cycles: readonly SeenRamps[], sheet: RampSheet): Fit {
  const prior = usualRamps(sheet)
  const loads = limit === 'ramp' ? [] : cycles.map(({ load }) => loadOf(limit, load!))
  const usualLoad = median(loads) ?? 1
  const shape: LearnedRamps = { ...prior, limit, usualLoad, cycles: cycles.length }
  const rows = cycles.map((seen) => rowOf(seen, loadFactor(shape, seen.load ?? undefined)))
  // The data sheet may be wrong as a whole: where the robust mean is far from it, its spread is.
  const off = median(cycles.map((seen, i) => seen.lossS / dot(rows[i]!, prior.mean))) ?? 1
  const spread = Math.max(SHEET_SD_SHARE, Math.abs(off - 1))
  let mean: Vector = [...prior.mean]
  let covariance: Matrix = priorCovariance(prior.mean, spread)
  let weights = cycles.map(() => 1)
  let share = USUAL_SCATTER
  let start = cycles.map((seen, i) => seen.lossS / (off * dot(rows[i]!, prior.mean)) - 1)
  for (let round = 0; round < ROUNDS; round += 1) {
    // Four splices' worth of the usual scatter: few residuals tell little of their own.
    const seenScatter = scatter(start) ?? USUAL_SCATTER
    share = Math.sqrt((4 * USUAL_SCATTER ** 2 + cycles.length * seenScatter ** 2) / (4 + cycles.length))
    weights = start.map((residual) => biweight(residual / share))
    mean = [...prior.mean]
    covariance = priorCovariance(prior.mean, spread)
    for (const [i, seen] of cycles.entries()) {
      const weight = weights[i]!
      if (weight < 1e-3) continue
      update(mean, covariance, rows[i]!, seen.lossS, (share * seen.lossS) ** 2 / weight)
      if (seen.downS !== null) {
        update(
          mean,
          covariance,
          [0.5, seen.lineMps, 0],
          seen.downS / 2,
          (START_SD_S ** 2 + (share * seen.downS) ** 2) / weight,
        )
      }
    }
    start = cycles.map((seen, i) => seen.lossS / Math.max(1e-6, dot(rows[i]!, mean)) - 1)
  }
  const n = cycles.length
  const squares = start.reduce((sum, residual) => sum + Math.min(residual ** 2, (TUKEY * share) ** 2), 0)
  // Normal errors of unknown variance, no finer than a hundredth: n/2·ln of the mean square.
  const logLikelihood = n === 0 ? 0 : -(n / 2) * Math.log(squares / n + 1e-4)
  return { learned: { ...shape, mean, scatterShare: share }, covariance, logLikelihood }
}

function priorCovariance(mean: Vector, share: number): Matrix {
  return [
    [CORNER_SD_S ** 2, 0, 0],
    [0, (share * mean[1]) ** 2, 0],
    [0, 0, (share * mean[2]) ** 2],
  ]
}

const biweight = (z: number): number => (Math.abs(z) >= TUKEY ? 0 : (1 - (z / TUKEY) ** 2) ** 2)

/** All of the newest are off to one side, by more than scatter and what is not known of the fit could make. */
function hasChanged(old: Fit, newest: readonly SeenRamps[]): boolean {
  const misses = newest.map((seen) => {
    const row = rowOf(seen, loadFactor(old.learned, seen.load ?? undefined))
    const expected = dot(row, old.learned.mean)
    const sd = Math.hypot(
      old.learned.scatterShare * expected,
      Math.sqrt(Math.max(0, dot(row, times(old.covariance, row)))),
    )
    return { share: seen.lossS / expected - 1, sds: (seen.lossS - expected) / sd }
  })
  const isOneSide = misses.every(({ sds }) => sds > CHANGED_SDS) || misses.every(({ sds }) => sds < -CHANGED_SDS)
  const shares = misses.map(({ share }) => share)
  return isOneSide && Math.max(...shares) - Math.min(...shares) < Math.min(...shares.map(Math.abs))
}
