/**
 * Is the roll that waits the one that the job needs? Said at once when it is entered, not after the splice. Pure.
 */
import type { JobConfig, MaterialConfig } from '../config/config.ts'
import type { RollCheck, RollFaultKind, Winding } from '../entries.ts'
import { diameterMm, type Figure, type Words } from '../messages/render.ts'
import type { EnteredJob, EnteredRoll } from '../signals/entered.ts'
import { materialOf } from './unwind-advice.ts'

/** Slit rolls of one order differ by less than this, m (common practice, no source: ± 1 mm each). */
const WIDTH_TOLERANCE_M = 2e-3

/** What the job asks for: what a person entered, else the config. */
export interface JobNeeds {
  material: string | undefined
  widthM: number | undefined
  winding: Winding | undefined
}

export interface RollFault {
  kind: RollFaultKind
  /** As a person reads them; empty for a roll on hold. */
  needed: string | Figure | Words
  found: string | Figure | Words
}

export function jobNeeds(
  config: JobConfig,
  entered: Readonly<EnteredJob> | undefined,
  materials: Readonly<Record<string, MaterialConfig>>,
): JobNeeds {
  const material = entered?.material ?? config.material
  return {
    material,
    // A width that was set for another material is not this one's.
    widthM: entered?.widthM ?? materialOf(materials, material)?.widthM ?? config.widthM,
    winding: entered?.winding ?? config.winding,
  }
}

/** People and labels write one material's name in several ways: "lp 80" is LP80. */
const plainly = (text: string): string => text.toLowerCase().replaceAll(/(?<!\d)[\s-]|[\s-](?!\d)/g, '')
const millimetres = (metres: number): Figure => diameterMm(Math.round(metres * 1000))
const facing = (winding: Winding): Words => ({ key: `winding.${winding}` })

/** @param material - of the waiting roll, by whatever says it; what nobody said is no fault. */
export function rollFaults(
  needs: JobNeeds,
  roll: Readonly<EnteredRoll> | undefined,
  material: string | undefined,
): RollFault[] {
  const faults: RollFault[] = []
  if (roll?.isOnHold === true) faults.push({ kind: 'hold', needed: '', found: '' })
  if (needs.material !== undefined && material !== undefined && plainly(needs.material) !== plainly(material)) {
    faults.push({ kind: 'material', needed: needs.material, found: material })
  }
  const widthM = roll?.widthM
  if (needs.widthM !== undefined && widthM !== undefined && Math.abs(widthM - needs.widthM) > WIDTH_TOLERANCE_M) {
    faults.push({ kind: 'width', needed: millimetres(needs.widthM), found: millimetres(widthM) })
  }
  if (needs.winding !== undefined && roll?.winding !== undefined && roll.winding !== needs.winding) {
    faults.push({ kind: 'winding', needed: facing(needs.winding), found: facing(roll.winding) })
  }
  return faults
}

/**
 * What the job asks for and the label that a person entered does not say: not checked is not right.
 * @param material - of the waiting roll, by whatever says it; @param materialWidthM - that its rolls have by the config.
 */
export function uncheckedNeeds(
  needs: JobNeeds,
  roll: Readonly<EnteredRoll> | undefined,
  material: string | undefined,
  materialWidthM: number | undefined,
): RollCheck[] {
  if (roll === undefined) return []
  const unchecked: RollCheck[] = []
  if (needs.material !== undefined && material === undefined) unchecked.push('material')
  if (needs.widthM !== undefined && (roll.widthM ?? materialWidthM) === undefined) unchecked.push('width')
  if (needs.winding !== undefined && roll.winding === undefined) unchecked.push('winding')
  return unchecked
}
