/**
 * The cycles whose verdict is still open, and the records that go out as they are revised. Pure.
 *
 * A record's id is fixed when the cycle is first recognised; later evidence revises the same record.
 */
import type { SpliceView } from '../api/messages.ts'
import type { Cause, SpliceFlag } from '../columns.ts'
import type { Cycle } from '../cycle/cycle.ts'
import { asPlainData } from '../plain-data.ts'
import { cutShort } from './cut-short.ts'
import { isOver, noteAlarm, type Observation, type ObservationInput, observe } from './observation.ts'
import { spliceView } from './record.ts'
import { type FlagContext, flagsOf, judge, judgeSoFar, type Verdict, type VerdictContext } from './verdict.ts'
import { newWatchMemory, type WatchInput, type WatchMemory, watch } from './watch.ts'

/** More than this many joints are never open at once: the path is short beside a roll. */
const MOST_OPEN = 4

interface Open {
  cycle: Cycle
  seen: Observation
  memory: WatchMemory
  pathPassedTMs: number | null
  flagContext: FlagContext
  /** What went out last, to see a change. */
  sent: string
}

/** Its verdict stands; what line, tension and alarms do afterwards still belongs to its record. */
interface Judged {
  cycle: Cycle
  seen: Observation
  verdict: Verdict
  flags: SpliceFlag[]
  closedTMs: number
  /** Of the observation, when it last went out. */
  sentVersion: number
}

export interface OpenContext {
  webM: number
  pathLengthM: number
  observed: ObservationInput
}

export interface Closed {
  cycle: Cycle
  verdict: Verdict
}

export class OpenCycles {
  readonly #unwind: string
  #open: Open[] = []
  #judged: Judged[] = []

  constructor(unwind: string) {
    this.#unwind = unwind
  }

  /** A cycle was recognised. */
  add(cycle: Cycle, seen: Observation, input: WatchInput, flagContext: FlagContext): void {
    this.#open.push({ cycle, seen, memory: newWatchMemory(input), pathPassedTMs: null, flagContext, sent: '' })
  }

  /** A splice that never began: judged at once, and followed until the line is back. @returns its record. */
  addMissed(cycle: Cycle, seen: Observation, cause: Cause, tMs: number): SpliceView {
    const verdict: Verdict = { outcome: 'missed', cause, endedTMs: cycle.startedTMs, isFinal: true }
    return this.#follow({ cycle, seen, verdict, flags: [], closedTMs: tMs, sentVersion: seen.version })
  }

  /** An alarm was raised or changed: it belongs to every splice that is still looked at. */
  noteAlarm(id: string): void {
    for (const { seen } of [...this.#open, ...this.#judged]) noteAlarm(seen, id)
  }

  /** No record is open, and none is followed after its verdict: there is nothing to step. */
  get isEmpty(): boolean {
    return this.#open.length === 0 && this.#judged.length === 0
  }

  get newest(): Cycle | undefined {
    return this.#open[this.#open.length - 1]?.cycle
  }

  /** After a restore the machine and this list must speak of the same cycle again. */
  adopt(cycle: Cycle): void {
    for (const entry of [...this.#open, ...this.#judged]) {
      if (entry.cycle.startedTMs === cycle.startedTMs) entry.cycle = cycle
    }
  }

  /** @returns revised records and the verdicts that fell at this step. */
  step(input: WatchInput, context: OpenContext): { revised: SpliceView[]; closed: Closed[] } {
    const revised: SpliceView[] = []
    const closed: Closed[] = []
    const keep: Open[] = []
    for (const [index, open] of this.#open.entries()) {
      const isSuperseded = index < this.#open.length - 1
      if (!isSuperseded) watch(open.cycle, open.memory, input)
      observe(open.cycle, open.seen, context.observed, true)
      const { transferWebM } = open.cycle
      if (open.pathPassedTMs === null && transferWebM !== null) {
        if (context.webM - transferWebM >= context.pathLengthM) open.pathPassedTMs = input.tMs
      }
      const verdict = judge(open.cycle, this.#verdictContext(open, input.tMs, context, isSuperseded))
      const view = this.#revise(open, verdict)
      if (view !== undefined) revised.push(view)
      if (verdict?.isFinal === true) {
        closed.push({ cycle: open.cycle, verdict })
        const { cycle, seen, flagContext } = open
        const flags = flagsOf(cycle, flagContext)
        this.#follow({ cycle, seen, verdict, flags, closedTMs: input.tMs, sentVersion: seen.version })
      } else if (index >= this.#open.length - MOST_OPEN) keep.push(open)
      else revised.push(cutShort(view ?? this.#stands(open, verdict), input.tMs))
    }
    this.#open = keep
    revised.push(...this.#stepJudged(context.observed))
    return { revised, closed }
  }

  #follow(judged: Judged): SpliceView {
    this.#judged = [...this.#judged, judged].slice(-MOST_OPEN)
    return this.#viewOf(judged)
  }

  #viewOf({ cycle, seen, verdict, flags }: Judged): SpliceView {
    const view = spliceView(this.#unwind, cycle, seen, verdict, flags)
    return verdict.outcome === 'missed' ? asMissed(view) : view
  }

  /** What comes after the verdict revises the same record. */
  #stepJudged(observed: ObservationInput): SpliceView[] {
    const revised: SpliceView[] = []
    for (const judged of this.#judged) {
      const { outcome } = judged.verdict
      observe(judged.cycle, judged.seen, observed, outcome === 'failed' || outcome === 'missed')
      this.#explainLater(judged)
      if (judged.seen.version === judged.sentVersion) continue
      judged.sentVersion = judged.seen.version
      revised.push(this.#viewOf(judged))
    }
    this.#judged = this.#judged.filter(({ seen, closedTMs }) => !isOver(seen, closedTMs, observed.tMs))
    return revised
  }

  /** A sensor that was blind shows the new roll at last: the web that parted was the joint's. */
  #explainLater(judged: Judged): void {
    const { verdict, cycle, seen } = judged
    if (verdict.outcome !== 'failed' || verdict.cause !== 'unknown' || cycle.transferTMs === null) return
    judged.verdict = { ...verdict, cause: 'web_break' }
    seen.version += 1
  }

  #verdictContext(
    open: Open,
    tMs: number,
    context: Omit<OpenContext, 'observed'>,
    isSuperseded: boolean,
  ): VerdictContext {
    return {
      tMs,
      webM: context.webM,
      pathLengthM: context.pathLengthM,
      pathPassedTMs: open.pathPassedTMs,
      slowStopS: open.flagContext.slowStopS,
      unseenS: open.flagContext.unseenS,
      isSuperseded,
    }
  }

  #revise(open: Open, verdict: Verdict | undefined): SpliceView | undefined {
    const { cycle, seen } = open
    const key = `${seen.version}|${cycle.transferTMs}|${cycle.backTMs}|${cycle.recoveredTMs}|${cycle.faultTMs}|${verdict?.outcome}|${verdict?.cause}|${verdict?.isFinal}`
    if (key === open.sent) return undefined
    open.sent = key
    return this.#stands(open, verdict)
  }

  #stands({ cycle, seen, flagContext }: Open, verdict: Verdict | undefined): SpliceView {
    return spliceView(this.#unwind, cycle, seen, verdict, flagsOf(cycle, flagContext))
  }

  /** Records as they stand when no more evidence comes (the end of a recording). */
  finish(tMs: number, context: Omit<OpenContext, 'observed'>): SpliceView[] {
    return this.#open.map((open) =>
      this.#stands(open, judgeSoFar(open.cycle, this.#verdictContext(open, tMs, context, false))),
    )
  }

  snapshot(): unknown {
    return asPlainData({ open: this.#open, judged: this.#judged })
  }

  restore(state: unknown): void {
    const s = asPlainData(state) as { open: Open[]; judged: Judged[] }
    this.#open = s.open
    this.#judged = s.judged
  }
}

/** The record of a splice that never began. */
const asMissed = (view: SpliceView): SpliceView => ({
  ...view,
  phases: [],
  web_from_buffer: null,
  stopped_seconds: null,
  details: { ...view.details, guide_left: null, guide_left_unit: null, guide_left_share: null },
})
