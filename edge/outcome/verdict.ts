/**
 * Outcome, cause and flags of a cycle by rule. Pure; the rules are the recording contract's (`splices.csv`).
 */
import type { Cause, Outcome, SpliceFlag } from '../columns.ts'
import type { Cycle } from '../cycle/cycle.ts'

export interface VerdictContext {
  tMs: number
  /** Web taken by the line, m. */
  webM: number
  pathLengthM: number
  /** When the web path had passed after the transfer, ms; kept by the caller. */
  pathPassedTMs: number | null
  /** Stops longer than this are slow, s: 1.25 × the learned median, or × the configured stop before ten splices. */
  slowStopS: number
  /** For so long after it begins a return to speed is not seen, s: 0 where a tag gives the unwind's speed. */
  unseenS: number
  /** A newer cycle began: this joint is past. */
  isSuperseded: boolean
}

export interface Verdict {
  outcome: Outcome
  cause: Cause | undefined
  endedTMs: number
  /** No later evidence can change it. */
  isFinal: boolean
}

/** After the web path the joint is watched for so long (recording contract). */
const WATCH_AFTER_PATH_MS = 60_000
/** After the first sign of failure so long for the signals that explain it, ms. */
const EXPLAIN_MS = 5000
/** At the end of a recording a cycle that is back at speed for so long is as good as over, ms. */
const SO_FAR_MS = 20_000
/** A break that is reported within this time after the buffer came to its end follows from it, ms. */
const SAME_EVENT_MS = 3000

export function failedTMs(cycle: Cycle): number | undefined {
  const times = [cycle.breakTMs, cycle.bufferEndTMs, cycle.lineFellTMs].filter((t) => t !== null)
  return times.length === 0 ? undefined : Math.min(...times)
}

/** @param isLearned - the limit comes from stops that were read like this one, and not from a data sheet, which knows no feet of ramps. */
function isSlow(cycle: Cycle, slowStopS: number, isLearned: boolean): boolean {
  const { stoppedS, leastStoppedS = stoppedS, plainStoppedS } = cycle
  if (cycle.hasGap === true || stoppedS === null) return false
  return ((isLearned ? leastStoppedS : plainStoppedS) ?? stoppedS) > slowStopS
}

/** @returns undefined while the verdict is open. */
export function judge(cycle: Cycle, context: VerdictContext): Verdict | undefined {
  const failed = failedTMs(cycle)
  if (failed !== undefined) {
    return {
      outcome: 'failed',
      cause: causeOfFailure(cycle, context),
      endedTMs: failed,
      isFinal: context.tMs - failed >= EXPLAIN_MS || context.isSuperseded,
    }
  }
  if (cycle.resetTMs !== null) {
    return { outcome: 'aborted', cause: 'splicer_fault', endedTMs: cycle.recoveredTMs ?? cycle.resetTMs, isFinal: true }
  }
  if (cycle.transferTMs === null) return undefined
  const passed = context.pathPassedTMs !== null && context.tMs - context.pathPassedTMs >= WATCH_AFTER_PATH_MS
  if (!passed && !context.isSuperseded) return undefined
  const endedTMs = cycle.recoveredTMs ?? context.tMs
  return { outcome: 'good', cause: undefined, endedTMs, isFinal: true }
}

/** What is most likely at the end of a recording, when the watch is cut short. */
export function judgeSoFar(cycle: Cycle, context: VerdictContext): Verdict | undefined {
  const verdict = judge(cycle, context)
  if (verdict !== undefined) return verdict
  const { transferTMs, backTMs, recoveredTMs } = cycle
  // A slow refill that nothing has disturbed so far ends well.
  const isRefilling = backTMs !== null && context.tMs - backTMs >= SO_FAR_MS
  if (transferTMs === null || (recoveredTMs === null && !isRefilling)) return undefined
  return { outcome: 'good', cause: undefined, endedTMs: recoveredTMs ?? context.tMs, isFinal: false }
}

function causeOfFailure(cycle: Cycle, { slowStopS, unseenS }: VerdictContext): Cause {
  const { breakTMs, bufferEndTMs, lineFellTMs } = cycle
  const breakFirst = breakTMs !== null && (bufferEndTMs === null || breakTMs < bufferEndTMs)
  if (bufferEndTMs !== null && !breakFirst) {
    // What the stop had taken when the buffer came to its end: a line that fell then holds the unwind longer.
    const stopEndTMs = Math.min(cycle.stopEndTMs ?? bufferEndTMs, bufferEndTMs)
    const stoppedForS = cycle.stopStartTMs === null ? 0 : (stopEndTMs - cycle.stopStartTMs) / 1000
    // A stop whose end was not seen before the buffer's may have been over for a while.
    const isOpen = cycle.stopEndTMs === null || cycle.stopEndTMs >= bufferEndTMs
    return stoppedForS > slowStopS + (isOpen ? unseenS : 0) ? 'cycle_too_slow' : 'buffer_empty'
  }
  if (breakTMs !== null && (lineFellTMs === null || breakTMs <= lineFellTMs + SAME_EVENT_MS)) return 'web_break'
  if (cycle.faultTMs !== null) return 'splicer_fault'
  if (cycle.transferTMs !== null) return 'web_break'
  return 'unknown'
}

/** Cause of a splice that never began. */
export function causeOfMissed(newRollReady: boolean | undefined, spliceFault: boolean | undefined): Cause {
  if (newRollReady === false) return 'no_new_roll'
  return spliceFault === true ? 'splicer_fault' : 'ran_out'
}

export interface FlagContext {
  slowStopS: number
  isStopLearned: boolean
  unseenS: number
  reserveM: number | undefined
  spliceSpeedMps: number | undefined
  /** What the trigger is usually off its setting by, and its scatter, m. */
  triggerOffsetM: number
  triggerScatterM: number
  isManual: boolean
}

/** Farther off its setting than this is early or late, m (recording contract: 3 mm or 4 × scatter). */
const OFF_SETTING_M = 3e-3
const OFF_SETTING_SCATTERS = 4
const SLOWED_SHARE = 0.95

export function flagsOf(cycle: Cycle, context: FlagContext): SpliceFlag[] {
  const flags: SpliceFlag[] = []
  const offM = cycle.diameterM === null ? 0 : cycle.diameterM - cycle.settingM - context.triggerOffsetM
  const limitM = Math.max(OFF_SETTING_M, OFF_SETTING_SCATTERS * context.triggerScatterM)
  // Where no diameter is set early and late are against what is usual, once that is known.
  const isJudged = cycle.isSet || context.isStopLearned
  if (isJudged && offM > limitM) flags.push('early')
  if (isJudged && offM < -limitM) flags.push('late')
  if (context.isManual) flags.push('manual')
  if (isSlow(cycle, context.slowStopS, context.isStopLearned)) flags.push('slow_cycle')
  if (context.reserveM !== undefined && cycle.lowStoredM !== null && cycle.lowStoredM < context.reserveM) {
    flags.push('low_buffer')
  }
  const floorMps = Math.min(cycle.lineMps, context.spliceSpeedMps ?? cycle.lineMps) * SLOWED_SHARE
  const fell = cycle.lineFellTMs !== null || cycle.minLineMps < 0.2 * cycle.lineMps
  if (cycle.minLineMps < floorMps && !fell && cycle.stopEndTMs !== null) {
    flags.push('slowed_line')
  }
  return flags
}
