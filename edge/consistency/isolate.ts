/**
 * From relations that disagree to the tag that reads wrong, and to the tags that could as well be it. Pure.
 *
 * Each hypothesis is one tag (or both speeds, which often come from one drive) off by one factor. Those that no relation
 * contradicts are kept. A factor that is a usual mix-up makes its tag the likelier one; what is left is said to be
 * indistinguishable. Where no single tag explains all, the best one is named and it is said that there is more.
 */
import { type MixUp, recognise } from './mix-ups.ts'
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

/** @param mixUpsOf - the mix-ups that a tag of this config may suffer. */
export function isolate(relations: readonly Relation[], mixUpsOf: (suspect: Suspect) => readonly MixUp[]): Verdict {
  const judged = relations.filter(({ isJudged }) => isJudged)
  // A position that counts the wrong way is told by the sign alone; its size counts here.
  const off = judged.filter((relation) => disagrees({ ...relation, ratio: Math.abs(relation.ratio) }))
  if (off.length === 0) return { candidates: [], isMixed: false }
  const all = SUSPECTS.filter(
    (suspects) => suspects.length === 1 || judged.some(({ id }) => (EXPONENTS[id].unwind_speed ?? 0) !== 0),
  ).flatMap((suspects) => {
    const fit = fitHypothesis(judged, suspects)
    if (fit === undefined || fit.explains.length === 0 || Math.abs(Math.log(fit.factor)) < LEAST_SHARE) return []
    const mixUp = recognise(mixUpsOf(suspects[0]!), fit.factor, fit.sd)
    return [{ ...fit, mixUp }]
  })
  const consistent = all.filter(({ isConsistent }) => isConsistent)
  if (consistent.length === 0) {
    const best = all.sort((a, b) => a.misfit - b.misfit).slice(0, 1)
    return { candidates: best, isMixed: best.length > 0 }
  }
  const least = Math.min(...consistent.map(({ misfit }) => misfit))
  const candidates = consistent
    .filter(({ misfit, mixUp }) => misfit - least <= MUCH_WORSE || mixUp !== undefined)
    .sort((a, b) => rankOf(b) - rankOf(a) || a.misfit - b.misfit)
  return { candidates, isMixed: false }
}

const rankOf = ({ mixUp, suspects }: Candidate): number =>
  (mixUp === undefined ? 0 : mixUp.kind === 'strands' ? 1 : 2) - 0.5 * (suspects.length - 1)
