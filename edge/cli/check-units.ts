/** Does the unit in the config agree with the one that the server itself states? Pure. */
import type { SignalConfig } from '../config/config.ts'
import { factorToSi, quantityOf } from '../signals/units.ts'

/** How servers write units that the config writes otherwise: UNECE Rec. 20 names and signs. */
const SAME: Readonly<Record<string, string>> = {
  'r/min': 'rpm',
  µm: 'um',
  μm: 'um',
  inch: 'in',
  '"': 'in',
  percent: '%',
  'm/min.': 'm/min',
  '1/s': '1/s',
}

/** @returns what is doubtful, the rest of a sentence; undefined where they agree or one can't be judged. */
export function unitDoubt(signal: SignalConfig, stated: string | undefined): string | undefined {
  if (signal.unit === undefined || stated === undefined) return undefined
  // A scale or an offset is a person's answer to just this.
  if (signal.scale !== 1 || signal.offset !== 0) return undefined
  const server = SAME[stated.trim()] ?? stated.trim()
  const theirs = quantityOf(server)
  const ours = quantityOf(signal.unit)
  if (theirs === undefined || ours === undefined || server === signal.unit) return undefined
  if (theirs === ours && factorToSi(server, theirs) === factorToSi(signal.unit, ours)) return undefined
  return `the server states ${stated.trim()}, the config ${signal.unit}: compare with the machine's panel, one of them is wrong`
}
