/**
 * What one completed cycle and one finished roll teach. Pure: changes only the plain data that is passed in.
 */
import type { Cycle } from '../../cycle/cycle.ts'
import type { RollFilter } from '../roll-filter.ts'
import { median } from '../statistics.ts'
import { remember, rememberPlausible } from './evidence.ts'
import { learnRamps, noteRamps, type RampSheet, type RollLoad } from './ramps.ts'
import { type LearnedSplicer, materialKey } from './splicer.ts'

/** A splice begun farther from the usual than this was begun by a person (job change, defect), m. */
const BY_HAND_M = 12e-3
/** A caliper is worth remembering once it is known better than this. */
const CALIPER_KNOWN_SHARE = 0.02

/** Materials that are remembered; the one not used for longest leaves. */
const MOST_MATERIALS = 200

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
    const isUsual = Math.abs(offM - usualM) <= withinM
    rememberPlausible(learned.triggerM, learned.doubtedTriggerM, { value: offM, tMs }, isUsual, withinM)
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

/** What a roll taught by its end: its caliper against the label, and the sensor's offset. */
export function learnFromRoll(
  learned: LearnedSplicer,
  filter: RollFilter,
  material: string,
  labelM: number,
  sensor: string,
  tMs: number,
): void {
  learned.offset[sensor] = { offsetM: filter.offsetM, sdM: filter.offsetSdM }
  if (filter.caliperSdM > CALIPER_KNOWN_SHARE * filter.caliperM) return
  const key = materialKey(material)
  const known = learned.caliperRatio[key] ?? []
  remember(known, filter.caliperM / labelM, tMs)
  delete learned.caliperRatio[key]
  learned.caliperRatio[key] = known
  const keys = Object.keys(learned.caliperRatio)
  if (keys.length > MOST_MATERIALS) delete learned.caliperRatio[keys[0]!]
}
