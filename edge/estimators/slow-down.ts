/** The planned slow-down before a splice: how long the web to the cycle's start takes with it. Pure. */
import type { SplicerConfig } from '../config/config.ts'

/** Time for a web length at a speed, with the ramp down to a planned splice speed at the end, s. */
export function timeAtSpeed(webM: number, speedMps: number, splicer: SplicerConfig): number {
  const slow = splicer.spliceSpeedMps
  if (slow === undefined || slow >= speedMps) return webM / speedMps
  // The line's own ramp is gentler than the splicer's: a third of a metre per second squared (common practice, no source).
  const LINE_RAMP_MPS2 = 0.33
  const rampM = (speedMps ** 2 - slow ** 2) / (2 * LINE_RAMP_MPS2)
  const rampS = (speedMps - slow) / LINE_RAMP_MPS2
  return webM > rampM ? (webM - rampM) / speedMps + rampS : webM / ((speedMps + slow) / 2)
}
