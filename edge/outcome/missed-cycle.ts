/** The record's data of a splice that never began. Pure. */

import { type Cycle, newCycle } from '../cycle/cycle.ts'
import type { CycleEvidence } from '../cycle/cycle-watch.ts'

/** @param runningMps - speed at which the line ran before. */
export function newMissed(
  tMs: number,
  evidence: CycleEvidence,
  runningMps: number,
  storedM: number | undefined,
): Cycle {
  const input = {
    ...evidence,
    tMs,
    lineMps: runningMps,
    isStanding: true,
    overspeed: 0,
    runningStoredM: undefined,
  }
  return newCycle(input, tMs, { storedM: storedM ?? null, lowStoredM: storedM ?? null })
}
