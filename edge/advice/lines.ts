/**
 * Several unwinds on one line: where their joints meet, whose preparations overlap, and which roll to splice early. Pure.
 *
 * The joint that ends a roll reaches the place where the webs meet once the line has taken what the roll still gives until
 * its cycle, what it gives while it stops, what the buffer holds now, and the path behind it:
 *   X = R + v²/(2·a_dec) + S_now + path                     (web balance, trade notes)
 * in metres of line: what the buffer gains in a fill the roll gives too, and a change of speed moves all joints alike. So
 *   P(|X₁ − X₂| < least separation)  with X₁ − X₂ ~ N(μ₁ − μ₂, σ₁² + σ₂²)      (bivariate normal, independent)
 * Preparations occupy the crew for [start, start + length]; more than `crew` at once is too much:
 *   P = Σ_i ∫ φ_i(x)·Π_{j≠i} P(start_j < x < start_j + length_j) dx           (the latest start lies in all the others)
 * This is advice: the line's own interlock decides.
 */
import { normalCdf, probabilityBetween } from './normal.ts'

export interface LineJoint {
  unwind: string
  /** 1 is the joint at the next splice; 0 one that was made and is on its way. */
  number: number
  /** Line web until it is where the webs meet, m. */
  metres: number
  sdM: number
  /** So much earlier can it be made, m: the web that is left until its splice, or the roll's length. */
  earliestByM: number
}

export interface Preparation {
  unwind: string
  /** When it must begin at the latest, s from now. */
  startS: number
  sdS: number
  lengthS: number
}

/** What a metre of a roll's web is. */
export interface WebValue {
  pricePerM: number | undefined
  currency: string | undefined
  kgPerM: number | undefined
}

export interface EarlySplice {
  unwind: string
  number: number
  /** Web to splice earlier by, m: so much is left on its roll. */
  earlyM: number
}

export interface Meeting {
  first: LineJoint
  second: LineJoint
  /** Second less first, m. */
  gapM: number
  gapSdM: number
  probability: number
  /** Undefined where the risk is accepted, or no early splice helps. */
  advice: EarlySplice | undefined
}

export interface Overlap {
  unwinds: string[]
  startS: number
  probability: number
}

/** Meetings less likely than this are not told. */
const TOLD_FROM = 0.001
const MOST_TOLD = 20
/** Nodes of the quadrature over ± 8 standard deviations (Simpson's rule). */
const NODES = 2000
const WIDTH_SDS = 8

/** Probability that two joints come closer than allowed. */
export const meetingProbability = (gapM: number, gapSdM: number, separationM: number): number =>
  probabilityBetween(-separationM, separationM, gapM, gapSdM)

/** The least gap at which the probability is accepted, m. */
export function neededGapM(gapSdM: number, separationM: number, risk: number): number {
  let low = separationM
  let high = separationM + 10 * gapSdM
  for (let i = 0; i < 60; i += 1) {
    const middle = (low + high) / 2
    if (meetingProbability(middle, gapSdM, separationM) > risk) low = middle
    else high = middle
  }
  return high
}

export function meetings(
  joints: readonly LineJoint[],
  separationM: number,
  risk: number,
  webOf: (unwind: string) => WebValue,
): Meeting[] {
  const found: Meeting[] = []
  const ordered = joints.toSorted((a, b) => a.metres - b.metres)
  for (const [i, first] of ordered.entries()) {
    for (const second of ordered.slice(i + 1)) {
      if (first.unwind === second.unwind) continue
      const gapM = second.metres - first.metres
      const gapSdM = Math.hypot(first.sdM, second.sdM)
      const probability = meetingProbability(gapM, gapSdM, separationM)
      if (probability < TOLD_FROM) continue
      const advice = probability > risk ? early(first, second, joints, separationM, risk, webOf) : undefined
      found.push({ first, second, gapM, gapSdM, probability, advice })
    }
  }
  return found.slice(0, MOST_TOLD)
}

/** Splices one of the two earlier, the cheaper one that brings no joint near another. */
function early(
  first: LineJoint,
  second: LineJoint,
  joints: readonly LineJoint[],
  separationM: number,
  risk: number,
  webOf: (unwind: string) => WebValue,
): EarlySplice | undefined {
  const gapM = second.metres - first.metres
  const neededM = neededGapM(Math.hypot(first.sdM, second.sdM), separationM, risk)
  // The first moves away from the second, or the second overtakes the first.
  const ways = [
    { joint: first, earlyM: neededM - gapM },
    { joint: second, earlyM: neededM + gapM },
  ].filter(({ joint, earlyM }) => joint.number > 0 && earlyM > 0 && earlyM <= joint.earliestByM)
  const worst = ({ joint, earlyM }: (typeof ways)[number]): number =>
    Math.max(
      0,
      ...joints
        .filter(({ unwind }) => unwind !== joint.unwind)
        .map((other) =>
          meetingProbability(other.metres - (joint.metres - earlyM), Math.hypot(other.sdM, joint.sdM), separationM),
        ),
    )
  // The root of the gap is the risk itself, give or take a rounding.
  const clear = ways.filter((way) => worst(way) <= risk * (1 + 1e-6))
  const best = clear.toSorted((a, b) => costOf(a, clear, webOf) - costOf(b, clear, webOf))[0]
  return best === undefined ? undefined : { unwind: best.joint.unwind, number: best.joint.number, earlyM: best.earlyM }
}

interface Way {
  joint: LineJoint
  earlyM: number
}

/** Money where all have a price in one currency, else metres. */
function costOf(way: Way, all: readonly Way[], webOf: (unwind: string) => WebValue): number {
  const values = all.map(({ joint }) => webOf(joint.unwind))
  const currencies = new Set(values.map(({ currency }) => currency))
  const isPriced = currencies.size === 1 && values.every(({ pricePerM }) => pricePerM !== undefined)
  return way.earlyM * (isPriced ? (webOf(way.joint.unwind).pricePerM ?? 1) : 1)
}

/** Probability that all of these preparations go on at one moment. */
export function overlapProbability(all: readonly Preparation[]): number {
  if (all.length < 2) return all.length
  const [a, b] = all
  // Of two the first may not have ended when the second begins, whichever is first.
  if (all.length === 2) {
    return probabilityBetween(-a!.lengthS, b!.lengthS, a!.startS - b!.startS, Math.hypot(a!.sdS, b!.sdS))
  }
  const sum = all.reduce((total, latest) => total + latestIn(latest, all), 0)
  return Math.min(1, Math.max(0, sum))
}

function latestIn(latest: Preparation, all: readonly Preparation[]): number {
  const others = all.filter((one) => one !== latest)
  const running = (x: number): number =>
    others.reduce((product, { startS, sdS, lengthS }) => {
      if (!(sdS > 0)) return x > startS && x < startS + lengthS ? product : 0
      return product * Math.max(0, normalCdf((x - startS) / sdS) - normalCdf((x - lengthS - startS) / sdS))
    }, 1)
  if (!(latest.sdS > 0)) return running(latest.startS)
  const step = (2 * WIDTH_SDS) / NODES
  let sum = 0
  for (let k = 0; k <= NODES; k += 1) {
    const z = -WIDTH_SDS + k * step
    const weight = k === 0 || k === NODES ? 1 : k % 2 === 1 ? 4 : 2
    sum += weight * Math.exp((-z * z) / 2) * running(latest.startS + z * latest.sdS)
  }
  return (sum * step) / 3 / Math.sqrt(2 * Math.PI)
}

/** Every choice of so many unwinds that is more than the crew can prepare at once. */
export function overlaps(preparations: readonly Preparation[], crew: number): Overlap[] {
  return choices(preparations, crew + 1)
    .map((chosen) => ({
      unwinds: chosen.map(({ unwind }) => unwind),
      startS: Math.max(...chosen.map(({ startS }) => startS)),
      probability: overlapProbability(chosen),
    }))
    .filter(({ probability }) => probability >= TOLD_FROM)
    .slice(0, MOST_TOLD)
}

function choices<T>(from: readonly T[], size: number): T[][] {
  if (size === 0) return [[]]
  return from.flatMap((first, index) => choices(from.slice(index + 1), size - 1).map((rest) => [first, ...rest]))
}
