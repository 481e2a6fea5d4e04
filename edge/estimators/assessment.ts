/**
 * Everything that is known of one unwind at one moment: state, roll, forecast. Pure.
 */
import type { UnwindState } from '../columns.ts'
import type { SplicerConfig, UnwindConfig } from '../config/config.ts'
import { type CycleWatch, FILL_SLOPE_MS } from '../cycle/cycle-watch.ts'
import type { RollData, SignalsNow } from '../signals/now.ts'
import { type Forecast, type ForecastInput, forecast, trigger } from './forecast.ts'
import type { RollLoad } from './learning/ramps.ts'
import type { LearnedSplicer } from './learning/splicer.ts'
import type { RollFilter } from './roll-filter.ts'
import type { RunningRoll } from './running-roll.ts'
import { median } from './statistics.ts'

export interface Assessment {
  tMs: number
  state: UnwindState
  diameterM: number | undefined
  diameterSdM: number | undefined
  caliperM: number | undefined
  caliperSdM: number | undefined
  waveM: number | undefined
  storedM: number | undefined
  forecast: Forecast | undefined
  /** Web taken off the roll when this was said, m. */
  rollWebM: number
  /** Where the cycle starts: learned offset from the setting, scatter, and both together, m. */
  trigger: { offsetM: number; scatterM: number; sdM: number } | undefined
  /** Farther below the setting than this the splicer has passed it, m. */
  overdueM: number
}

export interface AssessInput {
  now: SignalsNow
  config: UnwindConfig
  rollData: RollData
  roll: RunningRoll
  /** Web taken off the roll, m. */
  webM: number
  cycle: CycleWatch
  learned: LearnedSplicer
  fault: { reason: string; tMs: number } | undefined
}

/** A diameter that has had no value for longer than this is not known any more, ms: a turret blinds the sensor for 30 s (trade notes). */
const BLIND_MS = 35_000
/** Within this of its core a roll counts as empty, m. */
const EMPTY_WITHIN_M = 1e-3
/** Past its setting: the larger of 3 mm and 4 × the trigger's scatter (recording contract). */
const PAST_M = 3e-3
const PAST_SCATTERS = 4
/** Ten splices make a median that a slow one is measured by; before, the configured stop (recording contract). */
export const LEARNED_AFTER = 10
const SLOW_FACTOR = 1.25
/** A pipeline that failed says so for this long, ms. */
const FAULT_MS = 5000

export function slowStopS(splicer: SplicerConfig, learned: LearnedSplicer): number {
  const usual = learned.cycles >= LEARNED_AFTER ? median(learned.stopS.map(({ value }) => value)) : undefined
  return SLOW_FACTOR * (usual ?? splicer.stopS)
}

export function assess(input: AssessInput): Assessment {
  const { now, roll, rollData } = input
  const filter = roll.at(input.webM)
  const state = stateOf(input, filter?.diameterM)
  const forecastInput = forecastInputOf(input, filter, state)
  const at = filter === undefined ? undefined : trigger(forecastInput, filter)
  const scatterM = at?.scatterM ?? roll.estimator.noiseM
  return {
    tMs: now.tMs,
    state,
    diameterM: filter?.diameterM,
    diameterSdM: filter === undefined ? undefined : Math.sqrt(filter.expect(0, 0).varianceM2),
    caliperM: filter?.caliperM,
    caliperSdM: filter?.caliperSdM,
    waveM: filter?.waveAmplitudeM,
    storedM: now.storedM,
    forecast: forecast(forecastInput),
    rollWebM: input.webM,
    trigger: at === undefined ? undefined : { offsetM: at.diameterM - rollData.spliceDiameterM, scatterM, sdM: at.sdM },
    overdueM: Math.max(PAST_M, PAST_SCATTERS * scatterM),
  }
}

/** What a forecast is made of; with another `speedMps` it says what would be. */
export function forecastInputOf(input: AssessInput, filter: RollFilter | undefined, state: UnwindState): ForecastInput {
  const { now, config, roll, rollData, cycle } = input
  const speedMps = now.lineMps === undefined ? undefined : cycle.line.forecastMps(now.tMs, now.setpointMps)
  return {
    roll: state === 'unknown' || state === 'no_roll' ? undefined : filter,
    spliceDiameterM: rollData.spliceDiameterM,
    isSet: rollData.spliceDiameterM > rollData.coreM,
    noiseM: roll.estimator.noiseM,
    readingPeriodS: roll.readingPeriodS,
    isStartSeen: config.signals.some(({ signal }) => signal === 'splice_active' || signal === 'splice_step'),
    speedMps: state === 'standing' ? undefined : speedMps,
    lastSpeedMps: cycle.line.runningMps ?? 1,
    storedM: now.storedM,
    fillRateMps: cycle.isFilling ? cycle.motion.storedSlopeMps(FILL_SLOPE_MS) : undefined,
    isFillRising: cycle.isFillRising || cycle.isFilling,
    splicer: config.splicer,
    buffer: config.buffer,
    learned: input.learned,
    newRoll: newRollOf(rollData),
  }
}

/** A waiting position that reads no more than so much over the splice diameter still carries the last roll's stub. */
const WAITING_SHARE = 1.05

function newRollOf({
  waitingDiameterM,
  waitingWidthM,
  widthM,
  coreM,
  spliceDiameterM,
}: RollData): RollLoad | undefined {
  if (waitingDiameterM === undefined || waitingDiameterM < WAITING_SHARE * spliceDiameterM) return undefined
  return { diameterM: waitingDiameterM, coreM, widthM: waitingWidthM ?? widthM ?? null }
}

/** Precedence unknown > splicing > no_roll > standing > refilling > filling > running (recording contract). */
function stateOf(input: AssessInput, diameterM: number | undefined): UnwindState {
  const { now, cycle, rollData, fault } = input
  if (fault !== undefined && now.tMs - fault.tMs < FAULT_MS) return 'unknown'
  if (now.lineMps === undefined) return 'unknown'
  const isBlind = now.readingM === undefined && !now.isReadingRefused
  if (isBlind && input.roll.blindMs(now.tMs) > BLIND_MS) return 'unknown'
  if (cycle.isSplicing) return 'splicing'
  const shownM = now.readingM ?? diameterM
  const isEmpty = shownM !== undefined && shownM < rollData.coreM + EMPTY_WITHIN_M
  if (cycle.isOut || (isEmpty && cycle.isStanding)) return 'no_roll'
  if (cycle.isStanding) return 'standing'
  if (cycle.isRefilling) return 'refilling'
  if (cycle.isFilling) return 'filling'
  return 'running'
}
