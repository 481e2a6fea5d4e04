/**
 * What the buffer will hold when the cycle starts, what the cycle takes, and what of the fill will be missing. Pure.
 *
 * While the unwind outruns the line by the share o, R metres that leave the roll bring R·o/(1 + o) into the buffer: what a
 * fill can still bring does not depend on the line's speed (web balance, trade notes).
 */
import type { BufferConfig, SplicerConfig } from '../config/config.ts'
import { cycleNeed, fillLead, fillLeadM, fillRateShare, highestSpeedMps, neededM, storedAtStart } from './buffer.ts'
import type { RollLoad } from './learning/ramps.ts'
import type { LearnedSplicer } from './learning/splicer.ts'
import { cycleSpeedMps, plannedSlowDown } from './slow-down.ts'

export interface BufferInput {
  storedM: number | undefined
  /** While filling: how fast the stored web grows, m/s. */
  fillRateMps: number | undefined
  /** The stored web has begun to grow. */
  isFillRising: boolean
  splicer: SplicerConfig
  buffer: BufferConfig | undefined
  learned: LearnedSplicer
  /** That will be brought up to speed; undefined where it is not known. */
  newRoll: RollLoad | undefined
}

export interface BufferForecast {
  bufferNeededM: number | undefined
  bufferMarginM: number | undefined
  highestSpeedMps: number | undefined
  fillLeadS: number
  /** Web missing at the cycle's start even if the fill went on as fast as it can, beyond doubt, m; 0 or less: it can be in time. */
  fillShortM: number | undefined
  /** The fill should have begun by all that was learned, and has not: since when, s. */
  fillOverdueS: number | undefined
}

export const noBuffer: BufferForecast = {
  bufferNeededM: undefined,
  bufferMarginM: undefined,
  highestSpeedMps: undefined,
  fillLeadS: 0,
  fillShortM: undefined,
  fillOverdueS: undefined,
}

/** A fill is short once so much web is missing that it can't be chance: seconds of filling, and standard deviations. */
const SHORT_S = 1
const SHORT_SDS = 1.6
/** Fills that have to be seen before one can be overdue. */
const FILLS_SEEN = 3
/** So late in parts of its lead, and standard deviations of lead and trigger together, a fill is overdue. */
const OVERDUE_SHARE = 0.03
const OVERDUE_SDS = 2

/** @param toSplice - web until the cycle starts off the roll, m, with its standard deviation; undefined where it is not known. */
export function bufferForecast(
  input: BufferInput,
  speedMps: number,
  toSplice: { metres: number; sdM: number } | undefined,
): BufferForecast {
  const { buffer, splicer, learned, storedM } = input
  if (buffer === undefined) return noBuffer
  const need = cycleNeed(splicer, learned, input.newRoll)
  const needM = neededM(need, cycleSpeedMps(speedMps, plannedSlowDown(splicer, learned)))
  const start = storedAtStart(buffer, learned)
  const lead = fillLead(splicer, buffer, learned, speedMps).mean
  let atStart = start.storedM
  let fillShortM: number | undefined
  let fillOverdueS: number | undefined
  if (storedM !== undefined && toSplice !== undefined && buffer.mode === 'fill_before') {
    const rate = fillRateShare(splicer, learned)
    // What was seen once can come again: the fastest that the fill has been.
    const share = Math.max(
      learned.fillRateShare.length < FILLS_SEEN ? splicer.overspeed : 0,
      rate.mean + SHORT_SDS * rate.scatter,
      (input.fillRateMps ?? 0) / speedMps,
    )
    const gain = share / (1 + share)
    const reachableM = storedM + toSplice.metres * gain
    if (reachableM < start.storedM) atStart = reachableM
    const doubtM = Math.max(SHORT_S * speedMps * gain, SHORT_SDS * Math.hypot(toSplice.sdM * gain, start.sdM))
    if (toSplice.metres < 1.5 * lead * speedMps) fillShortM = start.storedM - reachableM - doubtM
    if (!input.isFillRising) fillOverdueS = overdueS(input, buffer, speedMps, toSplice)
  }
  return {
    bufferNeededM: needM,
    // Of a festoon whose position nobody knows no margin is known, however full it usually is.
    bufferMarginM: storedM === undefined ? undefined : atStart - buffer.reserveM - needM,
    highestSpeedMps: storedM === undefined ? undefined : highestSpeedMps(need, atStart - buffer.reserveM),
    fillLeadS: lead,
    fillShortM,
    fillOverdueS,
  }
}

function overdueS(
  { splicer, learned, storedM }: BufferInput,
  buffer: BufferConfig,
  speedMps: number,
  toSplice: { metres: number; sdM: number },
): number | undefined {
  if (learned.fillLeadM.length < FILLS_SEEN || storedM === undefined) return undefined
  const lead = fillLeadM(splicer, buffer, learned)
  // A full buffer has nothing to wait for.
  if (storedM >= storedAtStart(buffer, learned).storedM - 0.1 * (buffer.fillStoredM - buffer.runningStoredM))
    return undefined
  const riseM = storedAtStart(buffer, learned).storedM - storedM
  const lineWebM = toSplice.metres - riseM
  const lateM = Math.max(OVERDUE_SHARE * lead.mean, OVERDUE_SDS * Math.hypot(lead.sd, toSplice.sdM))
  const overdueM = lead.mean - lineWebM
  return overdueM > lateM ? overdueM / speedMps : undefined
}
