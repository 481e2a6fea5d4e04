/**
 * Readings of about a second, kept as sums. Pure, O(1) per reading.
 *
 * Within so short a time all readings tell of one level and of one wave, z = l + c·cos θ + s·sin θ + noise, so the normal
 * matrix N = Σ g·gᵀ of g = [1, cos θ, sin θ] and the vector m = Σ g·z hold all that they say (sufficient statistics of a
 * normal linear model). N = L·D·Lᵀ turns them into as many independent readings as the batch can tell apart: row k of Lᵀ,
 * value (L⁻¹m)ₖ/dₖ, variance r/dₖ. The first is the plain mean; the others are of the wave alone. What is left over,
 * Σz² − Σ dₖ·yₖ², is the noise, free of both (textbook least squares, e.g. Golub & Van Loan, ch. 4 and 5, from memory).
 */
import type { DiameterReading } from './roll-filter.ts'

/** A direction in which the angles of a batch spread less than this share says nothing of the wave. */
const LEAST_SPREAD = 0.02

export interface Batch {
  startMs: number
  startWebM: number
  n: number
  /** Readings that differ from the one before: a value that is held or comes once a turn is seen once. */
  distinct: number
  lastM: number
  lastLevelM: number
  /** Sum of squared differences from one reading to the next, m². */
  steps: number
  /** Sums are of readings less this one: differences keep their digits. */
  originM: number
  webM: number
  z: number
  zz: number
  cos: number
  sin: number
  cosCos: number
  cosSin: number
  sinSin: number
  zCos: number
  zSin: number
}

/** One reading; `levelM` is the reading without the fall of the diameter since the state of the filter. */
export interface BatchReading {
  readingM: number
  levelM: number
  webM: number
  cos: number
  sin: number
}

export function openBatch(tMs: number, webM: number, first: BatchReading): Batch {
  const batch: Batch = {
    startMs: tMs,
    startWebM: webM,
    n: 0,
    distinct: 1,
    lastM: first.readingM,
    lastLevelM: first.levelM,
    steps: 0,
    originM: first.levelM,
    webM: 0,
    z: 0,
    zz: 0,
    cos: 0,
    sin: 0,
    cosCos: 0,
    cosSin: 0,
    sinSin: 0,
    zCos: 0,
    zSin: 0,
  }
  addToBatch(batch, first)
  return batch
}

export function addToBatch(batch: Batch, { readingM, levelM, webM, cos, sin }: BatchReading): void {
  const z = levelM - batch.originM
  if (readingM !== batch.lastM) batch.distinct += 1
  batch.steps += (levelM - batch.lastLevelM) ** 2
  batch.lastM = readingM
  batch.lastLevelM = levelM
  batch.n += 1
  batch.webM += webM
  batch.z += z
  batch.zz += z * z
  batch.cos += cos
  batch.sin += sin
  batch.cosCos += cos * cos
  batch.cosSin += cos * sin
  batch.sinSin += sin * sin
  batch.zCos += z * cos
  batch.zSin += z * sin
}

export interface BatchSums {
  /** Mean reading, and what the batch says of the wave beside it; each variance is a share of that of one reading. */
  rows: DiameterReading[]
  /** Variance of one reading about level and wave, m²; undefined where too few readings are left over to tell. */
  residualM2: number | undefined
}

/** Readings left over that a variance can be read from. */
const LEAST_FREEDOM = 3
/** Where fewer readings than this share are new ones, the angle at which each was taken is not known. */
const LEAST_NEW_SHARE = 0.5

export function sumUp(batch: Batch): BatchSums {
  const { n } = batch
  const isHeld = batch.distinct < LEAST_NEW_SHARE * n
  const normal = [
    [n, batch.cos, batch.sin],
    [batch.cos, batch.cosCos, batch.cosSin],
    [batch.sin, batch.cosSin, batch.sinSin],
  ]
  const right = [batch.z, batch.zCos, batch.zSin]
  const rows: DiameterReading[] = []
  let left = batch.zz
  // Elimination without exchange: row k then is dₖ·(Lᵀ)ₖ, and the right-hand side dₖ·yₖ.
  for (let k = 0; k < 3; k += 1) {
    const pivot = normal[k]![k]!
    if (!(pivot > LEAST_SPREAD * n) || (k > 0 && isHeld)) continue
    const [, cos, sin] = normal[k]!.map((value) => value / pivot)
    const value = right[k]! / pivot
    rows.push({
      level: k === 0 ? 1 : 0,
      diameterM: value + (k === 0 ? batch.originM : 0),
      cos: k < 2 ? cos! : 0,
      sin: sin!,
      varianceM2: 1 / pivot,
    })
    left -= pivot * value * value
    for (let i = k + 1; i < 3; i += 1) {
      const factor = normal[i]![k]! / pivot
      for (let j = k; j < 3; j += 1) normal[i]![j] = normal[i]![j]! - factor * normal[k]![j]!
      right[i] = right[i]! - factor * right[k]!
    }
  }
  return { rows, residualM2: isHeld ? stepsVariance(batch) : residual(left, n - rows.length) }
}

const residual = (left: number, freedom: number): number | undefined =>
  freedom < LEAST_FREEDOM ? undefined : Math.max(0, left) / freedom

/** Of values that are held: successive differences, σ² = mean Δ²/2 (von Neumann's estimate). */
const stepsVariance = (batch: Batch): number | undefined =>
  batch.n <= LEAST_FREEDOM ? undefined : batch.steps / 2 / (batch.n - 1)
