/**
 * Watches one cycle from its start until its verdict: what goes wrong, and when the web has passed. Pure.
 *
 * Rules of the recording contract, `splices.csv`.
 */
import type { Cycle } from '../cycle/cycle.ts'

export interface WatchInput {
  tMs: number
  lineMps: number
  storedM: number | undefined
  /** The buffer is at its end at or below this, m. */
  bufferEndM: number | undefined
  spliceFault: boolean | undefined
  webBreak: boolean | undefined
  tension: number | undefined
  tensionSetpoint: number | undefined
}

/** Tension below this share of its setpoint, or of what it was, is lost. */
const TENSION_LOST_SHARE = 0.1
/** It has to stay lost, ms: it dips at every splice. */
const TENSION_LOST_MS = 500
/** Slowest polling of a carriage that is allowed for, ms. */
const POLLED_MS = 1000
/** A line below this share of its speed at the start has stopped for the splice (recording contract). */
export const LINE_FELL_SHARE = 0.2

export interface WatchMemory {
  tensionBefore: number | null
  lostSinceTMs: number | null
  /** A break or fault that stood when the cycle began is not this cycle's. */
  faultBefore: boolean
  breakBefore: boolean
}

export const newWatchMemory = (input: WatchInput): WatchMemory => ({
  tensionBefore: input.tension ?? null,
  lostSinceTMs: null,
  faultBefore: input.spliceFault === true,
  breakBefore: input.webBreak === true,
})

export function watch(cycle: Cycle, memory: WatchMemory, input: WatchInput): void {
  if (input.spliceFault !== true) memory.faultBefore = false
  else if (!memory.faultBefore) cycle.faultTMs ??= input.tMs
  if (input.webBreak !== true) memory.breakBefore = false
  else if (!memory.breakBefore) cycle.breakTMs ??= input.tMs
  if (input.storedM !== undefined && input.bufferEndM !== undefined && input.storedM <= input.bufferEndM) {
    const fellTMs = cycle.lineFellTMs
    // A buffer that is emptied after the line fell was not the reason; one that is polled slowly shows it a little later.
    if (fellTMs === null) cycle.bufferEndTMs ??= input.tMs
    else if (input.tMs - fellTMs <= POLLED_MS) cycle.bufferEndTMs ??= fellTMs
  }
  if (cycle.isLineStopped === true && cycle.backTMs === null) return
  if (input.lineMps < LINE_FELL_SHARE * cycle.lineMps) cycle.lineFellTMs ??= input.tMs
  watchTension(cycle, memory, input)
}

function watchTension(cycle: Cycle, memory: WatchMemory, input: WatchInput): void {
  const usual = input.tensionSetpoint ?? memory.tensionBefore ?? undefined
  if (input.tension === undefined || usual === undefined || usual <= 0) return
  // Without a running line there is no tension to lose.
  if (input.tension >= TENSION_LOST_SHARE * usual || cycle.lineFellTMs !== null) {
    memory.lostSinceTMs = null
    return
  }
  memory.lostSinceTMs ??= input.tMs
  if (input.tMs - memory.lostSinceTMs >= TENSION_LOST_MS) cycle.breakTMs ??= memory.lostSinceTMs
}
