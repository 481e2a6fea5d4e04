/**
 * What one splice takes from the buffer, what will be in it, and the highest line speed that it carries. Pure.
 *
 * Need: N(v) = v·(t_stop + J) + v²/(2a_dec) + v²/(2a_acc) with J for rounded corners (trade notes; common practice, no
 * source), all learned from the cycles that were seen (learning/ramps.ts). Highest speed: the positive root of N(v) = web to use.
 */
import type { BufferConfig, SplicerConfig } from '../config/config.ts'
import { AGE_DAYS, type Belief, believe, DAY_MS } from './learning/evidence.ts'
import { type LearnedRamps, loadFactor, type RollLoad, usualRamps } from './learning/ramps.ts'
import type { LearnedSplicer } from './learning/splicer.ts'
import { plannedSlowDown, timeAtSpeed } from './slow-down.ts'

export interface CycleNeed {
  /** The stop, and what the ramps' rounded corners cost beside it. */
  stopS: number
  /** 1/(2·a_dec) + 1/(2·a_acc), s²/m. */
  rampS2PerM: number
}

/** Data-sheet times are within 15 % (issue of the data sheet; common practice, no source). */
const SHEET_SD_SHARE = 0.15
const CYCLE_SCATTER_SHARE = 0.03

/** @param newRoll - that will be brought up to speed; undefined: one like the others. */
export function cycleNeed(splicer: SplicerConfig, learned: LearnedSplicer, newRoll?: RollLoad): CycleNeed {
  const stop = believe(
    learned.stopS,
    splicer.stopS,
    SHEET_SD_SHARE * splicer.stopS,
    CYCLE_SCATTER_SHARE * splicer.stopS,
    learned.tMs,
  )
  const ramps = rampsNow(splicer, learned)
  const [cornersS, down, up] = ramps.mean
  return { stopS: stop.mean + cornersS, rampS2PerM: down + up * loadFactor(ramps, newRoll) }
}

/** What was learned of the ramps; long after the last splice the data sheet counts again. */
export function rampsNow(splicer: SplicerConfig, learned: LearnedSplicer): LearnedRamps {
  const sheet = usualRamps(splicer)
  const fit = learned.rampFit
  if (fit === null) return sheet
  const ageDays = Math.max(0, learned.tMs - learned.ramps[learned.ramps.length - 1]!.tMs) / DAY_MS
  const weight = 1 / (1 + ageDays / AGE_DAYS)
  const at = (i: 0 | 1 | 2): number => sheet.mean[i] + (fit.mean[i] - sheet.mean[i]) * weight
  return { ...fit, mean: [at(0), at(1), at(2)] }
}

/** Net fall of the stored web over one cycle at a line speed, m. */
export const neededM = (need: CycleNeed, speedMps: number): number =>
  speedMps * need.stopS + speedMps ** 2 * need.rampS2PerM

/** Highest line speed at which a cycle takes no more than `usableM`, m/s: v = (−t + √(t² + 4·c·L))/(2c). */
export function highestSpeedMps(need: CycleNeed, usableM: number): number {
  if (usableM <= 0) return 0
  const { stopS: t, rampS2PerM: c } = need
  if (c <= 0) return t > 0 ? usableM / t : Number.POSITIVE_INFINITY
  return (-t + Math.sqrt(t * t + 4 * c * usableM)) / (2 * c)
}

/** Stored web that the cycle will find when it starts, before what may still fail to get there, m. */
export function storedAtStart(buffer: BufferConfig, learned: LearnedSplicer): { storedM: number; sdM: number } {
  const capacity = buffer.calibration.fullStoredM - buffer.calibration.emptyStoredM
  const target = buffer.mode === 'fill_before' ? buffer.fillStoredM : buffer.runningStoredM
  const belief = believe(learned.fillStoredM, target, 0.03 * capacity, 0.006 * capacity, learned.tMs)
  return { storedM: Math.min(belief.mean, buffer.calibration.fullStoredM), sdM: belief.sd }
}

/** How fast the unwind outruns the line while it fills, as a share of the line speed. */
export const fillRateShare = (splicer: SplicerConfig, learned: LearnedSplicer): Belief =>
  believe(learned.fillRateShare, splicer.overspeed, 0.3 * splicer.overspeed, 0.02 * splicer.overspeed, learned.tMs)

/** What refills usually take of the time by the data sheet. */
export const usualRefillRatio = (learned: LearnedSplicer): number =>
  Math.max(0.5, believe(learned.refillRatio, 1, 0.3, 0.1, learned.tMs).mean)

/** Line web from the fill's start to the cycle's, m: as seen, else ΔS ÷ overspeed, just in time. */
export function fillLeadM(splicer: SplicerConfig, buffer: BufferConfig, learned: LearnedSplicer): Belief {
  if (buffer.mode !== 'fill_before') return { mean: 0, sd: 0, scatter: 0 }
  const riseM = Math.max(0, storedAtStart(buffer, learned).storedM - buffer.runningStoredM)
  const byFigures = riseM / Math.max(1e-3, fillRateShare(splicer, learned).mean)
  return believe(learned.fillLeadM, byFigures, 0.3 * byFigures, 0.03 * byFigures, learned.tMs)
}

/** Time that filling takes at a line speed, s, with its standard deviation. */
export function fillLead(
  splicer: SplicerConfig,
  buffer: BufferConfig,
  learned: LearnedSplicer,
  speedMps: number,
): { mean: number; sd: number } {
  const { mean, sd } = fillLeadM(splicer, buffer, learned)
  return { mean: timeAtSpeed(mean, speedMps, plannedSlowDown(splicer, learned)), sd: sd / speedMps }
}
