/** What a pipeline tells of each joint that its splices make, and what it asks its signals for. Pure. */
import type { Cycle } from './cycle/cycle.ts'
import type { MadeJoint } from './joints/joint-tracker.ts'
import type { JointStep, JointWatch } from './joints/joint-watch.ts'
import { spliceId } from './outcome/record.ts'
import type { BookPage } from './outcome/splice-book.ts'
import type { SignalsNow } from './signals/now.ts'
import type { UnwindSignals } from './signals/unwind-signals.ts'

/** Signals that speak of joints only. */
export const JOINT_SIGNALS: ReadonlySet<string> = new Set([
  'joint_seen',
  'reject_confirmed',
  'finished_roll',
  'splice_count',
])

/** @param webM - that the line took; @param rollWebM - that left the roll, m. */
export function jointStep(
  signals: UnwindSignals,
  { tMs, lineMps, webBreak }: SignalsNow,
  webM: number,
  rollWebM: number,
  diameterM: number | undefined,
): JointStep {
  return {
    tMs,
    webM,
    rollWebM,
    lineMps: lineMps ?? 0,
    edgeOffsetM: signals.number('edge_offset', tMs),
    registerErrorM: signals.number('register_error', tMs),
    decurlerPosition: signals.number('decurler_position', tMs),
    diameterM,
    webBreak,
  }
}

/** @param transferred - the cycle whose new web took over at this step. */
export function followSplices(
  joints: JointWatch,
  unwind: string,
  transferred: Cycle | undefined,
  page: BookPage,
  webM: number,
  storedM: number,
  tMs: number,
): void {
  if (transferred !== undefined) joints.made(madeJoint(unwind, transferred, webM, storedM))
  if (page.missed !== undefined) joints.closed(tMs, false)
  for (const { cycle, verdict } of page.closed) {
    joints.closed(cycle.startedTMs, cycle.transferTMs !== null)
    if (verdict.cause === 'web_break') joints.broke(verdict.endedTMs, cycle.lineMps)
  }
}

/** @param webM - line web now; @param storedM - in the buffer now: for where the cycle does not know them at the transfer. */
function madeJoint(unwind: string, cycle: Cycle, webM: number, storedM: number): MadeJoint {
  const atWebM = cycle.transferWebM ?? webM
  const atStoredM = cycle.storedAtTransferM ?? storedM
  return {
    id: spliceId(unwind, cycle.startedTMs),
    tMs: cycle.transferTMs ?? cycle.startedTMs,
    webM: atWebM,
    storedM: atStoredM,
    rollWebM: atWebM + atStoredM,
  }
}
