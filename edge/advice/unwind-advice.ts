/**
 * All advice on one unwind at one moment, in SI, from the very estimates that the forecast is made of. Pure.
 */
import type { MaterialConfig, UnwindConfig } from '../config/config.ts'
import { type AssessInput, type Assessment, forecastInputOf } from '../estimators/assessment.ts'
import { rampsNow } from '../estimators/buffer.ts'
import { type Forecast, type ForecastInput, forecast, trigger } from '../estimators/forecast.ts'
import type { Belief } from '../estimators/learning/evidence.ts'
import { preparationTime } from '../estimators/learning/preparation.ts'
import { expectCaliper } from '../estimators/learning/rolls.ts'
import type { RollFilter } from '../estimators/roll-filter.ts'
import { cycleSpeedMps, plannedSlowDown } from '../estimators/slow-down.ts'
import { Z80 } from '../estimators/statistics.ts'
import { type FlagCountdown, flagCountdown } from './flags.ts'
import type { AdviceMemory, UsualLength } from './memory.ts'
import { type ComingRoll, endsBefore, type Schedule, schedule } from './next-splices.ts'
import { atSpeed, type LastingSpeed, lastingSpeed, type ReadyBy, readyBy } from './preparation.ts'
import {
  type LeftOnCore,
  leftOnCore,
  type SmallestDiameter,
  type SpliceDiameterInput,
  smallestSpliceDiameter,
} from './splice-diameter.ts'

export interface AdviceInput {
  assess: AssessInput
  assessment: Assessment
  memory: AdviceMemory
  materials: Readonly<Record<string, MaterialConfig>>
  /** Of the waiting roll; undefined where no tag says it. */
  waitingDiameterM: number | undefined
  /** On its label; counts where its diameter is not known. */
  waitingLengthM: number | undefined
  waitingMaterial: string | undefined
  jobM: number | undefined
}

export interface Advice {
  readyBy: ReadyBy | undefined
  lasting: LastingSpeed | undefined
  schedule: Schedule | undefined
  usual: UsualLength | undefined
  flags: FlagCountdown[]
  diameter: { settingM: number; risk: number; smallest: SmallestDiameter; left: LeftOnCore } | undefined
  /** Of the running roll. */
  material: MaterialConfig | undefined
  caliper: { measuredM: number; sdM: number; labelM: number; significance: number } | undefined
  wave: { amplitudeM: number; sdM: number; limitM: number | undefined } | undefined
}

/** The core's outside, from core to core: one standard deviation, m (common practice, no source: ± 0.5 mm). */
const CORE_SD_M = 0.25e-3
/** Data-sheet ramps are within 15 % (common practice, no source). */
const RAMP_SD_SHARE = 0.15
/** A waiting roll's diameter comes from another sensor or a data sheet: one standard deviation, m (trade notes: offsets are common). */
const WAITING_SD_M = 3e-3
/** The length on a label is right within this: one standard deviation (common practice, no source: ± 1 %). */
const LABEL_LENGTH_SD_SHARE = 0.005
/** A joint is forgotten once it is past any machine, m. */
const FLAG_GONE_M = -1000

export function adviceOf(input: AdviceInput): Advice {
  const { assess, assessment } = input
  const { config, roll, webM, rollData } = assess
  const known = roll.at(webM)
  const at = forecastInputOf(assess, known, assessment.state)
  const said = assessment.forecast
  const filter = at.roll
  const { refusesWithinS } = config.splicer
  const isFilling = assessment.state === 'filling'
  const ready = readyBy(at, said, refusesWithinS, isFilling)
  const usual = usualOf(input, filter)
  const material = materialOf(input.materials, rollData.material)
  return {
    readyBy: ready,
    lasting: lastingSpeed(at, preparationOf(assess).mean, refusesWithinS),
    schedule: scheduleOf(input, at, said, filter, usual),
    usual,
    flags: filter === undefined ? [] : flagsOf(input, filter, said),
    diameter: filter === undefined ? undefined : diameterOf(assess, at, filter, material),
    material,
    caliper: filter === undefined ? undefined : caliperOf(filter, rollData.labelM),
    wave: filter === undefined ? undefined : waveOf(filter, config, at.speedMps),
  }
}

/** The next splices alone: for a screen that asks twice a second. */
export function scheduleNow(input: AdviceInput): Schedule | undefined {
  const { assess, assessment } = input
  const at = forecastInputOf(assess, assess.roll.at(assess.webM), assessment.state)
  return scheduleOf(input, at, assessment.forecast, at.roll, usualOf(input, at.roll))
}

/** Where the job ends before the next splice beyond doubt: how much web it still needs, m, and how long that takes, s. */
export interface LastRoll {
  metres: number
  seconds: number | undefined
}

/** @returns undefined where a further roll is needed, or may be. */
export function lastRollOf(input: AdviceInput): LastRoll | undefined {
  const { assess, assessment, jobM } = input
  const said = assessment.forecast
  if (jobM === undefined || said === undefined) return undefined
  const at = forecastInputOf(assess, assess.roll.at(assess.webM), assessment.state)
  if (!endsBefore(jobM, lineWebToSplice(at, said))) return undefined
  return { metres: jobM, seconds: at.speedMps === undefined ? undefined : jobM / at.speedMps }
}

/** Marks inside the running roll, likewise. */
export function flagsNow(input: AdviceInput): FlagCountdown[] {
  const { assess, assessment } = input
  const { roll } = forecastInputOf(assess, assess.roll.at(assess.webM), assessment.state)
  return roll === undefined ? [] : flagsOf(input, roll, assessment.forecast)
}

/** The forecast and the deadline as they would be at another line speed. */
export function whatIf(
  input: AdviceInput,
  speedMps: number,
): { forecast: Forecast; readyBy: ReadyBy | undefined } | undefined {
  const { assess, assessment } = input
  const at = atSpeed(forecastInputOf(assess, assess.roll.at(assess.webM), assessment.state), speedMps)
  const said = forecast(at)
  if (said === undefined) return undefined
  return {
    forecast: said,
    readyBy: readyBy(at, said, assess.config.splicer.refusesWithinS, assessment.state === 'filling'),
  }
}

/** Time that preparing the next roll takes, s, as learned. */
export const preparationOf = ({ config, learned, now }: AssessInput): Belief =>
  preparationTime(config.splicer, learned.preparation, now.tMs)

export function materialOf(
  materials: Readonly<Record<string, MaterialConfig>>,
  name: string | undefined,
): MaterialConfig | undefined {
  return name !== undefined && Object.hasOwn(materials, name) ? materials[name] : undefined
}

/** Line web until the cycle starts: what still goes into the buffer leaves the roll without passing the line. */
function lineWebToSplice(at: ForecastInput, said: Forecast): { metres: number; sdM: number } {
  const speedMps = at.speedMps ?? at.lastSpeedMps
  const running = said.seconds === undefined ? forecast(atSpeed(at, speedMps)) : said
  const seconds = running?.seconds ?? said.metres / speedMps
  const spreadS = (running?.secondsHigh ?? seconds) - seconds
  return { metres: seconds * speedMps, sdM: Math.max(said.metresSd, (spreadS * speedMps) / Z80) }
}

/** Speed at which the cycle will run, m/s. */
const spliceSpeedMps = (at: ForecastInput): number => {
  const speedMps = at.speedMps ?? at.lastSpeedMps
  return cycleSpeedMps(speedMps, plannedSlowDown(at.splicer, at.learned))
}

/**
 * Web that the old roll gives while it stops, m, with the deceleration and the corners as learned: v·J/2 + v²/(2·a_dec). A
 * flying splice cuts at full speed and asks for none.
 */
export function stoppingWebM(at: ForecastInput): number {
  if (at.splicer.method === 'flying') return 0
  const [cornersS, down] = rampsNow(at.splicer, at.learned).mean
  const speedMps = spliceSpeedMps(at)
  return (speedMps * cornersS) / 2 + speedMps ** 2 * down
}

/** Web from a roll's outside to its splice with the caliper that its material has, m. */
function comingRoll(input: AdviceInput): ComingRoll | undefined {
  const { waitingDiameterM, materials, assess } = input
  const { rollData, config, learned } = assess
  const material = input.waitingMaterial ?? rollData.material
  const isSame = material === rollData.material
  const labelM = isSame ? rollData.labelM : (materialOf(materials, material)?.caliperM ?? config.roll.nominalCaliperM)
  const endM = rollData.spliceDiameterM
  const { caliperM, sdM } = expectCaliper(learned.rolls, material, labelM, learned.tMs)
  if (waitingDiameterM === undefined) {
    if (input.waitingLengthM === undefined) return undefined
    // What is left on the core at the splice never comes off.
    const leftM = (Math.PI * (endM ** 2 - rollData.coreM ** 2)) / (4 * caliperM)
    const lengthM = input.waitingLengthM - leftM
    return lengthM <= 0
      ? undefined
      : { kind: 'waiting', material, lengthM, sdM: LABEL_LENGTH_SD_SHARE * input.waitingLengthM }
  }
  if (waitingDiameterM <= endM) return undefined
  const lengthM = (Math.PI * (waitingDiameterM ** 2 - endM ** 2)) / (4 * caliperM)
  const perDiameter = (Math.PI * waitingDiameterM) / (2 * caliperM)
  return {
    kind: 'waiting',
    material,
    lengthM,
    sdM: Math.hypot((lengthM * sdM) / caliperM, perDiameter * WAITING_SD_M),
  }
}

/** The whole of the running roll, from its loading to its splice, m; undefined where its loading was not seen. */
function runningLengthM({ assess }: AdviceInput, filter: RollFilter | undefined): number | undefined {
  const from = assess.roll.begunAtWebM
  if (filter === undefined || from === undefined) return undefined
  return Math.max(0, assess.webM - from + filter.remaining(assess.rollData.spliceDiameterM).metres)
}

function usualOf(input: AdviceInput, filter: RollFilter | undefined): UsualLength | undefined {
  const material = input.waitingMaterial ?? input.assess.rollData.material
  return input.memory.usualLength(material, runningLengthM(input, filter))
}

function scheduleOf(
  input: AdviceInput,
  at: ForecastInput,
  said: Forecast | undefined,
  filter: RollFilter | undefined,
  usual: UsualLength | undefined,
): Schedule | undefined {
  if (said === undefined) return undefined
  const first = lineWebToSplice(at, said)
  return schedule({
    firstM: first.metres,
    firstSdM: first.sdM,
    runningLengthM: runningLengthM(input, filter),
    runningMaterial: input.assess.rollData.material,
    waiting: comingRoll(input),
    usual:
      usual === undefined
        ? undefined
        : { kind: 'usual', material: usual.material, lengthM: usual.lengthM, sdM: usual.sdM },
    staging: input.memory.staging(input.waitingMaterial ?? input.assess.rollData.material),
    speedMps: at.speedMps,
    lastSpeedMps: at.lastSpeedMps,
    leadS: Math.max(said.fillLeadS, at.splicer.refusesWithinS),
    preparationS: preparationOf(input.assess).mean,
    jobM: input.jobM,
  })
}

function flagsOf({ memory, assess }: AdviceInput, filter: RollFilter, said: Forecast | undefined): FlagCountdown[] {
  return memory.flags
    .map((flag) => flagCountdown(flag, filter, Math.max(0, assess.webM - flag.fromWebM), said?.metres))
    .filter(({ high }) => high > FLAG_GONE_M)
}

export function spliceDiameterInput(
  assess: AssessInput,
  at: ForecastInput,
  filter: RollFilter,
  badAtCoreM: number,
): SpliceDiameterInput {
  const { rollData, config } = assess
  const { splicer } = config
  const start = trigger(at, filter)
  const stoppingM = stoppingWebM(at)
  return {
    coreM: rollData.coreM,
    caliperM: filter.caliperM,
    stoppingM,
    tailM: splicer.tailM,
    badAtCoreM,
    spareWraps: splicer.spareWraps,
    triggerOffsetM: start.diameterM - rollData.spliceDiameterM,
    readingOffsetM: filter.offsetM,
    sd: {
      caliperM: filter.caliperSdM,
      stoppingM: RAMP_SD_SHARE * stoppingM,
      coreM: CORE_SD_M,
      triggerM: start.sdM,
      readingM: filter.offsetSdM,
    },
    risk: splicer.runOutRisk,
  }
}

function diameterOf(
  assess: AssessInput,
  at: ForecastInput,
  filter: RollFilter,
  material: MaterialConfig | undefined,
): Advice['diameter'] {
  const input = spliceDiameterInput(assess, at, filter, material?.badAtCoreM ?? 0)
  const settingM = assess.rollData.spliceDiameterM
  return {
    settingM,
    risk: input.risk,
    smallest: smallestSpliceDiameter(input),
    left: leftOnCore(input, settingM),
  }
}

/** How far the caliper is from its label, in standard deviations. */
function caliperOf(filter: RollFilter, labelM: number): Advice['caliper'] {
  const { caliperM: measuredM, caliperSdM: sdM } = filter
  return { measuredM, sdM, labelM, significance: sdM > 0 ? (measuredM - labelM) / sdM : 0 }
}

function waveOf(filter: RollFilter, config: UnwindConfig, speedMps: number | undefined): Advice['wave'] {
  return {
    amplitudeM: filter.waveAmplitudeM,
    sdM: filter.waveAmplitudeSdM,
    limitM: speedMps === undefined || speedMps <= 0 ? undefined : config.roll.outOfRoundLimitM2PerS / speedMps,
  }
}

/**
 * What the alarm on a wasteful setting is judged by: at the speed at which the line usually runs, for a crawling line stops
 * its roll within centimetres and would call any setting wasteful.
 */
export function wastedOnCore(
  assess: AssessInput,
  assessment: Assessment,
  material: MaterialConfig | undefined,
): LeftOnCore | undefined {
  const usualMps = assess.cycle.line.runningMps
  const filter = assess.roll.at(assess.webM)
  if (filter === undefined || usualMps === undefined || assessment.state !== 'running') return undefined
  const at = atSpeed(forecastInputOf(assess, filter, assessment.state), usualMps)
  return leftOnCore(spliceDiameterInput(assess, at, filter, material?.badAtCoreM ?? 0), assess.rollData.spliceDiameterM)
}
