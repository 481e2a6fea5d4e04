/**
 * What rolls taught of a material's caliper, of its drift through a roll and of the diameter sensor's offset, all together.
 * Pure; plain data.
 *
 * A reading that is b too large makes every caliper look (1 + b/D) times as thick, and a caliper that grows towards the core
 * bends area against length as an offset does; so what one roll says of one of them hangs on the others, and ten rolls with
 * the same mistake are no ten proofs. So the belief is a joint normal of p = [μ, b, γ]: the material's mean caliper at a roll's
 * outside (as a share of its label), the offset (m) and the caliper's mean rise from the outside to the core (share of the
 * label). With a roll's own u = p + e (e from roll to roll, none of it of b) the prior of u is p with covariance S = P + E, the
 * roll's filter ends with z and V, and by the rules of jointly normal variables
 *
 *   K = P·S⁻¹,  p ← p + K(z − p),  P ← P − K(S − V)Kᵀ
 *
 * (the smoother of Rauch, Tung & Striebel, AIAA J. 3 (1965), for one step; from memory).
 */
import type { RollLesson, RollPrior } from '../roll-filter.ts'
import { applied3, diagonal3, inverse3, type Matrix3, plus3, times3, transposed3 } from './matrix3.ts'

export interface RollBelief {
  sensor: string
  material: string
  /** Mean caliper of the material at a roll's outside ÷ its label. */
  ratio: number
  offsetM: number
  /** Mean rise of the caliper from a roll's outside to its core ÷ the label. */
  slope: number
  /** Covariance of the three, row by row; the offset's in m. */
  p: Matrix3
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
/**
 * Mean drift of a material's caliper through its rolls, one standard deviation as a share: most have none, some 3 %; and what
 * differs from roll to roll beside the walk (common practice, no source). By the bench (developers' notes).
 */
const SLOPE_SD = 0.012
const SLOPE_ROLL_SD = 0.002
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

/** Where the variances stand in a covariance of [ratio, offset, slope]. */
const [RATIO, OFFSET, SLOPE] = [0, 4, 8] as const
const UNKNOWN: Matrix3 = diagonal3(LABEL_SD ** 2, OFFSET_SD_M ** 2, SLOPE_SD ** 2)

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
    slope: ofMaterial?.slope ?? 0,
    p: apart(ofMaterial?.p ?? UNKNOWN, ofSensor?.p ?? UNKNOWN),
    rollVar: ofMaterial?.rollVar ?? ROLL_TO_ROLL_SD ** 2,
    rollWeight: ofMaterial?.rollWeight ?? ROLL_TO_ROLL_WEIGHT,
    tMs: Math.min(ofMaterial?.tMs ?? tMs, ofSensor?.tMs ?? tMs),
  }
  const age = Math.max(0, tMs - known.tMs) / (AGE_DAYS * DAY_MS)
  const grown = UNKNOWN.map((most, i) => {
    const by = most * age + (i === OFFSET ? OFFSET_WANDER_M ** 2 : 0)
    return known.p[i]! + Math.min(by, Math.max(0, most - known.p[i]!))
  })
  return { ...known, p: grown }
}

/** What is known of a material and what is known of a sensor, before they met. */
const apart = (ofMaterial: Matrix3, ofSensor: Matrix3): Matrix3 =>
  ofMaterial.map((one, i) => (i === OFFSET ? ofSensor[i]! : i % 3 === 1 || Math.floor(i / 3) === 1 ? 0 : one))

/** From roll to roll; a sensor's offset stays. */
const betweenRolls = ({ rollVar }: RollBelief): Matrix3 => diagonal3(rollVar, 0, SLOPE_ROLL_SD ** 2)

/** What to expect of a roll before it was seen. */
export function expectRoll(
  beliefs: RollBeliefs,
  sensor: string,
  material: string,
  labelM: number,
  tMs: number,
): RollPrior {
  const known = aged(beliefs, sensor, material, tMs)
  const s = plus3(known.p, betweenRolls(known))
  return {
    caliperM: known.ratio * labelM,
    caliperSdM: Math.sqrt(s[RATIO]!) * labelM,
    offsetM: known.offsetM,
    offsetSdM: Math.sqrt(s[OFFSET]!),
    slopeM: known.slope * labelM,
    slopeSdM: Math.sqrt(s[SLOPE]!) * labelM,
    covM2: { caliperOffset: s[1]! * labelM, caliperSlope: s[2]! * labelM ** 2, offsetSlope: s[5]! * labelM },
  }
}

export function learnRoll(
  beliefs: RollBeliefs,
  lesson: RollLesson,
  of: { sensor: string; material: string; labelM: number; tMs: number },
): void {
  const { sensor, material, labelM, tMs } = of
  const before = aged(beliefs, sensor, material, tMs)
  const s = plus3(before.p, betweenRolls(before))
  const [tt, tb, tg] = [
    lesson.caliperVarM2 / labelM ** 2,
    lesson.caliperOffset / labelM,
    lesson.caliperSlope / labelM ** 2,
  ]
  const [bb, bg, gg] = [lesson.offsetVarM2, lesson.offsetSlope / labelM, lesson.slopeVarM2 / labelM ** 2]
  const v = [tt, tb, tg, tb, bb, bg, tg, bg, gg]
  const inverse = inverse3(s)
  if (inverse === undefined || !v.every(Number.isFinite)) return
  const news = [
    lesson.caliperM / labelM - before.ratio,
    lesson.offsetM - before.offsetM,
    lesson.slopeM / labelM - before.slope,
  ] as const
  const sds = Math.sqrt(
    Math.max(
      0,
      applied3(inverse, news).reduce((sum, one, i) => sum + one * news[i]!, 0),
    ),
  )
  const gain = times3(before.p, inverse)
  const [byRatio, byOffset, bySlope] = applied3(gain, news).map((one) => one * Math.min(1, MOST_SDS / sds)) as [
    number,
    number,
    number,
  ]
  const sure = times3(times3(gain, plus3(s, v, -1)), transposed3(gain))
  const index = beliefs.findIndex((one) => one.material === material && one.sensor === sensor)
  if (index >= 0) beliefs.splice(index, 1)
  beliefs.push({
    sensor,
    material,
    ratio: before.ratio + byRatio,
    offsetM: before.offsetM + byOffset,
    slope: before.slope + bySlope,
    p: bounded(plus3(before.p, sure, -1)),
    ...scatterSeen(before, news[0], s[RATIO]!, tt),
    tMs,
  })
  if (beliefs.length > MOST_BELIEFS) beliefs.shift()
}

/** No variance is beyond what is known of anything, and a mean ratio never sure; correlations stay. */
function bounded(p: Matrix3): number[] {
  const shrink = [RATIO, OFFSET, SLOPE].map((i) => Math.min(1, Math.sqrt(UNKNOWN[i]! / Math.max(1e-30, p[i]!))))
  const even = p.map((one, i) => {
    const mirrored = p[3 * (i % 3) + Math.floor(i / 3)]!
    return ((one + mirrored) / 2) * shrink[Math.floor(i / 3)]! * shrink[i % 3]!
  })
  even[RATIO] = Math.max(LEAST_RATIO_SD ** 2, even[RATIO]!)
  return even
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
  const seen = square - (priorVar * (1 - k)) / k - before.p[RATIO]!
  const weight = k * k
  const mean = (rollWeight * rollVar + weight * seen) / (rollWeight + weight)
  return {
    rollVar: Math.min(MOST_ROLL_SD ** 2, Math.max(LEAST_ROLL_SD ** 2, mean)),
    rollWeight: Math.min(MOST_ROLL_WEIGHT, rollWeight + weight),
  }
}

/** Mean caliper to expect of a roll of this material, m, with its standard deviation; by the label before one was seen. */
export function expectCaliper(
  beliefs: RollBeliefs,
  material: string,
  labelM: number,
  tMs: number,
): { caliperM: number; sdM: number } {
  const known = newest(beliefs, (one) => one.material === material)
  const prior = expectRoll(beliefs, known?.sensor ?? '', material, labelM, tMs)
  const { caliperM, caliperSdM, slopeM = 0, slopeSdM = 0 } = prior
  return { caliperM: caliperM + slopeM / 2, sdM: Math.hypot(caliperSdM, slopeSdM / 2) }
}
