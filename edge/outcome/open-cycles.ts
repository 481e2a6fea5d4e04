/**
 * The cycles whose verdict is still open, and the records that go out as they are revised. Pure.
 *
 * A record's id is fixed when the cycle is first recognised; later evidence revises the same record.
 */
import type { SpliceView } from '../api/messages.ts'
import type { Cause } from '../columns.ts'
import { asPlainData, type Cycle } from '../cycle/cycle.ts'
import { spliceView } from './record.ts'
import { type FlagContext, flagsOf, judge, judgeSoFar, type Verdict, type VerdictContext } from './verdict.ts'
import { newWatchMemory, type WatchInput, type WatchMemory, watch } from './watch.ts'

/** More than this many joints are never open at once: the path is short beside a roll. */
const MOST_OPEN = 4

interface Open {
  cycle: Cycle
  memory: WatchMemory
  pathPassedTMs: number | null
  flagContext: FlagContext
  /** What went out last, to see a change. */
  sent: string
}

export interface OpenContext {
  webM: number
  pathLengthM: number
}

export interface Closed {
  cycle: Cycle
  verdict: Verdict
}

export class OpenCycles {
  readonly #unwind: string
  #open: Open[] = []

  constructor(unwind: string) {
    this.#unwind = unwind
  }

  /** A cycle was recognised. */
  add(cycle: Cycle, input: WatchInput, flagContext: FlagContext): void {
    this.#open.push({ cycle, memory: newWatchMemory(input), pathPassedTMs: null, flagContext, sent: '' })
  }

  get newest(): Cycle | undefined {
    return this.#open[this.#open.length - 1]?.cycle
  }

  /** After a restore the machine and this list must speak of the same cycle again. */
  adopt(cycle: Cycle): void {
    const open = this.#open.find((entry) => entry.cycle.startedTMs === cycle.startedTMs)
    if (open !== undefined) open.cycle = cycle
  }

  /** @returns revised records and the verdicts that fell at this step. */
  step(input: WatchInput, context: OpenContext): { revised: SpliceView[]; closed: Closed[] } {
    const revised: SpliceView[] = []
    const closed: Closed[] = []
    const keep: Open[] = []
    for (const [index, open] of this.#open.entries()) {
      const isSuperseded = index < this.#open.length - 1
      if (!isSuperseded) watch(open.cycle, open.memory, input)
      const { transferWebM } = open.cycle
      if (open.pathPassedTMs === null && transferWebM !== null) {
        if (context.webM - transferWebM >= context.pathLengthM) open.pathPassedTMs = input.tMs
      }
      const verdict = judge(open.cycle, this.#verdictContext(open, input.tMs, context, isSuperseded))
      const view = this.#revise(open, verdict)
      if (view !== undefined) revised.push(view)
      if (verdict?.isFinal === true) closed.push({ cycle: open.cycle, verdict })
      else if (index >= this.#open.length - MOST_OPEN) keep.push(open)
    }
    this.#open = keep
    return { revised, closed }
  }

  #verdictContext(open: Open, tMs: number, context: OpenContext, isSuperseded: boolean): VerdictContext {
    return {
      tMs,
      webM: context.webM,
      pathLengthM: context.pathLengthM,
      pathPassedTMs: open.pathPassedTMs,
      slowStopS: open.flagContext.slowStopS,
      isSuperseded,
    }
  }

  #revise(open: Open, verdict: Verdict | undefined): SpliceView | undefined {
    const { cycle } = open
    const key = `${cycle.transferTMs}|${cycle.backTMs}|${cycle.recoveredTMs}|${cycle.faultTMs}|${verdict?.outcome}|${verdict?.cause}|${verdict?.isFinal}`
    if (key === open.sent) return undefined
    open.sent = key
    return spliceView(this.#unwind, cycle, verdict, flagsOf(cycle, open.flagContext))
  }

  /** Records as they stand when no more evidence comes (the end of a recording). */
  finish(tMs: number, context: OpenContext): SpliceView[] {
    return this.#open.map((open) => {
      const verdict = judgeSoFar(open.cycle, this.#verdictContext(open, tMs, context, false))
      return spliceView(this.#unwind, open.cycle, verdict, flagsOf(open.cycle, open.flagContext))
    })
  }

  snapshot(): unknown {
    return asPlainData(this.#open)
  }

  restore(state: unknown): void {
    this.#open = asPlainData(state) as Open[]
  }
}

/** The record of a splice that never began. */
export function missedView(unwind: string, cycle: Cycle, cause: Cause): SpliceView {
  const verdict: Verdict = { outcome: 'missed', cause, endedTMs: cycle.startedTMs, isFinal: true }
  return { ...spliceView(unwind, cycle, verdict, []), phases: [], web_from_buffer: null, stopped_seconds: null }
}
