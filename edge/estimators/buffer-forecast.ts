/**
 * What the buffer will hold when the cycle starts, what the cycle takes, and what of the fill will be missing. Pure.
 */
import type { BufferConfig, SplicerConfig } from '../config/config.ts'
import { cycleNeed, fillLeadS, highestSpeedMps, neededM, storedAtStart } from './buffer.ts'
import type { RollLoad } from './learning/ramps.ts'
import type { LearnedSplicer } from './learning/splicer.ts'

export interface BufferInput {
  storedM: number | undefined
  /** While filling: how fast the stored web grows, m/s. */
  fillRateMps: number | undefined
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
  /** Web missing at the cycle's start if the fill goes on as now, m. */
  fillShortM: number | undefined
}

export const noBuffer: BufferForecast = {
  bufferNeededM: undefined,
  bufferMarginM: undefined,
  highestSpeedMps: undefined,
  fillLeadS: 0,
  fillShortM: undefined,
}

export function bufferForecast(input: BufferInput, speedMps: number, secondsLeft: number | undefined): BufferForecast {
  const { buffer, splicer, learned, storedM } = input
  if (buffer === undefined) return noBuffer
  const need = cycleNeed(splicer, learned, input.newRoll)
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
