/**
 * How long the crew takes to prepare a roll, in all and by stage where somebody or a tag says so. Pure; plain data.
 *
 * From the roll change to `new_roll_ready` the crew may also have waited: that can only lengthen what is seen. One that took
 * more than twice the usual was not in a hurry and is doubted, until three in a row agree.
 */
import type { SplicerConfig } from '../../config/config.ts'
import { STAGES, type Stage } from '../../entries.ts'
import { Z80 } from '../statistics.ts'
import { type Belief, believe, type Evidence, rememberPlausible } from './evidence.ts'

interface Learned {
  seen: Evidence
  doubted: Evidence
}

export interface LearnedPreparation {
  total: Learned
  stages: Record<Stage, Learned>
  /** The next roll was not ready at the last look; null before it was looked at. */
  wasReady: boolean | null
  /** When the roll was begun during which the last preparation was counted, ms. */
  countedOf: number | null
}

/** People differ more than machines: shares of the configured time (common practice, no source). */
const SHEET_SD_SHARE = 0.3
const SCATTER_SHARE = 0.15
const UNHURRIED = 2
const AGREE_SHARE = 0.4
/** Two reckonings of one roll change differ by less, ms. */
const SAME_ROLL_MS = 2000

const nothing = (): Learned => ({ seen: [], doubted: [] })
export const preparedNothing = (): LearnedPreparation => ({
  total: nothing(),
  stages: { fetch: nothing(), load: nothing(), splice_prep: nothing() },
  wasReady: null,
  countedOf: null,
})

export const configuredStageS = ({ preparation }: SplicerConfig, stage: Stage): number =>
  stage === 'fetch' ? preparation.fetchS : stage === 'load' ? preparation.loadS : preparation.splicePrepS

const belief = ({ seen }: Learned, priorS: number, nowMs: number): Belief =>
  believe(seen, priorS, SHEET_SD_SHARE * priorS, SCATTER_SHARE * priorS, nowMs)

/** Time that the next preparation takes, s, with its spread. Nothing is to be prepared where the config says 0. */
export function preparationTime(splicer: SplicerConfig, learned: LearnedPreparation, nowMs: number): Belief {
  const { totalS } = splicer.preparation
  return totalS > 0 ? belief(learned.total, totalS, nowMs) : { mean: 0, sd: 0, scatter: 0 }
}

export function stageTime(splicer: SplicerConfig, learned: LearnedPreparation, stage: Stage, nowMs: number): number {
  const priorS = configuredStageS(splicer, stage)
  const { seen } = learned.stages[stage]
  // A stage that the config does not know has no prior: what was seen counts in full.
  return priorS > 0 || seen.length === 0
    ? belief(learned.stages[stage], priorS, nowMs).mean
    : belief(learned.stages[stage], seen[0]!.value, nowMs).mean
}

/** What is left of a preparation, s: by habit, and the least that it can be done in. */
export interface PreparationLeft {
  usualS: number
  leastS: number
}

/** Once every stage is done the head is still to be locked and the splicer armed: a share of the whole (common practice, no source). */
const ARMING_SHARE = 0.1
/** Whatever the crew's scatter, below half of the usual time no roll gets ready any more (trade notes). */
const LEAST_SHARE = 0.5

/**
 * The stages that are open, by what they usually take. The least is what nine in ten preparations of this crew take longer than:
 * the usual time less 1.28 of its scatter from roll to roll.
 */
export function preparationLeft(
  splicer: SplicerConfig,
  learned: LearnedPreparation,
  isDone: (stage: Stage) => boolean,
  nowMs: number,
): PreparationLeft {
  const { mean: wholeS, scatter: scatterS } = preparationTime(splicer, learned, nowMs)
  if (wholeS <= 0) return { usualS: 0, leastS: 0 }
  const doneS = STAGES.reduce(
    (sumS, stage) => sumS + (isDone(stage) ? stageTime(splicer, learned, stage, nowMs) : 0),
    0,
  )
  const usualS = Math.max(ARMING_SHARE * wholeS, wholeS - doneS)
  return { usualS, leastS: usualS * Math.max(LEAST_SHARE, 1 - (Z80 * scatterS) / wholeS) }
}

export interface PreparationMoment {
  tMs: number
  /** When the running roll was begun, ms; undefined where that was not seen. */
  begunTMs: number | undefined
  isReady: boolean | undefined
  /** When each stage was done, as far as people or tags say, ms. */
  doneTMs: Readonly<Partial<Record<Stage, number>>>
}

/** Once per look: counts a preparation at the moment at which the roll is ready. */
export function notePreparation(learned: LearnedPreparation, splicer: SplicerConfig, moment: PreparationMoment): void {
  const { tMs, begunTMs, isReady, doneTMs } = moment
  const { wasReady, countedOf } = learned
  if (isReady !== undefined) learned.wasReady = isReady
  if (isReady !== true || wasReady !== false || begunTMs === undefined || splicer.preparation.totalS <= 0) return
  if (countedOf !== null && Math.abs(countedOf - begunTMs) < SAME_ROLL_MS) return
  learned.countedOf = begunTMs
  count(learned.total, splicer.preparation.totalS, begunTMs, tMs)
  let fromTMs: number | undefined = begunTMs
  for (const stage of STAGES) {
    const doneAt: number | undefined = stage === 'splice_prep' ? tMs : doneTMs[stage]
    // A stage that began before the roll ran, or of which nobody said when it began, has no length.
    if (fromTMs !== undefined && doneAt !== undefined && doneAt > fromTMs) {
      count(learned.stages[stage], configuredStageS(splicer, stage), fromTMs, doneAt)
    }
    fromTMs = doneAt !== undefined && doneAt >= begunTMs ? doneAt : undefined
  }
}

function count(learned: Learned, priorS: number, fromTMs: number, toTMs: number): void {
  const value = (toTMs - fromTMs) / 1000
  const usualS =
    priorS > 0 || learned.seen.length > 0 ? belief(learned, priorS || learned.seen[0]!.value, toTMs).mean : value
  rememberPlausible(
    learned.seen,
    learned.doubted,
    { value, tMs: toTMs },
    value <= UNHURRIED * usualS,
    AGREE_SHARE * usualS,
  )
}
