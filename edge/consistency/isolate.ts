/**
 * From relations that disagree to the tag that reads wrong, and to the tags that could as well be it. Pure.
 *
 * Each hypothesis is one tag (or both speeds, which often come from one drive) off by one factor. Those that no relation
 * contradicts are kept. A factor that is a usual mix-up makes its tag the likelier one; what is left is said to be
 * indistinguishable. Where no single tag explains all, or only by a factor that nobody would configure, two usual mix-ups at
 * once are tried; else the best one is named and it is said that there is more.
 */
import { type MixUp, recognise } from './mix-ups.ts'
import { type Pair, pairsOf, type Typical } from './pairs.ts'
import {
  disagrees,
  EXPONENTS,
  fitHypothesis,
  type Hypothesis,
  LEAST_SHARE,
  type Relation,
  type Suspect,
} from './relation.ts'

export interface Candidate extends Hypothesis {
  mixUp: MixUp | undefined
}

export interface Verdict {
  /** Likeliest first; empty where nothing disagrees. */
  candidates: Candidate[]
  /** Two mix-ups at once that explain everything, likeliest first; they go before the candidates. */
  pairs: Pair[]
  /** No single tag explains everything. */
  isMixed: boolean
}

const SUSPECTS: readonly (readonly Suspect[])[] = [
  ['line_speed'],
  ['unwind_speed'],
  ['buffer_position'],
  ['roll_diameter'],
  ['spindle_speed'],
  ['line_length'],
  ['nominal_caliper'],
  ['splice_diameter'],
  ['line_speed', 'unwind_speed'],
]
/** So much worse than the best, in squared standard deviations, is not worth telling. */
const MUCH_WORSE = 9

/** Farther off than this no drive, encoder or sensor is scaled by hand: then it is a unit, a raw count or another tag. */
export const LARGEST_SCALE = 2
export const isOddScale = (factor: number): boolean => Math.abs(Math.log(Math.abs(factor))) > Math.log(LARGEST_SCALE)

/**
 * @param mixUpsOf - the mix-ups that a tag of this config may suffer.
 * @param typical - what the tags show as a rule.
 */
export function isolate(
  relations: readonly Relation[],
  mixUpsOf: (suspect: Suspect) => readonly MixUp[],
  typical: Typical = {},
): Verdict {
  const judged = relations.filter(({ isJudged }) => isJudged)
  // A position that counts the wrong way is told by the sign alone; its size counts here.
  const off = judged.filter((relation) => disagrees({ ...relation, ratio: Math.abs(relation.ratio) }))
  if (off.length === 0) return { candidates: [], pairs: [], isMixed: false }
  const possible = SUSPECTS.filter(
    (suspects) => suspects.length === 1 || judged.some(({ id }) => (EXPONENTS[id].unwind_speed ?? 0) !== 0),
  )
  const all = possible.flatMap((suspects) => {
    const fit = fitHypothesis(judged, suspects)
    if (fit === undefined || fit.explains.length === 0 || Math.abs(Math.log(fit.factor)) < LEAST_SHARE) return []
    const mixUp = recognise(mixUpsOf(suspects[0]!), fit.factor, fit.sd)
    return [{ ...fit, mixUp }]
  })
  const consistent = all.filter(({ isConsistent }) => isConsistent)
  const isPlain = consistent.some(({ mixUp, factor }) => mixUp !== undefined || !isOddScale(factor))
  const pairs = isPlain ? [] : pairsOf(judged, possible, mixUpsOf, typical)
  if (consistent.length === 0) {
    const best = all.sort((a, b) => a.misfit - b.misfit).slice(0, 1)
    return { candidates: best, pairs, isMixed: best.length > 0 }
  }
  const least = Math.min(...consistent.map(({ misfit }) => misfit))
  const candidates = consistent
    .filter(({ misfit, mixUp }) => misfit - least <= MUCH_WORSE || mixUp !== undefined)
    .sort((a, b) => rankOf(b) - rankOf(a) || a.misfit - b.misfit)
  return { candidates, pairs, isMixed: false }
}

const rankOf = ({ mixUp, suspects }: Candidate): number =>
  (mixUp === undefined ? 0 : mixUp.kind === 'strands' ? 1 : 2) - 0.5 * (suspects.length - 1)
