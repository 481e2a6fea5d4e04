/**
 * The splice record as the contract's row, from a cycle and its verdict. Pure.
 */
import type { SpliceView } from '../api/messages.ts'
import type { PhaseSpan, SpliceFlag } from '../columns.ts'
import type { Cycle } from '../cycle/cycle.ts'
import { NO_DETAILS } from '../splice-details.ts'
import { detailsOf, type Observation } from './observation.ts'
import type { Verdict } from './verdict.ts'

export const isoTime = (tMs: number): string => new Date(tMs).toISOString()

export const spliceId = (unwind: string, startedTMs: number): string => `${unwind}-${startedTMs}`

const scaled = (value: number | null | undefined, factor: number): number | null =>
  value === null || value === undefined ? null : value * factor

export function spliceView(
  unwind: string,
  cycle: Cycle,
  seen: Observation,
  verdict: Verdict | undefined,
  flags: readonly SpliceFlag[],
): SpliceView {
  return {
    unwind,
    started: isoTime(cycle.startedTMs),
    ended:
      verdict === undefined && cycle.recoveredTMs === null ? null : isoTime(verdict?.endedTMs ?? cycle.recoveredTMs!),
    outcome: verdict?.outcome ?? null,
    cause: verdict?.cause ?? null,
    flags: flags.join(';'),
    diameter: scaled(cycle.diameterM, 1000),
    speed: scaled(cycle.lineMps, 60),
    stopped_seconds: cycle.hasGap === true ? null : cycle.stoppedS,
    web_from_buffer: webFromBuffer(cycle),
    buffer_low: cycle.hasGap === true ? null : cycle.lowStoredM,
    left_on_roll: cycle.leftOnRollM,
    id: spliceId(unwind, cycle.startedTMs),
    phases: phasesOf(cycle),
    transfer: cycle.transferTMs === null ? null : isoTime(cycle.transferTMs),
    closed: verdict?.isFinal === true,
    has_trace: true,
    details: detailsOf(cycle, seen),
    review: null,
  }
}

/** A splice that no signal saw: what is known of it is what people say. */
export const recordByHand = (unwind: string, startedTMs: number): SpliceView => ({
  unwind,
  started: isoTime(startedTMs),
  ended: null,
  outcome: null,
  cause: null,
  flags: '',
  diameter: null,
  speed: null,
  stopped_seconds: null,
  web_from_buffer: null,
  buffer_low: null,
  left_on_roll: null,
  id: spliceId(unwind, startedTMs),
  phases: [],
  transfer: null,
  closed: true,
  has_trace: false,
  details: NO_DETAILS,
  review: null,
})

/** Web taken from the buffer is empty where the cycle was not completed; a line that fell afterwards does not undo it. */
function webFromBuffer(cycle: Cycle): number | null {
  return cycle.backTMs === null || cycle.hasGap === true ? null : cycle.webFromBufferM
}

export function phasesOf(cycle: Cycle): PhaseSpan[] {
  const spans: PhaseSpan[] = []
  const add = (phase: PhaseSpan['phase'], from: number | null, to: number | null): void => {
    if (from === null) return
    spans.push({ phase, started: isoTime(from), seconds: to === null ? null : Math.max(0, (to - from) / 1000) })
  }
  add('fill', cycle.fillStartedTMs, cycle.startedTMs)
  const brokenOff = cycle.lineFellTMs
  if (cycle.hasGap === true) {
    add('refill', cycle.backTMs, cycle.recoveredTMs ?? brokenOff)
    return spans
  }
  add('decelerate', cycle.startedTMs, cycle.stopStartTMs ?? cycle.backTMs ?? brokenOff)
  add('stopped', cycle.stopStartTMs, cycle.stopEndTMs ?? brokenOff)
  add('accelerate', cycle.stopEndTMs, cycle.backTMs ?? brokenOff)
  add('refill', cycle.backTMs, cycle.recoveredTMs ?? brokenOff)
  return spans
}
