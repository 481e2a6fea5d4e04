/** Dip and peak of the tension at a splice, and how long until it keeps to its setpoint again. Pure; plain data. */

/** Within this share of its usual value tension counts as back (common practice, no source). */
const BACK_WITHIN = 0.1
/** It has to stay there for so long, ms: it swings through on its way. */
const BACK_FOR_MS = 2000

export interface TensionState {
  /** Setpoint, or what it was before; null where unknown. */
  usual: number | null
  low: number | null
  high: number | null
  /** The newest step at which it was farther off, ms. */
  outTMs: number | null
  /** Since when it has been within, ms; null while it is out. */
  inTMs: number | null
  isSettled: boolean
}

export const newTension = (usual: number | undefined): TensionState => ({
  usual: usual !== undefined && usual > 0 ? usual : null,
  low: null,
  high: null,
  outTMs: null,
  inTMs: null,
  isSettled: false,
})

/** @param mayEnd - the cycle is over: from here on it can be back for good. @returns true at the step at which it settles. */
export function noteTension(s: TensionState, tMs: number, tension: number | undefined, mayEnd: boolean): boolean {
  if (s.isSettled || tension === undefined) return false
  if (s.low === null || tension < s.low) s.low = tension
  if (s.high === null || tension > s.high) s.high = tension
  if (s.usual === null) return false
  if (Math.abs(tension - s.usual) > BACK_WITHIN * s.usual) {
    s.outTMs = tMs
    s.inTMs = null
    return false
  }
  s.inTMs ??= tMs
  if (!mayEnd || tMs - s.inTMs < BACK_FOR_MS) return false
  s.isSettled = true
  return true
}

/** s since the start; 0 where it never left; undefined while it is not back. */
export function tensionBackS(s: TensionState, startedTMs: number): number | null {
  if (!s.isSettled || s.inTMs === null) return null
  return s.outTMs === null ? 0 : Math.max(0, (s.inTMs - startedTMs) / 1000)
}
