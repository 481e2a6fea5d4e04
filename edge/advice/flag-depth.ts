/** How deep inside a roll a joint or defect can lie: from its outside when it was loaded to its core. Pure. */
import type { RollFilter } from '../estimators/roll-filter.ts'
import { diameterMm, type Words } from '../messages/render.ts'

/** By so much a depth read with a rule, and a core as the data sheet has it, may be off, mm (common practice, no source). */
const SLACK_MM = 3

/** @param takenM - web taken since the roll was loaded, m. @returns m. */
export function deepestOfRunning({ caliperM, trueDiameterM }: RollFilter, takenM: number, coreM: number): number {
  const loadedM = Math.sqrt(trueDiameterM ** 2 + (4 * caliperM * Math.max(0, takenM)) / Math.PI)
  return Math.max(0, (loadedM - coreM) / 2)
}

/** @param deepestMm - null where the roll is not known; 0 mm takes flags back. @returns why there is no web, in words. */
export function refuseDepth(depthMm: number, deepestMm: number | null, roll: 'running' | 'waiting'): Words | undefined {
  if (deepestMm === null || depthMm <= deepestMm + SLACK_MM) return undefined
  const deepest = diameterMm(Math.floor(deepestMm), 0)
  return { key: `refusal.core.${roll}`, parameters: { deepest, depth: diameterMm(Math.round(depthMm), 0) } }
}
