/**
 * What one completed cycle teaches. Pure: changes only the plain data that is passed in.
 */
import type { Cycle } from '../../cycle/cycle.ts'
import { median } from '../statistics.ts'
import { remember, rememberPlausible } from './evidence.ts'
import { PASSAGE_SCATTER } from './first-passage.ts'
import { learnRamps, noteRamps, type RampSheet, type RollLoad } from './ramps.ts'
import type { LearnedSplicer } from './splicer.ts'
import { judge } from './track-record.ts'

/** A splice begun farther from the usual than this was begun by a person (job change, defect), m. */
const BY_HAND_M = 12e-3
/** A line that was slower than this share within the cycle took other web than at the speed of its start. */
const KEPT_SPEED_SHARE = 0.95
/** Points farther apart do not show how long a ramp took, ms. */
const COARSE_MS = 350

/** @param noiseM - of one reading of the diameter, m; @param periodMs - between two reports of what shows the unwind's speed. */
export function learnFromCycle(
  learned: LearnedSplicer,
  cycle: Cycle,
  noiseM: number,
  sheet: RampSheet,
  periodMs: number,
): void {
  const tMs = cycle.startedTMs
  learned.cycles += 1
  if (cycle.diameterM !== null) {
    const offM = cycle.diameterM - cycle.settingM
    const usualM = median(learned.triggerM.map(({ value }) => value)) ?? 0
    const withinM = Math.max(BY_HAND_M, 8 * noiseM)
    const isFirst = !cycle.isSet && learned.triggerM.length === 0
    const isUsual = isFirst || Math.abs(offM - usualM) <= withinM
    const seen = { value: offM, tMs, errorSd: cycle.diameterSdM ?? 0 }
    rememberPlausible(learned.triggerM, learned.doubtedTriggerM, seen, isUsual, withinM, PASSAGE_SCATTER * noiseM)
    if (isUsual) judge(learned.trackRecord)
  }
  if (cycle.storedM !== null) remember(learned.fillStoredM, cycle.storedM, tMs)
  if (cycle.fillLeadM !== undefined) remember(learned.fillLeadM, cycle.fillLeadM, tMs)
  if (cycle.fillRateShare !== undefined) remember(learned.fillRateShare, cycle.fillRateShare, tMs)
  if (cycle.stoppedS === null || cycle.hasGap === true) return
  remember(learned.stopS, cycle.stoppedS, tMs)
  if (cycle.webFromBufferM === null || cycle.lineMps <= 0) return
  if (cycle.minLineMps < KEPT_SPEED_SHARE * cycle.lineMps) return
  const lossS = cycle.webFromBufferM / cycle.lineMps - cycle.stoppedS
  if (!(lossS > 0)) return
  const downS = cycle.stopStartTMs === null || periodMs > COARSE_MS ? null : (cycle.stopStartTMs - tMs) / 1000
  noteRamps(learned.ramps, { tMs, lineMps: cycle.lineMps, lossS, downS, load: null })
  learned.rampFit = learnRamps(learned.ramps, sheet)
}

/** The new roll is seen well enough: how hard the newest cycle was to come back from. */
export function learnLoad(learned: LearnedSplicer, load: RollLoad, sheet: RampSheet): void {
  const newest = learned.ramps[learned.ramps.length - 1]
  if (newest === undefined || newest.load !== null) return
  newest.load = load
  learned.rampFit = learnRamps(learned.ramps, sheet)
}
