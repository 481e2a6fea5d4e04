/** Does the unit in the config agree with the one that the server itself states (OPC UA EngineeringUnits)? Pure. */
import type { SignalConfig } from '../config/config.ts'
import { factorToSi, quantityOf } from './units.ts'

/** How servers write units that the config writes otherwise: UNECE Rec. 20 names and signs. */
const SAME: Readonly<Record<string, string>> = {
  'r/min': 'rpm',
  µm: 'um',
  μm: 'um',
  inch: 'in',
  '"': 'in',
  percent: '%',
  'm/min.': 'm/min',
}

export interface UnitContradiction {
  /** As the server writes it, and as the config does. */
  stated: string
  configured: string
  /** What the tag reads over what is true, were the server right; undefined where the two measure different things. */
  factor: number | undefined
}

/** @returns undefined where they agree or one can't be judged. */
export function contradictionOf(signal: SignalConfig, stated: string | undefined): UnitContradiction | undefined {
  const configured = signal.unit
  if (configured === undefined || stated === undefined) return undefined
  // A scale or an offset is a person's answer to just this.
  if (signal.scale !== 1 || signal.offset !== 0) return undefined
  const server = SAME[stated.trim()] ?? stated.trim()
  const theirs = quantityOf(server)
  const ours = quantityOf(configured)
  if (theirs === undefined || ours === undefined || server === configured) return undefined
  const factor = theirs === ours ? factorToSi(configured, ours) / factorToSi(server, theirs) : undefined
  return factor === 1 ? undefined : { stated: stated.trim(), configured, factor }
}
