/**
 * What should agree: each relation between tags as one measured ratio, with what it would be if one tag read wrong. Pure.
 *
 * A tag's gain g is what it reads over what is true. The logarithm of a relation's ratio is linear in the logarithms of
 * the gains, so one wrong tag leaves its own pattern over all relations (parity relations; common practice, no source).
 */
export type Suspect =
  | 'line_speed'
  | 'unwind_speed'
  | 'buffer_position'
  | 'roll_diameter'
  | 'spindle_speed'
  | 'line_length'
  | 'nominal_caliper'
  | 'splice_diameter'

export const RELATION_IDS = [
  'speeds',
  'spindle',
  'totaliser',
  'festoon_unwind',
  'festoon_spindle',
  'festoon_line',
  'area',
  'setting',
] as const
export type RelationId = (typeof RELATION_IDS)[number]

/** Exponents of the gains in each relation's ratio. */
export const EXPONENTS: Readonly<Record<RelationId, Readonly<Partial<Record<Suspect, number>>>>> = {
  speeds: { unwind_speed: 1, line_speed: -1 },
  spindle: { spindle_speed: 1, roll_diameter: 1, line_speed: -1 },
  totaliser: { line_length: 1, line_speed: -1 },
  festoon_unwind: { buffer_position: 1, unwind_speed: -1 },
  festoon_spindle: { buffer_position: 1, spindle_speed: -1, roll_diameter: -1 },
  festoon_line: { buffer_position: 1, line_speed: -1 },
  area: { roll_diameter: 2, nominal_caliper: -1, line_speed: -1 },
  setting: { roll_diameter: 1, splice_diameter: -1 },
}

export interface Relation {
  id: RelationId
  /** 1 where the two sides agree; below 0 they move against each other. */
  ratio: number
  /** Standard deviation of the ratio as a share: of the measurement, and with what sound tags may differ by. */
  sd: number
  wholeSd: number
  /** Web over which it was taken, m, by the first and by the second of its sides. */
  firstM: number
  secondM: number
  /** There was enough web to judge. */
  isJudged: boolean
}

/**
 * What sound tags may differ by, one standard deviation as a share (common practice, no source): two tachs 0.2 %, a
 * calibrated carriage 0.2 %, a sensor's offset near the core 1 %, a label 3 %; a trigger that is early, or a roll that a
 * person spliced by button, 15 %; the steepest fall misses part of a short stop, 3 %.
 */
export const SOUND_SD: Readonly<Record<RelationId, number>> = {
  speeds: 0.002,
  spindle: 0.01,
  totaliser: 0.002,
  festoon_unwind: 0.002,
  festoon_spindle: 0.015,
  festoon_line: 0.03,
  area: 0.03,
  setting: 0.15,
}
/** Nothing is said of less: tags of a sound line differ by so much (trade notes: speeds disagree only above 1 %). */
export const LEAST_SHARE = 0.009
/** Beyond so many standard deviations it is no chance: one in two thousand. */
export const SIGNIFICANT_SDS = 3.5
/** Nothing is judged before so much web, m (trade notes). */
export const ENOUGH_WEB_M = 200

const logOf = ({ ratio }: Relation): number => Math.log(Math.abs(ratio))

/** The two sides of a relation disagree beyond chance and beyond what is usual. */
export const disagrees = (relation: Relation): boolean =>
  relation.isJudged &&
  (relation.ratio < 0 ||
    (Math.abs(logOf(relation)) > LEAST_SHARE && Math.abs(logOf(relation)) > SIGNIFICANT_SDS * relation.wholeSd))

export interface Hypothesis {
  /** Tags that read wrong by the same factor: one, or both speeds. */
  suspects: readonly Suspect[]
  factor: number
  /** As a share. */
  sd: number
  /** Sum of the squared standardised residuals. */
  misfit: number
  /** Relations that it explains. */
  explains: readonly RelationId[]
  /** No relation contradicts it. */
  isConsistent: boolean
}

/** The best factor for a hypothesis by weighted least squares over all relations, and how well it explains them. */
export function fitHypothesis(relations: readonly Relation[], suspects: readonly Suspect[]): Hypothesis | undefined {
  let weightSum = 0
  let sum = 0
  const exponentOf = ({ id }: Relation): number =>
    suspects.reduce((total, suspect) => total + (EXPONENTS[id][suspect] ?? 0), 0)
  for (const relation of relations) {
    const exponent = exponentOf(relation)
    sum += (exponent * logOf(relation)) / relation.wholeSd ** 2
    weightSum += (exponent * exponent) / relation.wholeSd ** 2
  }
  if (weightSum === 0) return undefined
  const log = sum / weightSum
  let misfit = 0
  let worst = 0
  const explains: RelationId[] = []
  for (const relation of relations) {
    const exponent = exponentOf(relation)
    const off = Math.abs(logOf(relation) - exponent * log) / relation.wholeSd
    misfit += off * off
    worst = Math.max(worst, off)
    if (exponent !== 0 && disagrees(relation)) explains.push(relation.id)
  }
  return {
    suspects,
    factor: Math.exp(log),
    sd: 1 / Math.sqrt(weightSum),
    misfit,
    explains,
    isConsistent: worst <= SIGNIFICANT_SDS,
  }
}
