/**
 * A joint or defect inside the roll, marked on its side and entered as its radial depth below the outside when the roll was
 * loaded: counted down in web. Pure.
 *
 * With D the true diameter at loading (the roll's area now plus the web taken since, A + t·s), h the depth and t the caliper:
 *   web from the outside to the flag  L = π(D² − (D − 2h)²)/(4t) = π·h·(D − h)/t        (handbook relation, trade notes)
 *   web left                          L − s
 *   σ² = (L·σ_t/t)² + (π·h/t·σ_D)² + (π(D − 2h)/t·σ_h)² + (drift·L)²
 */
import type { RollFilter } from '../estimators/roll-filter.ts'
import { Z80 } from '../estimators/statistics.ts'

export interface Flag {
  depthM: number
  person: string
  enteredTMs: number
}

/** A rule on the side of a roll is read to a millimetre (common practice, no source). */
const DEPTH_SD_M = 1e-3
/** Between the flag's layers and those that the caliper was learned on it drifts by this share (common practice, no source). */
const DRIFT_SHARE = 0.005

export interface FlagCountdown {
  flag: Flag
  /** Web until the flag leaves the roll, m; below 0 it has left. */
  metres: number
  low: number
  high: number
  sdM: number
  /** It leaves the roll before the next splice begins: else it stays on the core. */
  isBeforeSplice: boolean
}

/**
 * @param takenM - web taken since the roll was loaded, m.
 * @param toSpliceM - web that leaves the roll before the cycle starts; undefined where not known.
 */
export function flagCountdown(
  flag: Flag,
  roll: RollFilter,
  takenM: number,
  toSpliceM: number | undefined,
): FlagCountdown {
  const { caliperM, caliperSdM, trueDiameterM } = roll
  const loadedM = Math.sqrt(Math.max(0, trueDiameterM ** 2 + (4 * caliperM * takenM) / Math.PI))
  // A depth beyond the middle is a slip of the pen: there is no web there.
  const depthM = Math.min(flag.depthM, loadedM / 2)
  const lengthM = (Math.PI * depthM * (loadedM - depthM)) / caliperM
  const sdM = Math.hypot(
    (lengthM * caliperSdM) / caliperM,
    ((Math.PI * depthM) / caliperM) * roll.offsetSdM,
    ((Math.PI * (loadedM - 2 * depthM)) / caliperM) * DEPTH_SD_M,
    DRIFT_SHARE * lengthM,
  )
  const metres = lengthM - takenM
  return {
    flag,
    metres,
    low: metres - Z80 * sdM,
    high: metres + Z80 * sdM,
    sdM,
    isBeforeSplice: toSpliceM === undefined || metres < toSpliceM,
  }
}
