/**
 * A flying splicer's cycle: the new roll is pasted to the running web and the old one cut, without a stop. Pure.
 *
 * Where `splice_active` or `splice_step` is mapped the cycle is from its rise to its fall; else the transfer is all that shows.
 */
import { asPlainData } from '../plain-data.ts'
import { type Cycle, type CycleChange, type CycleInput, type CycleMachine, newCycle } from './cycle.ts'
import { decideTransfer, type TransferEvidence } from './transfer.ts'

/** How long after the signal's end the new roll may take to show, ms: some diameters are preset late. */
const SETTLE_MS = 5000
/** A jump of the reading within so much web of the trigger is the new roll, s of web (common practice, no source). */
const DUE_S = 5
const DUE_SDS = 3
/**
 * From the paste, where the cycle begins, to the cut, after which the new roll shows: some tenths of a second (common
 * practice, no source). What shows only the transfer tells of a paste so much earlier, ms.
 */
const PASTE_TO_TRANSFER_MS = 150
/** A tag is polled slowly at worst, ms: what it says is on average half a period old. */
const MOST_LATE_MS = 500
/** Elsewhere it has to last so long: an arm in the beam is gone by then, ms (common practice, no source). */
const LASTING_MS = 8000

interface State {
  cycle: Cycle | null
  activeEndedTMs: number | null
  evidence: TransferEvidence
}

export class FlyingMachine implements CycleMachine {
  #s: State = { cycle: null, activeEndedTMs: null, evidence: { spindleBefore: null, spindleTMs: null, jumpTMs: null } }

  get current(): Cycle | undefined {
    return this.#s.cycle ?? undefined
  }

  get isSplicing(): boolean {
    return this.#s.cycle !== null && this.#s.activeEndedTMs === null
  }

  step(input: CycleInput): CycleChange {
    const s = this.#s
    const change: CycleChange = {}
    const lateMs = Math.min(MOST_LATE_MS, input.readingPeriodMs / 2)
    if (s.cycle === null && input.active === true && !input.isStanding) {
      s.cycle = newCycle(input, Math.round(input.tMs - lateMs), { isProven: true })
      change.started = s.cycle
    }
    // Without a line that runs there is no flying splice: a new spindle or diameter is a roll changed by hand.
    if (!input.isStanding || s.cycle !== null) decideTransfer(s.evidence, { ...input, jump: this.#trustedJump(input) })
    else s.evidence = { spindleBefore: input.spindle ?? s.evidence.spindleBefore, spindleTMs: null, jumpTMs: null }
    const seenTMs = s.evidence.spindleTMs ?? s.evidence.jumpTMs
    const transferTMs = seenTMs === null ? null : seenTMs - lateMs
    if (transferTMs !== null && (s.cycle === null || s.cycle.transferTMs === null)) {
      if (s.cycle === null) {
        s.cycle = newCycle(input, Math.round(transferTMs - PASTE_TO_TRANSFER_MS), { isProven: true })
        s.activeEndedTMs = transferTMs
        change.started = s.cycle
      }
      s.cycle.transferTMs = Math.round(transferTMs)
      s.cycle.transferWebM = input.webM - (input.lineMps * (input.tMs - transferTMs)) / 1000
      change.transferred = s.cycle
    }
    if (s.cycle !== null) this.#follow(s.cycle, input, change)
    return change
  }

  /** The jump, where it can be believed: a spindle's word or the splicer's signal says more than one reading. */
  #trustedJump(input: CycleInput): CycleInput['jump'] {
    const { jump } = input
    if (jump === undefined || this.#s.cycle !== null) return jump
    if (input.spindle !== undefined) return undefined
    if (input.tMs - jump.sinceTMs >= LASTING_MS) return jump
    const dueM = Math.max(DUE_SDS * input.dueSdM, DUE_S * input.lineMps)
    const isDue = input.dueM !== undefined && input.dueM <= dueM
    // A signal that is mapped should have come first; a short pulse may be lost all the same.
    return isDue && input.active === undefined ? jump : undefined
  }

  #follow(cycle: Cycle, input: CycleInput, change: CycleChange): void {
    cycle.minLineMps = Math.min(cycle.minLineMps, input.lineMps)
    if (input.active !== true) this.#s.activeEndedTMs ??= input.tMs
    const isOver = this.#s.activeEndedTMs !== null
    if (input.lineMps < 0.2 * cycle.lineMps) {
      cycle.lineFellTMs ??= input.tMs
      this.#end(cycle, input, change)
    } else if (isOver && cycle.transferTMs !== null) {
      cycle.backTMs = this.#s.activeEndedTMs
      cycle.recoveredTMs = cycle.backTMs
      this.#end(cycle, input, change)
    } else if (isOver && input.tMs - this.#s.activeEndedTMs! >= SETTLE_MS && input.followsOldRoll) {
      cycle.resetTMs = this.#s.activeEndedTMs
      this.#end(cycle, input, change)
    } else if (isOver && input.tMs - this.#s.activeEndedTMs! >= 7 * SETTLE_MS) {
      cycle.resetTMs = this.#s.activeEndedTMs
      this.#end(cycle, input, change)
    }
  }

  #end(cycle: Cycle, input: CycleInput, change: CycleChange): void {
    change.ended = cycle
    this.#s = {
      cycle: null,
      activeEndedTMs: null,
      evidence: { spindleBefore: input.spindle ?? null, spindleTMs: null, jumpTMs: null },
    }
  }

  snapshot(): unknown {
    return asPlainData(this.#s)
  }

  restore(state: unknown): void {
    this.#s = asPlainData(state) as State
  }
}
