/**
 * Time to splice and buffer margin from the roll's state. Pure.
 *
 *   R = (A − A_s)/t                      web to the trigger (roll-filter.ts)
 *   T = (R − (S_at_splice − S_now))/v    what fills the buffer comes off the roll too (trade notes)
 *
 * Intervals are the central 80 % of a normal with the variance of the filter's own covariance, of the splicer's trigger and
 * of the level to which the buffer is filled.
 */
import type { BufferConfig, SplicerConfig } from '../config/config.ts'
import { cycleNeed, fillLeadS, highestSpeedMps, neededM, storedAtStart } from './buffer.ts'
import { firstPassageSds } from './learning/first-passage.ts'
import { believe, type LearnedSplicer } from './learning/splicer.ts'
import type { RollFilter } from './roll-filter.ts'
import { Z80 } from './statistics.ts'

/** Part of the bias of first passage that a splicer of unknown filtering is taken to show, with as much doubt. */
const PASSAGE_SHARE = 0.5
/** From the reading's passage to the first slowing: the splicer's own filter, scan and drive, s (common practice, no source). */
const REACTION_S = 0.25
const REACTION_SD_S = 0.15

export interface ForecastInput {
  /** The roll now; undefined where it is not known. */
  roll: RollFilter | undefined
  spliceDiameterM: number
  noiseM: number
  /** Time between two readings of the diameter, s. */
  readingPeriodS: number
  /** Speed to forecast at, m/s; undefined while the line stands. */
  speedMps: number | undefined
  /** Speed to show the roll's rate at while it stands, m/s. */
  lastSpeedMps: number
  storedM: number | undefined
  /** While filling: how fast the stored web grows, m/s. */
  fillRateMps: number | undefined
  splicer: SplicerConfig
  buffer: BufferConfig | undefined
  learned: LearnedSplicer
}

export interface Forecast {
  metres: number
  metresLow: number
  metresHigh: number
  seconds: number | undefined
  secondsLow: number | undefined
  secondsHigh: number | undefined
  bufferNeededM: number | undefined
  bufferMarginM: number | undefined
  highestSpeedMps: number | undefined
  fillLeadS: number
  /** Web missing at the cycle's start if the fill goes on as now, m. */
  fillShortM: number | undefined
  metresSd: number
}

export type BufferForecast = Pick<
  Forecast,
  'bufferNeededM' | 'bufferMarginM' | 'highestSpeedMps' | 'fillLeadS' | 'fillShortM'
>

/** Where the cycle starts in the filter's diameter, m, with its uncertainty. */
export function trigger(input: ForecastInput, roll: RollFilter): { diameterM: number; sdM: number; scatterM: number } {
  const speed = input.speedMps ?? input.lastSpeedMps
  const perSecondM = (2 * roll.caliperM * speed) / (Math.PI * Math.max(0.02, input.spliceDiameterM))
  const fallSds = (perSecondM * input.readingPeriodS) / Math.max(1e-6, input.noiseM)
  const early = Math.max(0, firstPassageSds(fallSds)) * input.noiseM
  const mean = PASSAGE_SHARE * early - REACTION_S * perSecondM
  const priorSd = Math.hypot(PASSAGE_SHARE * 0.6 * early, REACTION_SD_S * perSecondM)
  const priorScatter = Math.hypot(0.4 * input.noiseM, 0.05 * perSecondM)
  const belief = believe(input.learned.triggerM, mean, priorSd, priorScatter)
  return { diameterM: input.spliceDiameterM + belief.mean, sdM: belief.sd, scatterM: belief.scatter }
}

export function forecast(input: ForecastInput): Forecast | undefined {
  const { roll, speedMps, storedM, buffer, splicer } = input
  if (roll === undefined) return undefined
  const at = trigger(input, roll)
  const remaining = roll.remaining(at.diameterM)
  const metres = Math.max(0, remaining.metres)
  const metresSd = Math.sqrt(remaining.varianceM2 + (remaining.perTriggerM * at.sdM) ** 2)
  const low = Math.max(0, metres - Z80 * metresSd)
  const high = metres + Z80 * metresSd
  const base = { metres, metresLow: low, metresHigh: high, metresSd }
  const nothing = { seconds: undefined, secondsLow: undefined, secondsHigh: undefined }
  if (speedMps === undefined) return { ...base, ...nothing, ...noBuffer }

  const start = buffer === undefined ? undefined : storedAtStart(buffer, input.learned)
  // Web that still goes into the buffer leaves the roll without passing the line.
  const toStoreM = start === undefined || storedM === undefined ? 0 : start.storedM - storedM
  const storeSdM = start === undefined || storedM === undefined ? 0 : start.sdM
  const secondsOf = (webM: number): number => Math.max(0, timeAtSpeed(webM - toStoreM, speedMps, splicer))
  const seconds = secondsOf(metres)
  const sdS = Math.hypot(metresSd, storeSdM) / speedMps
  return {
    ...base,
    seconds,
    secondsLow: Math.max(0, seconds - Z80 * sdS),
    secondsHigh: seconds + Z80 * sdS,
    ...bufferForecast(input, speedMps, seconds),
  }
}

const noBuffer: BufferForecast = {
  bufferNeededM: undefined,
  bufferMarginM: undefined,
  highestSpeedMps: undefined,
  fillLeadS: 0,
  fillShortM: undefined,
}

/** Time for a web length at a speed, with the ramp down to a planned splice speed at the end, s. */
function timeAtSpeed(webM: number, speedMps: number, splicer: SplicerConfig): number {
  const slow = splicer.spliceSpeedMps
  if (slow === undefined || slow >= speedMps) return webM / speedMps
  // The line's own ramp is gentler than the splicer's: a third of a metre per second squared (common practice, no source).
  const LINE_RAMP_MPS2 = 0.33
  const rampM = (speedMps ** 2 - slow ** 2) / (2 * LINE_RAMP_MPS2)
  const rampS = (speedMps - slow) / LINE_RAMP_MPS2
  return webM > rampM ? (webM - rampM) / speedMps + rampS : webM / ((speedMps + slow) / 2)
}

export function bufferForecast(
  input: ForecastInput,
  speedMps: number,
  secondsLeft: number | undefined,
): BufferForecast {
  const { buffer, splicer, learned, storedM } = input
  if (buffer === undefined) return noBuffer
  const need = cycleNeed(splicer, learned)
  const cycleSpeed = Math.min(speedMps, splicer.spliceSpeedMps ?? speedMps)
  const needM = neededM(need, cycleSpeed)
  const target = storedAtStart(buffer, learned).storedM
  let atStart = target
  let fillShortM: number | undefined
  const lead = fillLeadS(splicer, buffer, learned, speedMps)
  if (storedM !== undefined && secondsLeft !== undefined && buffer.mode === 'fill_before') {
    // What the unwind can still bring in by outrunning the line; more than that is arithmetic, not hope.
    const rate = Math.max(splicer.overspeed * speedMps, input.fillRateMps ?? 0)
    const reachable = storedM + rate * secondsLeft
    if (reachable < target) atStart = reachable
    if (secondsLeft < lead) fillShortM = target - reachable
  }
  return {
    bufferNeededM: needM,
    bufferMarginM: atStart - buffer.reserveM - needM,
    highestSpeedMps: highestSpeedMps(need, atStart - buffer.reserveM),
    fillLeadS: lead,
    fillShortM,
  }
}
