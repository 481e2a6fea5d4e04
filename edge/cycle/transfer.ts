/**
 * Has the new web taken over? Evidence is gathered from the spindle and the diameter. Pure.
 */
import type { CycleInput } from './cycle.ts'

export interface TransferEvidence {
  spindleBefore: string | null
  spindleTMs: number | null
  jumpTMs: number | null
}

/** A jump has to be seen by so many readings or last so long: one echo is no roll. */
const JUMP_READINGS = 2
const JUMP_MS = 200

export function decideTransfer(evidence: TransferEvidence, input: CycleInput): void {
  if (evidence.spindleTMs === null && input.spindle !== undefined) {
    if (evidence.spindleBefore === null) evidence.spindleBefore = input.spindle
    else if (input.spindle !== evidence.spindleBefore) evidence.spindleTMs = input.tMs
  }
  const jump = input.jump
  if (evidence.jumpTMs === null && jump !== undefined) {
    if (jump.count >= JUMP_READINGS && input.tMs - jump.sinceTMs >= JUMP_MS) evidence.jumpTMs = jump.fromTMs
  }
}
