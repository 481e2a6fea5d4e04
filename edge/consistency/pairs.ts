/**
 * Two usual mix-ups at once, where no single one explains what the tags say of each other. Pure.
 *
 * Both factors are known beforehand, so nothing is fitted: a pair is held against every relation with the relation's own
 * uncertainty, and against what each tag would then read. An area alone is one number; thousands of pairs meet it by chance
 * only where a corrected value is no possible one, which is why the ranges below are asked as well.
 */
import type { MixUp } from './mix-ups.ts'
import { disagrees, EXPONENTS, type Relation, SIGNIFICANT_SDS, type Suspect } from './relation.ts'

/** One tag (or both speeds) with its own mix-up. */
export interface Part {
  suspects: readonly Suspect[]
  mixUp: MixUp
}

export interface Pair {
  parts: readonly [Part, Part]
  /** Sum of the squared standardised residuals. */
  misfit: number
  explains: Relation['id'][]
}

/** What a tag shows as a rule, in SI, as it is read now. */
export type Typical = Readonly<Partial<Record<Suspect, number>>>

/** Largest roll that any line takes, m. */
export const LARGEST_ROLL_M = 3
/**
 * What such a tag can truly carry in SI (common practice, no source): webs from 1 to 1800 m/min, rolls from 50 mm to 3 m,
 * calipers from 3 µm to 12 mm (corrugated), a spindle from 0.1 to 60 turns a second.
 */
const POSSIBLE: Readonly<Partial<Record<Suspect, readonly [number, number]>>> = {
  line_speed: [1 / 60, 30],
  unwind_speed: [1 / 60, 36],
  spindle_speed: [0.1 / 60, 60],
  roll_diameter: [0.05, LARGEST_ROLL_M],
  splice_diameter: [0.05, LARGEST_ROLL_M],
  nominal_caliper: [3e-6, 12e-3],
}
/** As near as a factor has to be to be known for a mix-up, as one standard deviation. */
const NEAR_SD = 0.015 / SIGNIFICANT_SDS
/** So much worse than the best pair, in squared standard deviations, is not worth telling … */
const MUCH_WORSE = 9
/** … and of what is left no more than so many: a longer list decides nothing. */
const MOST_PAIRS = 3

/**
 * @param suspects - tags, or both speeds, that may be wrong together.
 * @param mixUpsOf - the mix-ups that a tag of this config may suffer.
 * @returns pairs that no relation contradicts, best first; empty where there are none, or too many to mean anything.
 */
export function pairsOf(
  relations: readonly Relation[],
  suspects: readonly (readonly Suspect[])[],
  mixUpsOf: (suspect: Suspect) => readonly MixUp[],
  typical: Typical,
): Pair[] {
  const off = relations.filter((relation) => disagrees({ ...relation, ratio: Math.abs(relation.ratio) }))
  const parts = suspects.flatMap((one) => {
    if (!off.some(({ id }) => exponentOf(id, one) !== 0)) return []
    return mixUpsOf(one[0]!)
      .filter((mixUp) => isPossible(one[0]!, mixUp, typical))
      .map((mixUp): Part => ({ suspects: one, mixUp }))
  })
  const found: Pair[] = []
  for (const [i, first] of parts.entries()) {
    for (const second of parts.slice(i + 1)) {
      if (first.suspects.some((one) => second.suspects.includes(one))) continue
      const misfit = misfitOf(relations, [first, second])
      if (misfit === undefined) continue
      const both = [...first.suspects, ...second.suspects]
      found.push({
        parts: [first, second],
        misfit,
        explains: off.filter(({ id }) => both.some((one) => exponentOf(id, [one]) !== 0)).map(({ id }) => id),
      })
    }
  }
  found.sort((a, b) => a.misfit - b.misfit || strandsIn(a) - strandsIn(b))
  const least = found[0]?.misfit ?? 0
  const near = found.filter(({ misfit }) => misfit - least <= MUCH_WORSE)
  return near.length > MOST_PAIRS ? [] : near
}

const exponentOf = (id: Relation['id'], suspects: readonly Suspect[]): number =>
  suspects.reduce((sum, one) => sum + (EXPONENTS[id][one] ?? 0), 0)

/** Undefined where a relation contradicts it. */
function misfitOf(relations: readonly Relation[], parts: readonly Part[]): number | undefined {
  let misfit = 0
  for (const { id, ratio, wholeSd } of relations) {
    let expected = 0
    for (const { suspects, mixUp } of parts) expected += exponentOf(id, suspects) * Math.log(mixUp.factor)
    const sds = Math.abs(Math.log(Math.abs(ratio)) - expected) / Math.max(NEAR_SD, wholeSd)
    if (sds > SIGNIFICANT_SDS) return undefined
    misfit += sds * sds
  }
  return misfit
}

/** What the tag reads now, by its true unit, can be. What is not known speaks for nothing. */
function isPossible(suspect: Suspect, { factor }: MixUp, typical: Typical): boolean {
  const reads = typical[suspect]
  const range = POSSIBLE[suspect]
  if (reads === undefined || range === undefined) return true
  const truly = reads / factor
  return truly >= range[0] && truly <= range[1]
}

/** A miscount is rarer than a wrong unit. */
const strandsIn = ({ parts }: Pair): number => parts.filter(({ mixUp }) => mixUp.kind === 'strands').length
