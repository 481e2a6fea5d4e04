/**
 * What was learned of one splicer, as plain data. Pure.
 *
 * The last splices count, without outliers (evidence.ts): one bad splice does not spoil it and old evidence leaves.
 */
import type { SeenSlowDown } from '../../cycle/slow-down.ts'
import type { Evidence } from './evidence.ts'
import { type LearnedPreparation, preparedNothing } from './preparation.ts'
import type { LearnedRamps, SeenRamps } from './ramps.ts'
import type { RollBeliefs } from './rolls.ts'
import type { Settings } from './settings.ts'
import { noTrackRecord, type TrackRecord } from './track-record.ts'

export interface LearnedSplicer {
  /** Diameter by the filter when the cycle started, less the setting, m. */
  triggerM: Evidence
  /** Starts so far from all others that a person or a changed setting must have made them: the newest in a row. */
  doubtedTriggerM: Evidence
  /** Stored web when the cycle started, m. */
  fillStoredM: Evidence
  /** Line web from the fill's start to the cycle's start, m: what is set is a diameter, so web counts and not time. */
  fillLeadM: Evidence
  /** How fast the fill is, as a share of the line speed. */
  fillRateShare: Evidence
  /** How long refills took, of the time by the data sheet. */
  refillRatio: Evidence
  /** Whether and how the line slowed down for the last splices. */
  slowDowns: SeenSlowDown[]
  preparation: LearnedPreparation
  /** How long the web stood, s. */
  stopS: Evidence
  /** What the two ramps took of the last cycles, and what was made of it; null before the first. */
  ramps: SeenRamps[]
  rampFit: LearnedRamps | null
  /** Cycles seen (not capped). */
  cycles: number
  /** How the countdown's intervals came true. */
  trackRecord: TrackRecord
  /** Calipers of the materials and offsets of the diameter readings. */
  rolls: RollBeliefs
  /** What the config said meanwhile; null before the first start. */
  settings: Settings | null
  /** Pipeline time until which this holds, ms: what was seen long before counts for less. */
  tMs: number
}

export const learnedNothing = (): LearnedSplicer => ({
  triggerM: [],
  doubtedTriggerM: [],
  fillStoredM: [],
  fillLeadM: [],
  fillRateShare: [],
  refillRatio: [],
  slowDowns: [],
  preparation: preparedNothing(),
  stopS: [],
  ramps: [],
  rampFit: null,
  cycles: 0,
  trackRecord: noTrackRecord(),
  rolls: [],
  settings: null,
  tMs: 0,
})

/** Materials are named by the plant: a prefix keeps any text a plain key. */
export const materialKey = (material: string): string => `m:${material}`
