/**
 * What one splice takes from the buffer, what will be in it, and the highest line speed that it carries. Pure.
 *
 * Need: N(v) = v·t_stop + v²/(2a_dec) + v²/(2a_acc) (trade notes; common practice, no source), with the stop and the
 * ramps' sum learned from the cycles that were seen. Highest speed: the positive root of N(v) = web to use.
 */
import type { BufferConfig, SplicerConfig } from '../config/config.ts'
import { believe } from './learning/evidence.ts'
import type { LearnedSplicer } from './learning/splicer.ts'

export interface CycleNeed {
  stopS: number
  /** 1/(2·a_dec) + 1/(2·a_acc), s²/m. */
  rampS2PerM: number
}

/** Data-sheet times are within 15 % (issue of the data sheet; common practice, no source). */
const SHEET_SD_SHARE = 0.15
const CYCLE_SCATTER_SHARE = 0.03

export function cycleNeed(splicer: SplicerConfig, learned: LearnedSplicer): CycleNeed {
  const rampS2PerM = 1 / (2 * splicer.decelerationMps2) + 1 / (2 * splicer.accelerationMps2)
  const stop = believe(
    learned.stopS,
    splicer.stopS,
    SHEET_SD_SHARE * splicer.stopS,
    CYCLE_SCATTER_SHARE * splicer.stopS,
  )
  const ramp = believe(learned.rampS2PerM, rampS2PerM, SHEET_SD_SHARE * rampS2PerM, CYCLE_SCATTER_SHARE * rampS2PerM)
  return { stopS: stop.mean, rampS2PerM: ramp.mean }
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
  const belief = believe(learned.fillStoredM, target, 0.03 * capacity, 0.01 * capacity)
  return { storedM: Math.min(belief.mean, buffer.calibration.fullStoredM), sdM: belief.sd }
}

/** Time that filling takes at a line speed, s: ΔS/(v_fill − v). */
export const fillLeadS = (
  splicer: SplicerConfig,
  buffer: BufferConfig,
  learned: LearnedSplicer,
  speedMps: number,
): number => fillLead(splicer, buffer, learned, speedMps).mean

/** The same with its standard deviation. */
export function fillLead(
  splicer: SplicerConfig,
  buffer: BufferConfig,
  learned: LearnedSplicer,
  speedMps: number,
): { mean: number; sd: number } {
  if (buffer.mode !== 'fill_before') return { mean: 0, sd: 0 }
  const riseM = Math.max(0, storedAtStart(buffer, learned).storedM - buffer.runningStoredM)
  const byFigures = riseM / Math.max(1e-3, splicer.overspeed * speedMps)
  return believe(learned.fillLeadS, byFigures, 0.3 * byFigures, 0.1 * byFigures)
}
