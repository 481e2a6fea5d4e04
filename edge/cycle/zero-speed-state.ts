/** What a zero-speed machine remembers between steps, as plain data. */
import type { Cycle } from './cycle.ts'
import type { MotionPoint } from './motion.ts'
import type { TransferEvidence } from './transfer.ts'

export interface ZeroSpeedState {
  stage: 'idle' | 'suspect' | 'cycle' | 'settling'
  suspectSinceTMs: number
  signalSeenTMs: number | null
  onSpeedSteps: number
  /** When a point last counted towards being back, ms. */
  countedTMs: number
  /** Highest share of the line speed that the unwind came back to after its stop, and steps for which it is clearly below it again. */
  bestShare: number
  fallingSteps: number
  points: MotionPoint[]
  cycle: Cycle | null
  evidence: TransferEvidence
}

/** With what outlasts a cycle: see the machine's own fields. */
export interface ZeroSpeedSnapshot {
  s: ZeroSpeedState
  fill: number | null
  spindle: string | null
  isSpent: boolean
  corners: number[]
}

export const idle = (): ZeroSpeedState => ({
  stage: 'idle',
  suspectSinceTMs: 0,
  signalSeenTMs: null,
  onSpeedSteps: 0,
  countedTMs: 0,
  bestShare: 0,
  fallingSteps: 0,
  points: [],
  cycle: null,
  evidence: { spindleBefore: null, spindleTMs: null, jumpTMs: null },
})
