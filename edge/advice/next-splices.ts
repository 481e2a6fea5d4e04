/**
 * The next splices from the rolls that are known, in running order, and what the job leaves. Pure.
 *
 * The running roll ends at the first splice; the waiting roll follows, then rolls of the usual length of its material. At the
 * same speed the buffer holds the same at each cycle's start, so a roll's web is the line's web from splice to splice:
 *   M₁ = R − (S_at_splice − S_now),  M_k = M_{k−1} + L_k,  σ_k² = σ₁² + Σ σ_L²      (independent rolls)
 */
import { Z80 } from '../estimators/statistics.ts'

export type RollKind = 'running' | 'waiting' | 'usual'

export interface ComingRoll {
  kind: Exclude<RollKind, 'running'>
  material: string
  /** Web from its outside to its splice, m, with its standard deviation. */
  lengthM: number
  sdM: number
}

/** What moves less than the next splices' forecast: rolls are fetched for hours. */
export interface Staging {
  /** Length of one of the last rolls, m; undefined where too few were seen to stage by. */
  rollM: number | undefined
  /** Speed at which the line usually produces, m/s; undefined where no roll change was seen. */
  speedMps: number | undefined
}

export interface NextSplicesInput {
  /** Line web until the next cycle starts, m, with its standard deviation. */
  firstM: number
  firstSdM: number
  /** Of the running roll, from its loading on where that was seen, m. */
  runningLengthM: number | undefined
  runningMaterial: string
  /** Undefined where nothing is known of it. */
  waiting: ComingRoll | undefined
  /** What follows it again and again. */
  usual: ComingRoll | undefined
  /** What rolls are staged by; undefined: by `usual` and the speed now. */
  staging?: Staging | undefined
  /** Undefined while the line stands. */
  speedMps: number | undefined
  /** Speed to reckon the horizon at while it stands. */
  lastSpeedMps: number
  leadS: number
  preparationS: number
  jobM: number | undefined
}

export interface NextSplice {
  /** Line web from now to the start of the cycle, m. */
  metres: number
  low: number
  high: number
  sdM: number
  /** Undefined while the line stands. */
  seconds: number | undefined
  secondsLow: number | undefined
  secondsHigh: number | undefined
  /** The roll that this splice ends. */
  roll: RollKind
  material: string
  rollLengthM: number | undefined
  rollLengthSdM: number | undefined
  /** It lasts no longer than preparing the one after it takes. */
  isTooShort: boolean
}

export interface JobEnd {
  remainingM: number
  seconds: number | undefined
  /** Splices until then; the first counts where it may come before. */
  splices: number
  /** Web to its splice diameter that will be left on the roll that runs then, m. */
  leftM: number
  leftSdM: number
  onRoll: RollKind
}

export interface Schedule {
  /** Within the horizon; those until the job ends, where that is known. */
  splices: NextSplice[]
  job: JobEnd | undefined
  /**
   * Rolls that are needed until the job ends, without one within the horizon, and are neither running nor waiting; undefined
   * where they are too many to be counted, or would be counted by rolls of which too few were seen.
   */
  toStage: number | undefined
}

/** 99 times in 100 the splice does not come before: a roll that is asked for in vain costs less than one that lacks. */
const BEYOND_DOUBT_SD = 2.33

/** The job ends before a splice, beyond doubt: that splice's next roll is not asked for. */
export const endsBefore = (jobM: number, { metres, sdM }: Pick<NextSplice, 'metres' | 'sdM'>): boolean =>
  jobM <= metres - BEYOND_DOUBT_SD * sdM

export const HORIZON_S = 8 * 3600
/** More splices than these say nothing new; a roll shorter than this is no roll, m. */
const MOST_SPLICES = 200
const MOST_SHOWN = 50
const SHORTEST_M = 1

export function schedule(input: NextSplicesInput): Schedule {
  const { speedMps, jobM } = input
  const horizonM = (speedMps ?? input.lastSpeedMps) * HORIZON_S
  const all: NextSplice[] = [
    spliceOf(input, input.firstM, input.firstSdM, {
      kind: 'running',
      material: input.runningMaterial,
      lengthM: input.runningLengthM,
      sdM: undefined,
    }),
  ]
  while (all.length < MOST_SPLICES) {
    const last = all.at(-1)!
    if (last.metres > Math.max(horizonM, stagedM(input), jobM ?? 0)) break
    const roll = all.length === 1 ? (input.waiting ?? input.usual) : input.usual
    if (roll === undefined || !(roll.lengthM >= SHORTEST_M)) break
    all.push(spliceOf(input, last.metres + roll.lengthM, Math.hypot(last.sdM, roll.sdM), roll))
  }
  const job = jobM === undefined ? undefined : jobEnd(input, all, jobM)
  // With the job the need for rolls ends, as far as anybody has said.
  const within = all.slice(0, job?.splices).filter(({ metres }) => metres <= horizonM)
  const needed = neededRolls(input, all, job)
  const toStage = needed === undefined ? undefined : Math.max(0, needed - (input.waiting === undefined ? 0 : 1))
  return { splices: within.slice(0, MOST_SHOWN), job, toStage }
}

/** Web within the horizon at the usual speed, m. */
const stagedM = ({ staging, speedMps, lastSpeedMps }: NextSplicesInput): number =>
  (staging?.speedMps ?? speedMps ?? lastSpeedMps) * HORIZON_S

/** Splices until the job ends, else within the horizon at the usual speed, for each of which a roll has to be there. */
function neededRolls(input: NextSplicesInput, all: readonly NextSplice[], job: JobEnd | undefined): number | undefined {
  const known = input.waiting === undefined ? 1 : 2
  const horizonM = stagedM(input)
  const rollM = input.staging === undefined ? input.usual?.lengthM : input.staging.rollM
  const ofKnown = all.slice(0, known).filter(({ metres }) => metres <= horizonM).length
  if (job !== undefined) return job.splices < known || rollM !== undefined ? job.splices : undefined
  if (ofKnown < known) return ofKnown
  const last = all[known - 1]
  if (last === undefined || rollM === undefined || !(rollM >= SHORTEST_M)) return undefined
  const needed = known + Math.floor((horizonM - last.metres) / rollM)
  // Beyond that it is no figure to fetch rolls by.
  return needed < MOST_SPLICES ? needed : undefined
}

function spliceOf(
  input: NextSplicesInput,
  metres: number,
  sdM: number,
  roll: { kind: RollKind; material: string; lengthM: number | undefined; sdM: number | undefined },
): NextSplice {
  const { speedMps } = input
  const low = Math.max(0, metres - Z80 * sdM)
  const high = metres + Z80 * sdM
  const seconds = (webM: number): number | undefined => (speedMps === undefined ? undefined : webM / speedMps)
  const lastsS = roll.lengthM === undefined ? undefined : roll.lengthM / (speedMps ?? input.lastSpeedMps)
  return {
    metres,
    low,
    high,
    sdM,
    seconds: seconds(metres),
    secondsLow: seconds(low),
    secondsHigh: seconds(high),
    roll: roll.kind,
    material: roll.material,
    rollLengthM: roll.lengthM,
    rollLengthSdM: roll.sdM,
    // The position that it came from is free at its own splice; by then preparing the one after it can begin.
    isTooShort: roll.kind !== 'running' && lastsS !== undefined && lastsS - input.leadS < input.preparationS,
  }
}

function jobEnd(input: NextSplicesInput, all: readonly NextSplice[], jobM: number): JobEnd | undefined {
  const byMean = all.findIndex(({ metres }) => metres >= jobM)
  const index = byMean === 0 && !endsBefore(jobM, all[0]!) ? 1 : byMean
  // What follows is not known so far ahead.
  const on = all[index] ?? all[byMean]
  if (on === undefined) return undefined
  return {
    remainingM: jobM,
    seconds: input.speedMps === undefined ? undefined : jobM / input.speedMps,
    splices: index,
    leftM: on.metres - jobM,
    leftSdM: on.sdM,
    onRoll: on.roll,
  }
}
