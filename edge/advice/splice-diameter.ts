/**
 * The smallest splice diameter for an accepted risk that the roll runs out, and what today's setting leaves on the core. Pure.
 *
 * With d the core's outside, t the caliper, n spare wraps, and L the web that the old roll still has to give (while it
 * stops, v²/(2·a_dec), to the knife, and what can't be used at the core):
 *
 *   D₀ = √(d² + 4·t·L/π) + 2·n·t                (L = π(D² − d²)/(4t); trade notes and reference values: 95.397 mm, 95.997 mm)
 *   D  = D₀ − trigger offset + reading offset + z(risk)·σ
 *   σ² = (∂D₀/∂t·σ_t)² + (∂D₀/∂L·σ_L)² + (∂D₀/∂d·σ_d)² + σ_trigger² + σ_reading²   (independent, first order)
 *
 * D is a setting in the splicer's own reading. Glued or wrinkled last wraps and the chuck's grip set a floor that no
 * statistic sees: a setting is lowered in steps of at most 5 mm, supervised, per material and core.
 */
import { sdsAtRisk, upperTail } from './normal.ts'

export interface SpliceDiameterInput {
  coreM: number
  caliperM: number
  /** Web that the old roll gives while it stops, m: v²/(2·a_dec), not the net need of the buffer. */
  stoppingM: number
  tailM: number
  badAtCoreM: number
  spareWraps: number
  /** Where the cycle starts less the setting, in the reading, m. */
  triggerOffsetM: number
  /** Reading less true diameter, m. */
  readingOffsetM: number
  /** Standard deviations. */
  sd: { caliperM: number; stoppingM: number; coreM: number; triggerM: number; readingM: number }
  /** Accepted probability that one roll runs out. */
  risk: number
}

export interface SmallestDiameter {
  /** The smallest setting, m. */
  diameterM: number
  /** True diameter that would do if everything were known, m. */
  certainM: number
  /** Standard deviation of what is not known, m. */
  sdM: number
}

export function smallestSpliceDiameter(input: SpliceDiameterInput): SmallestDiameter {
  const { coreM, caliperM, spareWraps, sd } = input
  const webM = input.stoppingM + input.tailM + input.badAtCoreM
  const withWebM = Math.sqrt(coreM ** 2 + (4 * caliperM * webM) / Math.PI)
  const certainM = withWebM + 2 * spareWraps * caliperM
  const sdM = Math.hypot(
    ((2 * webM) / (Math.PI * withWebM) + 2 * spareWraps) * sd.caliperM,
    ((2 * caliperM) / (Math.PI * withWebM)) * sd.stoppingM,
    (coreM / withWebM) * sd.coreM,
    sd.triggerM,
    sd.readingM,
  )
  const diameterM = certainM - input.triggerOffsetM + input.readingOffsetM + sdsAtRisk(input.risk) * sdM
  return { diameterM: Math.max(coreM, diameterM), certainM, sdM }
}

export interface LeftOnCore {
  /** From the diameter at the transfer to the core's outside, m: what the contract calls `left_on_roll`. */
  metres: number
  sdM: number
  /** Of that, what the accepted risk does not ask for. */
  avoidableM: number
  /** Probability that a roll runs out at this setting. */
  risk: number
}

export function leftOnCore(input: SpliceDiameterInput, settingM: number): LeftOnCore {
  const { coreM, caliperM, stoppingM, sd } = input
  const smallest = smallestSpliceDiameter(input)
  const trueM = (setting: number): number => Math.max(coreM, setting + input.triggerOffsetM - input.readingOffsetM)
  const webM = (diameterM: number): number => (Math.PI * (diameterM ** 2 - coreM ** 2)) / (4 * caliperM)
  const atTriggerM = webM(trueM(settingM))
  const perDiameter = (Math.PI * trueM(settingM)) / (2 * caliperM)
  const sdM = Math.hypot(
    perDiameter * Math.hypot(sd.triggerM, sd.readingM),
    ((Math.PI * coreM) / (2 * caliperM)) * sd.coreM,
    (atTriggerM / caliperM) * sd.caliperM,
    sd.stoppingM,
  )
  const spareM = trueM(settingM) - smallest.certainM
  return {
    metres: Math.max(0, atTriggerM - stoppingM),
    sdM,
    avoidableM: Math.max(0, atTriggerM - webM(trueM(smallest.diameterM))),
    risk: smallest.sdM > 0 ? upperTail(spareM / smallest.sdM) : spareM >= 0 ? 0 : 1,
  }
}
