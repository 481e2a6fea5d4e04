/** The least travel that the web guide had left at a splice: through its cycle and a while after it. Pure; plain data. */
import type { GuideReading } from '../signals/guide.ts'

/** The step across the joint has passed the guide by then, and what swung has settled (common practice, no source), ms. */
const AFTER_MS = 30_000

export interface GuideState {
  /** Null while no tag has said anything. */
  least: GuideReading | null
  /** The watch is over. */
  isDone: boolean
}

export const newGuide = (): GuideState => ({ least: null, isDone: false })

/** @param endTMs - when the cycle was over; null while it goes on. @returns true at the step at which the watch ends with a figure. */
export function noteGuide(s: GuideState, tMs: number, now: GuideReading | undefined, endTMs: number | null): boolean {
  if (s.isDone) return false
  if (endTMs !== null && tMs > endTMs + AFTER_MS) {
    s.isDone = true
    return s.least !== null
  }
  if (now !== undefined && (s.least === null || now.left < s.least.left)) s.least = now
  return false
}
