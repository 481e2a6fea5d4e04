/**
 * What rolls taught of a material's caliper and of the diameter sensor's offset, both together. Pure; plain data.
 *
 * A reading that is b too large makes every caliper look (1 + b/D) times as thick, so what one roll says of the one hangs on
 * the other, and ten rolls with the same mistake are no ten proofs. So the belief is a joint normal of the material's mean
 * caliper μ (as a share of its label) and the offset b. With a roll's own caliper t = μ + e (e from roll to roll) the prior
 * of (t, b) is z₀ with covariance S, the roll's filter ends with z and V, and by the rules of jointly normal variables
 *
 *   G = Cov(μ, (t, b))·S⁻¹,  μ ← μ + G(z − z₀),  var μ ← var μ − G(S − V)Gᵀ,  cov(μ, b) ← (G·V)_b,  b and var b from z, V
 *
 * (the smoother of Rauch, Tung & Striebel, AIAA J. 3 (1965), for one step; from memory).
 */
import type { RollPrior } from '../roll-filter.ts'

export interface RollBelief {
  sensor: string
  material: string
  /** Mean caliper of the material ÷ its label. */
  ratio: number
  offsetM: number
  ratioVar: number
  offsetVarM2: number
  covM: number
  /** Variance from roll to roll, of ratios, and how many rolls' worth of evidence it rests on. */
  rollVar: number
  rollWeight: number
  tMs: number
}

/** The newest last. */
export type RollBeliefs = RollBelief[]

/** Label against the material's mean, one standard deviation (trade notes: a few per cent). */
const LABEL_SD = 0.05
/**
 * From one roll of a material to the next, with the walk within a roll, before it was seen: about 1 % each (common practice,
 * no source). What the rolls show counts against so many rolls' worth of it.
 */
const ROLL_TO_ROLL_SD = 0.0135
const ROLL_TO_ROLL_WEIGHT = 6
/** What is seen of it is remembered of so many rolls, and is neither finer nor coarser than this. */
const MOST_ROLL_WEIGHT = 30
const LEAST_ROLL_SD = 0.005
const MOST_ROLL_SD = 0.03
/** Unknown offset of a diameter sensor, one standard deviation, m (trade notes: offsets are common). */
const OFFSET_SD_M = 3e-3
/** A sensor's offset may wander by this much from roll to roll, m (common practice, no source). */
const OFFSET_WANDER_M = 0.5e-3
/** After so many days it is known no better than by the data sheet: sensors err with the season (trade notes). */
const AGE_DAYS = 30
const DAY_MS = 86_400_000
/** A roll that says more than so many standard deviations of news is believed only so far: one odd roll spoils nothing. */
const MOST_SDS = 3
/** Pairs of sensor and material that are remembered; the one not used for longest leaves. */
const MOST_BELIEFS = 200
/** However many rolls were seen, a mean is known no better than this share. */
const LEAST_RATIO_SD = 0.002

const newest = (beliefs: RollBeliefs, is: (one: RollBelief) => boolean): RollBelief | undefined => beliefs.findLast(is)

/** What is known before the next roll, a little older than when it was learned. */
function aged(beliefs: RollBeliefs, sensor: string, material: string, tMs: number): RollBelief {
  const ofMaterial = newest(beliefs, (one) => one.material === material)
  const ofSensor = newest(beliefs, (one) => one.sensor === sensor)
  const both = newest(beliefs, (one) => one.material === material && one.sensor === sensor)
  const known: RollBelief = both ?? {
    sensor,
    material,
    ratio: ofMaterial?.ratio ?? 1,
    offsetM: ofSensor?.offsetM ?? 0,
    ratioVar: ofMaterial?.ratioVar ?? LABEL_SD ** 2,
    offsetVarM2: ofSensor?.offsetVarM2 ?? OFFSET_SD_M ** 2,
    covM: 0,
    rollVar: ofMaterial?.rollVar ?? ROLL_TO_ROLL_SD ** 2,
    rollWeight: ofMaterial?.rollWeight ?? ROLL_TO_ROLL_WEIGHT,
    tMs: Math.min(ofMaterial?.tMs ?? tMs, ofSensor?.tMs ?? tMs),
  }
  const age = Math.max(0, tMs - known.tMs) / (AGE_DAYS * DAY_MS)
  const grown = (variance: number, by: number, most: number): number =>
    variance + Math.min(by, Math.max(0, most - variance))
  return {
    ...known,
    ratioVar: grown(known.ratioVar, LABEL_SD ** 2 * age, LABEL_SD ** 2),
    offsetVarM2: grown(known.offsetVarM2, OFFSET_WANDER_M ** 2 + OFFSET_SD_M ** 2 * age, OFFSET_SD_M ** 2),
  }
}

/** What to expect of a roll before it was seen. */
export function expectRoll(
  beliefs: RollBeliefs,
  sensor: string,
  material: string,
  labelM: number,
  tMs: number,
): RollPrior {
  const known = aged(beliefs, sensor, material, tMs)
  return {
    caliperM: known.ratio * labelM,
    caliperSdM: Math.sqrt(known.ratioVar + known.rollVar) * labelM,
    offsetM: known.offsetM,
    offsetSdM: Math.sqrt(known.offsetVarM2),
    covM2: known.covM * labelM,
  }
}

/** What a roll's filter knew at its end. */
export interface RollLesson {
  caliperM: number
  caliperSdM: number
  offsetM: number
  offsetSdM: number
  covM2: number
}

export function learnRoll(
  beliefs: RollBeliefs,
  lesson: RollLesson,
  of: { sensor: string; material: string; labelM: number; tMs: number },
): void {
  const { sensor, material, labelM, tMs } = of
  const before = aged(beliefs, sensor, material, tMs)
  const s = { tt: before.ratioVar + before.rollVar, tb: before.covM, bb: before.offsetVarM2 }
  const v = { tt: (lesson.caliperSdM / labelM) ** 2, tb: lesson.covM2 / labelM, bb: lesson.offsetSdM ** 2 }
  const determinant = s.tt * s.bb - s.tb * s.tb
  if (!(determinant > 0) || !Number.isFinite(v.tt + v.tb + v.bb)) return
  // A 2×2 by hand: S⁻¹ = [bb, −tb; −tb, tt]/det.
  const gt = (before.ratioVar * s.bb - before.covM * s.tb) / determinant
  const gb = (before.covM * s.tt - before.ratioVar * s.tb) / determinant
  const newsT = lesson.caliperM / labelM - before.ratio
  const newsB = lesson.offsetM - before.offsetM
  const sds = Math.sqrt((newsT ** 2 * s.bb - 2 * newsT * newsB * s.tb + newsB ** 2 * s.tt) / determinant)
  const share = sds > MOST_SDS ? MOST_SDS / sds : 1
  const sure = gt * gt * (s.tt - v.tt) + 2 * gt * gb * (s.tb - v.tb) + gb * gb * (s.bb - v.bb)
  const ratioVar = Math.min(LABEL_SD ** 2, Math.max(LEAST_RATIO_SD ** 2, before.ratioVar - sure))
  const offsetVarM2 = Math.min(OFFSET_SD_M ** 2, v.bb)
  const most = 0.999 * Math.sqrt(ratioVar * offsetVarM2)
  const index = beliefs.findIndex((one) => one.material === material && one.sensor === sensor)
  if (index >= 0) beliefs.splice(index, 1)
  beliefs.push({
    sensor,
    material,
    ratio: before.ratio + share * (gt * newsT + gb * newsB),
    offsetM: before.offsetM + share * newsB,
    ratioVar,
    offsetVarM2,
    covM: Math.max(-most, Math.min(most, gt * v.tb + gb * v.bb)),
    ...scatterSeen(before, newsT, s.tt, v.tt),
    tMs,
  })
  if (beliefs.length > MOST_BELIEFS) beliefs.shift()
}

/**
 * What one roll says of the scatter from roll to roll. Of a quantity with variance S, read with an error R, a share
 * k = S/(S + R) of what was read is believed: so V = (1 − k)·S, news = k·ν with ν² = S + R on average, and ν² − R is a
 * sample of S. It is as sharp as k², for a roll that was hardly seen says nothing.
 */
function scatterSeen(
  before: RollBelief,
  news: number,
  priorVar: number,
  leftVar: number,
): Pick<RollBelief, 'rollVar' | 'rollWeight'> {
  const { rollVar, rollWeight } = before
  const k = 1 - leftVar / priorVar
  if (!(k > 0.05)) return { rollVar, rollWeight }
  const square = Math.min((news / k) ** 2, MOST_SDS ** 2 * (priorVar / k))
  const seen = square - (priorVar * (1 - k)) / k - before.ratioVar
  const weight = k * k
  const mean = (rollWeight * rollVar + weight * seen) / (rollWeight + weight)
  return {
    rollVar: Math.min(MOST_ROLL_SD ** 2, Math.max(LEAST_ROLL_SD ** 2, mean)),
    rollWeight: Math.min(MOST_ROLL_WEIGHT, rollWeight + weight),
  }
}

/** Caliper to expect of a roll of this material, m, with its standard deviation; by the label before one was seen. */
export function expectCaliper(
  beliefs: RollBeliefs,
  material: string,
  labelM: number,
  tMs: number,
): { caliperM: number; sdM: number } {
  const known = newest(beliefs, (one) => one.material === material)
  const prior = expectRoll(beliefs, known?.sensor ?? '', material, labelM, tMs)
  return { caliperM: prior.caliperM, sdM: prior.caliperSdM }
}
