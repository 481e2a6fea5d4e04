/**
 * What the config said of the machine while it was learned: a figure that a person has changed since makes void what was
 * learned of it. Pure; plain data.
 */
import type { UnwindConfig } from '../../config/config.ts'
import { median } from '../statistics.ts'
import { preparedNothing } from './preparation.ts'
import type { LearnedSplicer } from './splicer.ts'

/** SI; what is not stated is null, as it is after a snapshot. */
export type Settings = Record<Setting, number | null>
type Setting =
  | 'stopS'
  | 'decelerationMps2'
  | 'accelerationMps2'
  | 'overspeed'
  | 'spliceSpeedMps'
  | 'spliceDiameterM'
  | 'preparationS'
  | 'runningStoredM'
  | 'fillStoredM'

/** A start that was usual so far from the setting was learned because the setting was wrong, m: no trigger is off by as much. */
const WRONG_SETTING_M = 12e-3

export function settingsOf({ splicer, buffer }: Pick<UnwindConfig, 'splicer' | 'buffer'>): Settings {
  return {
    stopS: splicer.stopS,
    decelerationMps2: splicer.decelerationMps2,
    accelerationMps2: splicer.accelerationMps2,
    overspeed: splicer.overspeed,
    spliceSpeedMps: splicer.spliceSpeedMps ?? null,
    spliceDiameterM: splicer.spliceDiameterM ?? null,
    preparationS: splicer.preparation.totalS,
    runningStoredM: buffer?.runningStoredM ?? null,
    fillStoredM: buffer?.fillStoredM ?? null,
  }
}

/** Forgets what was learned of each figure that the config states otherwise now. */
export function adoptSettings(learned: LearnedSplicer, config: Pick<UnwindConfig, 'splicer' | 'buffer'>): void {
  const now = settingsOf(config)
  const { settings } = learned
  learned.settings = now
  if (settings === null) return
  const changed = (...names: Setting[]): boolean => names.some((name) => settings[name] !== now[name])
  if (changed('stopS')) learned.stopS = []
  if (changed('decelerationMps2', 'accelerationMps2')) {
    learned.ramps = []
    learned.rampFit = null
  }
  if (changed('overspeed')) {
    learned.fillRateShare = []
    learned.refillRatio = []
  }
  if (changed('runningStoredM', 'fillStoredM')) learned.fillStoredM = []
  if (changed('overspeed', 'runningStoredM', 'fillStoredM')) learned.fillLeadM = []
  if (changed('spliceSpeedMps')) learned.slowDowns = []
  if (changed('preparationS')) learned.preparation = preparedNothing()
  const usualM = median(learned.triggerM.map(({ value }) => value)) ?? 0
  if (changed('spliceDiameterM') && Math.abs(usualM) > WRONG_SETTING_M) learned.triggerM = []
}
