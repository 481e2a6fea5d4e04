/**
 * The planned slow-down before a splice, by the config and by what the last splices showed: at which speed the cycle runs,
 * and how long the web to its start takes. Pure.
 */

import type { SplicerConfig } from '../config/config.ts'
import type { SlowDown } from '../cycle/slow-down.ts'
import type { LearnedSplicer } from './learning/splicer.ts'
import { median } from './statistics.ts'

/** The line's own ramp is gentler than the splicer's: a third of a metre per second squared (common practice, no source). */
export const LINE_RAMP_MPS2 = 0.33
/** The newest splices that count, how many make a habit, and what share of them. */
const NEWEST = 5
const HABIT_FROM = 3
/** Planned slow-downs go to the same speed, within this share; a speed that people change goes anywhere. */
const SAME_SHARE = 0.1
/** A line that ran hardly faster than the splice speed anyhow shows nothing. */
const FASTER_SHARE = 1.05

/** @returns undefined where the line keeps its speed for a splice. */
export function plannedSlowDown(splicer: SplicerConfig, learned: LearnedSplicer): SlowDown | undefined {
  const { spliceSpeedMps } = splicer
  const configured =
    spliceSpeedMps === undefined ? undefined : { mps: spliceSpeedMps, rampMps2: LINE_RAMP_MPS2, holdM: 0 }
  const slows = learned.slowDowns.flatMap(({ slow }) => slow ?? []).slice(-NEWEST)
  const usualMps = median(slows.map(({ mps }) => mps)) ?? spliceSpeedMps
  if (usualMps === undefined) return configured
  const seen = learned.slowDowns.filter(({ fromMps }) => fromMps > FASTER_SHARE * usualMps).slice(-NEWEST)
  if (seen.length < HABIT_FROM) return configured
  const slowed = seen.flatMap(({ slow }) => slow ?? []).filter(({ mps }) => Math.abs(mps / usualMps - 1) < SAME_SHARE)
  if (2 * slowed.length <= seen.length) return undefined
  const middle = (of: (slow: SlowDown) => number): number => median(slowed.map(of))!
  return {
    mps: middle(({ mps }) => mps),
    rampMps2: middle(({ rampMps2 }) => rampMps2),
    holdM: middle(({ holdM }) => holdM),
  }
}

/** How steeply the line slows down as a rule, m/s²: by what it showed before splices, else as most do. */
export const lineRampMps2 = ({ slowDowns }: LearnedSplicer): number =>
  median(
    slowDowns
      .flatMap(({ slow }) => slow ?? [])
      .slice(-NEWEST)
      .map(({ rampMps2 }) => rampMps2),
  ) ?? LINE_RAMP_MPS2

/** Speed at which the cycle will run, m/s. */
export const cycleSpeedMps = (speedMps: number, slow: SlowDown | undefined): number =>
  Math.min(speedMps, slow?.mps ?? speedMps)

/** Time for a web length at a speed, with the ramp down to a planned splice speed and what follows it at the end, s. */
export function timeAtSpeed(webM: number, speedMps: number, slow: SlowDown | undefined): number {
  if (slow === undefined || slow.mps >= speedMps) return webM / speedMps
  const rampM = (speedMps ** 2 - slow.mps ** 2) / (2 * slow.rampMps2)
  const rampS = (speedMps - slow.mps) / slow.rampMps2
  if (webM <= rampM) return webM / ((speedMps + slow.mps) / 2)
  const holdM = Math.min(slow.holdM, webM - rampM)
  return (webM - rampM - holdM) / speedMps + rampS + holdM / slow.mps
}
