/**
 * Advice as the API and the store carry it: SI units end here. Pure.
 */

import { deepestOfRunning } from './advice/flag-depth.ts'
import type { LineJoint, Preparation, WebValue } from './advice/lines.ts'
import type { AdviceMemory } from './advice/memory.ts'
import type { NextSplice } from './advice/next-splices.ts'
import type { ReadyBy } from './advice/preparation.ts'
import { type AdviceInput, adviceOf, materialOf, preparationOf, stoppingWebM, whatIf } from './advice/unwind-advice.ts'
import type { AdviceView, Estimate, NextSpliceView, WebAmount, WhatIfUnits, WhatIfView } from './api/messages.ts'
import { type AdviceColumns, COLUMN_UNITS } from './columns.ts'
import type { MaterialConfig } from './config/config.ts'
import { type AssessInput, type Assessment, forecastInputOf } from './estimators/assessment.ts'
import { isoTime } from './outcome/record.ts'
import { needsOf, waitingMaterialOf, waitingRollFaults } from './pipeline-entries.ts'
import type { UnwindSignals } from './signals/unwind-signals.ts'

const MM_PER_M = 1000
const UM_PER_M = 1e6
const MPMIN_PER_MPS = 60

export interface AdviceSource {
  assess: AssessInput
  assessment: Assessment
  signals: UnwindSignals
  memory: AdviceMemory
  materials: Readonly<Record<string, MaterialConfig>>
  /** Line web until now, m. */
  lineWebM: number
}

const known = (value: number | undefined, factor = 1): number | null =>
  value === undefined || !Number.isFinite(value) ? null : value * factor
const estimate = (value: number, deviation: number, factor = 1): Estimate => ({
  value: value * factor,
  deviation: deviation * factor,
})

export function inputOf({ assess, assessment, signals, memory, materials, lineWebM }: AdviceSource): AdviceInput {
  const { tMs } = assess.now
  const { entered } = signals
  const asked = { signals, config: assess.config, materials, tMs }
  // A roll that is refused is not counted on: the right one is taken to be as its kind usually is.
  const isRefused = waitingRollFaults(asked).length > 0
  const jobM = signals.has('job_remaining') ? signals.number('job_remaining', tMs) : entered.jobRemainingM(lineWebM)
  return {
    assess,
    assessment,
    memory,
    materials,
    // A PLC that has no figure says zero.
    waitingDiameterM: isRefused ? undefined : signals.number('waiting_diameter', tMs) || undefined,
    waitingLengthM: isRefused ? undefined : entered.waiting?.lengthM,
    waitingMaterial: isRefused ? needsOf(asked).material : waitingMaterialOf(asked),
    // At zero it has ended, or a PLC has no figure: what runs on is not known to end.
    jobM: jobM === undefined || jobM <= 0 ? undefined : jobM,
  }
}

/** What a metre of the running roll's web weighs and costs. */
export function webValueOf(material: MaterialConfig | undefined): WebValue {
  const { widthM, basisWeightKgPerM2, price } = material ?? {}
  return {
    pricePerM: price?.perM,
    currency: price?.currency,
    kgPerM: widthM === undefined || basisWeightKgPerM2 === undefined ? undefined : widthM * basisWeightKgPerM2,
  }
}

export const webAmount = (metres: number, value: WebValue): WebAmount => ({
  metres,
  kilograms: value.kgPerM === undefined ? null : metres * value.kgPerM,
  cost: value.pricePerM === undefined ? null : metres * value.pricePerM,
})

const readyFields = (ready: ReadyBy | undefined) => ({
  must_be_ready_seconds: known(ready?.seconds),
  must_be_ready_low: known(ready?.low),
  must_be_ready_high: known(ready?.high),
})

export function adviceView(unwind: string, tMs: number, source: AdviceSource): AdviceView {
  const advice = adviceOf(inputOf(source))
  const { schedule, usual, diameter, caliper, wave, lasting } = advice
  const job = schedule?.job
  const value = webValueOf(advice.material)
  const speedMps = source.assessment.forecast?.seconds === undefined ? undefined : speedOf(source)
  return {
    time: isoTime(tMs),
    unwind,
    ...readyFields(advice.readyBy),
    must_be_ready_by: advice.readyBy?.by ?? null,
    preparation_seconds: Math.round(preparationOf(source.assess).mean),
    lasting_speed: known(lasting?.speedMps, MPMIN_PER_MPS),
    lasting_speed_low: known(lasting?.lowMps, MPMIN_PER_MPS),
    lasting_speed_high: known(lasting?.highMps, MPMIN_PER_MPS),
    next_splices: schedule?.splices.map(nextSpliceView) ?? [],
    usual_length:
      usual === undefined
        ? null
        : { material: usual.material, metres: usual.lengthM, deviation: usual.sdM, rolls: usual.rolls },
    job:
      job === undefined
        ? null
        : {
            remaining: job.remainingM,
            seconds: known(job.seconds),
            splices: job.splices,
            left_on_roll: estimate(job.leftM, job.leftSdM),
            roll: job.onRoll,
          },
    rolls_to_stage: known(schedule?.toStage),
    flags: advice.flags.map(({ flag, metres, low, high, isBeforeSplice }) => ({
      ...flagFields(flag),
      metres,
      metres_low: low,
      metres_high: high,
      seconds: speedMps === undefined ? null : Math.max(0, metres) / speedMps,
      before_splice: isBeforeSplice,
    })),
    waiting_flags: source.memory.waitingFlags.map(flagFields),
    deepest_flag: deepestFlag(source),
    splice_diameter:
      diameter === undefined
        ? null
        : {
            setting: diameter.settingM * MM_PER_M,
            smallest: estimate(diameter.smallest.diameterM, diameter.smallest.sdM, MM_PER_M),
            without_uncertainty: diameter.smallest.certainM * MM_PER_M,
            risk: diameter.risk,
            risk_at_setting: diameter.left.risk,
            left_on_core: webAmount(diameter.left.metres, value),
            left_on_core_deviation: diameter.left.sdM,
            avoidable: webAmount(diameter.left.avoidableM, value),
            currency: value.currency ?? null,
          },
    caliper:
      caliper === undefined
        ? null
        : {
            measured: estimate(caliper.measuredM, caliper.sdM, UM_PER_M),
            label: caliper.labelM * UM_PER_M,
            difference_percent: 100 * (caliper.measuredM / caliper.labelM - 1),
            significance: caliper.significance,
          },
    out_of_round:
      wave === undefined
        ? null
        : { amplitude: estimate(wave.amplitudeM, wave.sdM, MM_PER_M), limit: known(wave.limitM, MM_PER_M) },
  }
}

function deepestFlag(source: AdviceSource): AdviceView['deepest_flag'] {
  const { assess, materials } = source
  const { webM, rollData, roll } = assess
  const { waitingDiameterM, waitingMaterial } = inputOf(source)
  const filter = roll.estimator.filter
  const coreM = materialOf(materials, waitingMaterial ?? rollData.material)?.coreDiameterM ?? rollData.coreM
  return {
    running: known(filter && deepestOfRunning(filter, webM - (roll.begunAtWebM ?? webM), rollData.coreM), MM_PER_M),
    waiting: known(waitingDiameterM && Math.max(0, (waitingDiameterM - coreM) / 2), MM_PER_M),
  }
}

const flagFields = ({ depthM, enteredTMs, person }: { depthM: number; enteredTMs: number; person: string }) => ({
  depth: depthM * MM_PER_M,
  entered: isoTime(enteredTMs),
  person,
})

const nextSpliceView = (splice: NextSplice): NextSpliceView => ({
  seconds: known(splice.seconds),
  seconds_low: known(splice.secondsLow),
  seconds_high: known(splice.secondsHigh),
  metres: splice.metres,
  metres_low: splice.low,
  metres_high: splice.high,
  roll: splice.roll,
  material: splice.material,
  roll_length: known(splice.rollLengthM),
  roll_length_deviation: known(splice.rollLengthSdM),
  too_short: splice.isTooShort,
})

/** Nothing is known: the pipeline has not stepped yet, or failed. */
export const noAdvice = (unwind: string, tMs: number, preparationS: number): AdviceView => ({
  time: isoTime(tMs),
  unwind,
  ...readyFields(undefined),
  must_be_ready_by: null,
  preparation_seconds: preparationS,
  lasting_speed: null,
  lasting_speed_low: null,
  lasting_speed_high: null,
  next_splices: [],
  usual_length: null,
  job: null,
  rolls_to_stage: null,
  flags: [],
  waiting_flags: [],
  deepest_flag: { running: null, waiting: null },
  splice_diameter: null,
  caliper: null,
  out_of_round: null,
})

/** Line speed that the forecast goes by, m/s; undefined while the line stands. */
export function speedOf({ assess, assessment }: AdviceSource): number | undefined {
  return forecastInputOf(assess, undefined, assessment.state).speedMps
}

/** @param speedMps - the line speed to look at; undefined source where nothing is known. */
export function whatIfView(
  unwind: string,
  tMs: number,
  speedMps: number,
  source: AdviceSource | undefined,
): WhatIfView {
  const said = source === undefined ? undefined : whatIf(inputOf(source), speedMps)
  const forecast = said?.forecast
  return {
    time: isoTime(tMs),
    unwind,
    speed: speedMps * MPMIN_PER_MPS,
    seconds_to_splice: known(forecast?.seconds),
    seconds_low: known(forecast?.secondsLow),
    seconds_high: known(forecast?.secondsHigh),
    buffer_needed: known(forecast?.bufferNeededM),
    buffer_margin: known(forecast?.bufferMarginM),
    safe_speed: known(forecast?.highestSpeedMps, MPMIN_PER_MPS),
    ...readyFields(said?.readyBy),
    units: WHAT_IF_UNITS,
  }
}

/** The contract's own. */
export const WHAT_IF_UNITS: WhatIfUnits = {
  speed: 'm/min',
  safe_speed: COLUMN_UNITS.safe_speed,
  seconds: COLUMN_UNITS.seconds_to_splice,
  buffer: COLUMN_UNITS.buffer_margin,
  must_be_ready: COLUMN_UNITS.must_be_ready_seconds,
}

/** The main numbers of the advice, for the forecast's store. */
export function adviceColumns(view: AdviceView): AdviceColumns {
  const { splice_diameter: diameter, caliper, out_of_round: wave, job } = view
  const flag = view.flags.find(({ metres_high }) => metres_high > 0)
  return {
    must_be_ready_seconds: view.must_be_ready_seconds,
    must_be_ready_low: view.must_be_ready_low,
    must_be_ready_high: view.must_be_ready_high,
    lasting_speed: view.lasting_speed,
    lasting_speed_low: view.lasting_speed_low,
    lasting_speed_high: view.lasting_speed_high,
    smallest_splice_diameter: diameter?.smallest.value ?? null,
    smallest_splice_diameter_deviation: diameter?.smallest.deviation ?? null,
    left_on_core: diameter?.left_on_core.metres ?? null,
    left_on_core_deviation: diameter?.left_on_core_deviation ?? null,
    avoidable_on_core: diameter?.avoidable.metres ?? null,
    caliper_deviation: caliper?.measured.deviation ?? null,
    caliper_significance: caliper?.significance ?? null,
    out_of_round: wave?.amplitude.value ?? null,
    out_of_round_deviation: wave?.amplitude.deviation ?? null,
    flag_metres: flag?.metres ?? null,
    flag_metres_low: flag?.metres_low ?? null,
    flag_metres_high: flag?.metres_high ?? null,
    job_left_on_roll: job?.left_on_roll.value ?? null,
    job_left_on_roll_deviation: job?.left_on_roll.deviation ?? null,
    rolls_to_stage: view.rolls_to_stage,
  }
}

/** What one unwind brings to its line, its own path not yet added. */
export interface LineShare {
  unwind: string
  joints: LineJoint[]
  preparation: Preparation | undefined
  value: WebValue
  speedMps: number | undefined
  /** Time until the next roll must be ready, s. */
  readyS: number | undefined
}

/** A joint is past where the webs meet by more than any separation, m. */
const PAST_M = 1000
/** A joint on its way is known to within the transfer's own moment, m. */
const MADE_SD_M = 0.5

/** @returns undefined where nothing is known of the roll. */
export function lineShare(unwind: string, source: AdviceSource): LineShare | undefined {
  const { assess, assessment, memory, lineWebM } = source
  const advice = adviceOf(inputOf(source))
  const forecast = assessment.forecast
  const splices = advice.schedule?.splices
  if (forecast === undefined || splices === undefined) return undefined
  const at = forecastInputOf(assess, assess.roll.at(assess.webM), assessment.state)
  // What the buffer gains until the cycle both leaves the roll and stays: the first joint is at R + S_now.
  const firstM = forecast.metres + (assessment.storedM ?? 0) + stoppingWebM(at)
  const lineToFirstM = splices[0]?.metres ?? 0
  const joints: LineJoint[] = splices.map((splice, index) => ({
    unwind,
    number: index + 1,
    metres: firstM + splice.metres - lineToFirstM,
    sdM: index === 0 ? forecast.metresSd : splice.sdM,
    earliestByM: index === 0 ? forecast.metres : (splice.rollLengthM ?? 0),
  }))
  if (splices.length === 0 && advice.schedule?.job === undefined) {
    joints.push({ unwind, number: 1, metres: firstM, sdM: forecast.metresSd, earliestByM: forecast.metres })
  }
  const madeM = memory.jointAtWebM === undefined ? undefined : memory.jointAtWebM - lineWebM
  if (madeM !== undefined && madeM > -PAST_M) {
    joints.unshift({ unwind, number: 0, metres: madeM, sdM: MADE_SD_M, earliestByM: 0 })
  }
  return {
    unwind,
    joints,
    preparation:
      advice.schedule?.job?.splices === 0 ? undefined : nextPreparation(unwind, source, advice.readyBy, splices),
    value: webValueOf(materialOf(source.materials, assess.rollData.material)),
    speedMps: at.speedMps,
    readyS: advice.readyBy?.seconds,
  }
}

/** Of the next roll, or once that is ready of the one after it. One that is late begins now. */
function nextPreparation(
  unwind: string,
  { assess }: AdviceSource,
  ready: ReadyBy | undefined,
  splices: readonly NextSplice[],
): Preparation | undefined {
  const { mean: lengthS, sd } = preparationOf(assess)
  if (ready === undefined || !(lengthS > 0)) return undefined
  if (assess.now.newRollReady !== true) {
    return { unwind, startS: Math.max(0, ready.seconds - lengthS), sdS: Math.hypot(ready.sd, sd), lengthS }
  }
  const [first, second] = splices
  if (first?.seconds === undefined || second?.seconds === undefined) return undefined
  const afterS = second.seconds - first.seconds
  const sdS = (second.sdM / second.metres) * second.seconds
  return { unwind, startS: Math.max(0, ready.seconds + afterS - lengthS), sdS: Math.hypot(ready.sd, sdS, sd), lengthS }
}
