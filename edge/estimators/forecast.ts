/**
 * Time to splice and buffer margin from the roll's state. Pure.
 *
 *   R = (A − A_s)/t                      web to the trigger (roll-filter.ts)
 *   T = (R − (S_at_splice − S_now))/v    what fills the buffer comes off the roll too (trade notes)
 *
 * Intervals are the central 80 % of a normal with the variance of the filter's own covariance, of the splicer's trigger and
 * of the level to which the buffer is filled.
 */
import { storedAtStart } from './buffer.ts'
import { type BufferForecast, type BufferInput, bufferForecast, noBuffer } from './buffer-forecast.ts'
import { believe } from './learning/evidence.ts'
import { firstPassageSds, PASSAGE_SCATTER } from './learning/first-passage.ts'
import { widthAt } from './learning/track-record.ts'
import type { RollFilter } from './roll-filter.ts'
import { plannedSlowDown, timeAtSpeed } from './slow-down.ts'
import { Z80 } from './statistics.ts'

/**
 * Part of the bias of first passage that a splicer of unknown filtering is taken to show: none of it behind a good filter,
 * all of it without one, and the central 80 % hold both.
 */
const PASSAGE_SHARE = 0.5
const PASSAGE_SHARE_SD = 0.36
/** Scatter of the reaction from one splice to the next before it was seen, s (common practice, no source). */
const REACTION_SCATTER_S = 0.05
/** A wave of the roll moves the passage as well, by what the splicer's filter leaves of it; doubt as above. */
const WAVE_SHARE = 0.5
const WAVE_SHARE_SD = 0.3
/** Where only the new roll's diameter or spindle tells of a flying splice, its paste is known no better, s (flying.ts). */
const UNSEEN_PASTE_SD_S = 0.1
/**
 * Readings whose distance in turns is this near to a whole number see a wave as a slow trend: how near it is a wave, how
 * much the roll's own taper, hangs on an angle that is reckoned. So the countdown owns up to the whole amplitude.
 */
const RESONANCE_TURNS = 0.1
/** From the reading's passage to the first slowing: the splicer's own filter, scan and drive, s (common practice, no source). */
const REACTION_S = 0.36
const REACTION_SD_S = 0.26

/** Where no diameter is set a splice starts with so much web left, s, until it was seen; and a hand presses so near to what is usual, m (common practice, no source). */
const UNSET_S = 8
const UNSET_SD_S = 6
const PRESSED_SD_M = 7e-3
/** What a counter goes by is the length on a roll's label, which is off by this share of it (common practice, no source). */
const LABEL_LENGTH_SD_SHARE = 0.004

export interface ForecastInput extends BufferInput {
  /** The roll now; undefined where it is not known. */
  roll: RollFilter | undefined
  spliceDiameterM: number
  /** That is a setting, and not the core for want of one. */
  isSet: boolean
  noiseM: number
  /** Time between two readings of the diameter, s. */
  readingPeriodS: number
  /** A signal tells when a cycle begins. */
  isStartSeen: boolean
  /** Speed to forecast at, m/s; undefined while the line stands. */
  speedMps: number | undefined
  /** Speed to show the roll's rate at while it stands, m/s. */
  lastSpeedMps: number
}

export interface Forecast extends BufferForecast {
  metres: number
  metresLow: number
  metresHigh: number
  seconds: number | undefined
  secondsLow: number | undefined
  secondsHigh: number | undefined
  /** What the interval is made of, m; by the model alone, before it was held to its word. */
  metresSd: number
  modelSdM: number
}

/** Where the cycle starts in the filter's diameter, m, with its uncertainty. */
export function trigger(input: ForecastInput, roll: RollFilter): { diameterM: number; sdM: number; scatterM: number } {
  const speed = input.speedMps ?? input.lastSpeedMps
  const perWebM = (2 * roll.caliperM) / (Math.PI * Math.max(0.02, input.spliceDiameterM))
  const perSecondM = perWebM * speed
  const fallSds = (perSecondM * input.readingPeriodS) / Math.max(1e-6, input.noiseM)
  const early = Math.max(0, firstPassageSds(fallSds)) * input.noiseM
  const waveM = roll.sureWaveM
  const { trigger: by } = input.splicer
  // Of who triggers otherwise than by a diameter that is known nothing is told before it was seen.
  const byLengthM = by === 'diameter' || input.isSet ? 0 : perSecondM
  const byHandM = by === 'manual' ? PRESSED_SD_M : 0
  const byLabelM = by === 'length' ? LABEL_LENGTH_SD_SHARE * roll.rollM * perWebM : 0
  const mean = UNSET_S * byLengthM + PASSAGE_SHARE * early + WAVE_SHARE * waveM - REACTION_S * perSecondM
  const priorSd = Math.hypot(
    UNSET_SD_S * byLengthM,
    byHandM,
    PASSAGE_SHARE_SD * early,
    WAVE_SHARE_SD * waveM,
    REACTION_SD_S * perSecondM,
  )
  const priorScatter = Math.hypot(byHandM, byLabelM, PASSAGE_SCATTER * input.noiseM, REACTION_SCATTER_S * perSecondM)
  const belief = believe(input.learned.triggerM, mean, priorSd, priorScatter, input.learned.tMs)
  const unseenM = input.splicer.method === 'flying' && !input.isStartSeen ? UNSEEN_PASTE_SD_S * perSecondM : 0
  return {
    diameterM: input.spliceDiameterM + belief.mean,
    sdM: Math.hypot(belief.sd, unseenM),
    scatterM: belief.scatter,
  }
}

/** By how much a wave may bend the countdown's web where it can't be told from the roll's taper, m. */
function resonantM(input: ForecastInput, roll: RollFilter, perReadingM: number): number {
  if (input.speedMps === undefined) return 0
  const turns = (input.speedMps * input.readingPeriodS) / (Math.PI * roll.trueDiameterM)
  const isNear = turns > 1 - RESONANCE_TURNS && Math.abs(turns - Math.round(turns)) <= RESONANCE_TURNS
  return isNear ? roll.sureWaveM * perReadingM : 0
}

export function forecast(input: ForecastInput): Forecast | undefined {
  const { roll, speedMps, storedM, buffer, splicer } = input
  if (roll === undefined) return undefined
  const at = trigger(input, roll)
  const remaining = roll.remaining(at.diameterM)
  const metres = Math.max(0, remaining.metres)
  const modelSdM = Math.sqrt(remaining.varianceM2 + (remaining.perTriggerM * at.sdM) ** 2)
  const width = widthAt(input.learned.trackRecord, metres / (speedMps ?? input.lastSpeedMps))
  // Nothing is foreseen better than the splicer keeps to its own setting.
  const leastM = Math.abs(remaining.perTriggerM) * at.scatterM
  const metresSd = Math.max(leastM, width * modelSdM) + resonantM(input, roll, remaining.perReadingM) / Z80
  const low = Math.max(0, metres - Z80 * metresSd)
  const high = metres + Z80 * metresSd
  const base = { metres, metresLow: low, metresHigh: high, metresSd, modelSdM }
  const nothing = { seconds: undefined, secondsLow: undefined, secondsHigh: undefined }
  if (speedMps === undefined) return { ...base, ...nothing, ...noBuffer }

  const start = buffer === undefined ? undefined : storedAtStart(buffer, input.learned)
  // Web that still goes into the buffer leaves the roll without passing the line.
  const toStoreM = start === undefined || storedM === undefined ? 0 : start.storedM - storedM
  const storeSdM = start === undefined || storedM === undefined ? 0 : start.sdM
  const slow = plannedSlowDown(splicer, input.learned)
  const secondsOf = (webM: number): number => Math.max(0, timeAtSpeed(webM - toStoreM, speedMps, slow))
  const seconds = secondsOf(metres)
  const sdS = Math.hypot(metresSd, storeSdM) / speedMps
  return {
    ...base,
    seconds,
    secondsLow: Math.max(0, seconds - Z80 * sdS),
    secondsHigh: seconds + Z80 * sdS,
    ...bufferForecast(input, speedMps, { metres, sdM: metresSd }),
  }
}
