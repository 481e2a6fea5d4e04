/**
 * The web balance of a driven surface, a buffer and the line, over windows of web. Pure, O(1).
 *
 * With gains g (what a tag reads over what is true) the balance dS/dt = v_u − v (trade notes, "Symbols and relations") of one
 * window reads ΔS/g_S = U/g_u − V/g_v. With x = ΔS/V and y = U/V that is a straight line through (a, 0):
 *
 *     x = d·(y − a),   a = g_u/g_v,   d = g_S/g_u
 *
 * a is the surface's speed against the line's wherever the buffer rests; d shows in fills, cycles and refills, where y is far
 * from a. x is the noisier of both by far, so it stands on the left. d < 0 is a position that counts the wrong way.
 */
import { addRatio, newRatio, type Ratio, type RatioState, ratioOf } from './ratio.ts'

/** A window in which surface and line differ by more than this shows d. */
const MOVING_SHARE = 0.05
/** Windows that show d are forgotten at this rate: some ten cycles are remembered. */
const FORGET = 0.98
/** So much of (y/a − 1)² makes d known: one cycle. */
const ENOUGH = 0.3
/** Before d is known only windows count in which the buffer moved by no more than its noise, in standard deviations. */
const RESTS_SDS = 6
/** Of a window's x: so much of the surface's speed that the buffer's part of it need not be known well. */
const MOST_CORRECTED = 0.3

export interface BalanceState {
  ratio: RatioState
  yy: number
  xy: number
  xx: number
  n: number
}

export const newBalance = (): BalanceState => ({ ratio: newRatio(), yy: 0, xy: 0, xx: 0, n: 0 })

/** The buffer's gain over the surface's, with its sign; undefined before a cycle. */
export function bufferGain(state: BalanceState): { value: number; sd: number } | undefined {
  const a = state.ratio.mean
  if (state.n < 3 || a === 0 || state.yy < ENOUGH * a * a) return undefined
  const value = state.xy / state.yy
  if (value === 0) return undefined
  const residual = Math.max(0, state.xx - value * state.xy) / Math.max(1, state.n - 1)
  return { value, sd: 2 * Math.sqrt(residual / state.yy) }
}

export const surfaceRatio = (state: BalanceState): Ratio | undefined => ratioOf(state.ratio)

/**
 * @param surfaceM - web by the surface in the window, m.
 * @param lineM - web by the line, m, more than 0.
 * @param storedM - what the stored web grew by, m; 0 where there is no buffer.
 * @param noiseM - standard deviation of the stored web's reading, m.
 */
export function addWindow(state: BalanceState, surfaceM: number, lineM: number, storedM: number, noiseM: number): void {
  const x = storedM / lineM
  const y = surfaceM / lineM
  const gain = bufferGain(state)
  if (gain !== undefined) {
    if (Math.abs(x / gain.value) < MOST_CORRECTED) addRatio(state.ratio, y - x / gain.value, lineM)
  } else if (Math.abs(storedM) <= RESTS_SDS * noiseM) addRatio(state.ratio, y, lineM)
  const a = state.ratio.mean
  if (state.ratio.n < 5 || Math.abs(y - a) < MOVING_SHARE * Math.abs(a)) return
  state.yy = FORGET * state.yy + (y - a) ** 2
  state.xy = FORGET * state.xy + x * (y - a)
  state.xx = FORGET * state.xx + x * x
  state.n = Math.min(1 / (1 - FORGET), state.n + 1)
}
