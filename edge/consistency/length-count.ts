/**
 * A length as the integral of one speed tag between its reports. Pure, O(1); plain data is its whole state.
 */

/** Two reports nearer than this are joined by a straight line, ms; a tag that was silent for longer held its value. */
const JOINED_WITHIN_MS = 1500

export interface LengthState {
  /** Integral up to the newest report and up to the one before, m. */
  lengthM: number
  beforeM: number
  tMs: number | null
  beforeTMs: number | null
  mps: number | null
}

export const newLength = (): LengthState => ({ lengthM: 0, beforeM: 0, tMs: null, beforeTMs: null, mps: null })

export function reportSpeed(state: LengthState, mps: number, tMs: number): void {
  if (state.tMs !== null && state.mps !== null && tMs > state.tMs) {
    const gapMs = tMs - state.tMs
    const mean = gapMs <= JOINED_WITHIN_MS ? (state.mps + mps) / 2 : state.mps
    state.beforeM = state.lengthM
    state.beforeTMs = state.tMs
    state.lengthM += (mean * gapMs) / 1000
  }
  state.tMs = state.tMs === null ? tMs : Math.max(state.tMs, tMs)
  state.mps = mps
}

/** The value ended: nothing is known until the next report, and what ran meanwhile does not count. */
export function loseSpeed(state: LengthState): void {
  state.tMs = null
  state.beforeTMs = null
  state.mps = null
}

/** Length at a time between the last two reports or after them, m; undefined where the speed is not known. */
export function lengthAt(state: LengthState, tMs: number): number | undefined {
  const { tMs: lastTMs, beforeTMs, mps } = state
  if (lastTMs === null || mps === null) return undefined
  if (tMs >= lastTMs) return state.lengthM + (mps * (tMs - lastTMs)) / 1000
  if (beforeTMs === null || lastTMs === beforeTMs) return state.lengthM
  const share = Math.max(0, (tMs - beforeTMs) / (lastTMs - beforeTMs))
  return state.beforeM + share * (state.lengthM - state.beforeM)
}
