/**
 * The records of one unwind's splices, from the cycle's changes: begun, revised, judged, missed. Pure.
 */
import type { SpliceView } from '../api/messages.ts'
import type { Cause } from '../columns.ts'
import type { UnwindConfig } from '../config/config.ts'
import type { Cycle } from '../cycle/cycle.ts'
import type { CycleEvidence, WatchChange } from '../cycle/cycle-watch.ts'
import { type Assessment, slowStopS } from '../estimators/assessment.ts'
import type { LearnedSplicer } from '../estimators/learning/splicer.ts'
import type { RollFilter } from '../estimators/roll-filter.ts'
import type { SignalsNow } from '../signals/now.ts'
import { newMissed } from './missed-cycle.ts'
import { type Closed, missedView, OpenCycles } from './open-cycles.ts'
import { causeOfMissed } from './verdict.ts'
import type { WatchInput } from './watch.ts'

export interface BookContext {
  now: SignalsNow
  lineMps: number
  /** Web that the line took, and that stored in the buffer, m. */
  webM: number
  storedM: number
  /** State of the running roll at a web length off it. */
  rollAt: (webM: number) => RollFilter | undefined
  coreM: number
  noiseM: number
  assessment: Assessment | undefined
  learned: LearnedSplicer
  evidence: CycleEvidence
  /** Speed at which the line ran last. */
  runningMps: number | undefined
}

export interface BookPage {
  /** Records that are new or revised, in order. */
  records: SpliceView[]
  closed: Closed[]
  missed: { id: string; cause: Cause } | undefined
}

export class SpliceBook {
  readonly #config: UnwindConfig
  readonly #open: OpenCycles

  constructor(config: UnwindConfig) {
    this.#config = config
    this.#open = new OpenCycles(config.id)
  }

  /** Takes what changed at this step, and looks at every record that is open. Before a new roll's estimate replaces the old. */
  apply(change: WatchChange, context: BookContext): BookPage {
    const { now, lineMps } = context
    if (change.started !== undefined) this.#begin(change.started, context)
    if (change.transferred !== undefined) this.#noteLeft(change.transferred, context)
    const records: SpliceView[] = []
    const missing =
      change.ranOut ??
      (change.missedTMs === undefined
        ? undefined
        : newMissed(change.missedTMs, context.evidence, context.runningMps ?? lineMps, now.storedM))
    const missed = missing === undefined ? undefined : this.#miss(missing, context, records)
    const newest = this.#open.newest
    if (change.recoveredTMs !== undefined && newest !== undefined) newest.recoveredTMs ??= change.recoveredTMs
    const { revised, closed } = this.#open.step(this.#watchInput(now, lineMps), this.#openContext(context.webM))
    records.push(...revised)
    return { records, closed, missed }
  }

  #begin(cycle: Cycle, context: BookContext): void {
    const { now, lineMps, assessment } = context
    const { splicer, buffer } = this.#config
    const sinceM = (lineMps * (now.tMs - cycle.startedTMs)) / 1000
    const roll = context.rollAt(context.webM - sinceM + (cycle.storedM ?? context.storedM))
    if (roll !== undefined && splicer.method !== 'stopped') cycle.diameterM = roll.diameterM
    this.#open.add(cycle, this.#watchInput(now, lineMps), {
      slowStopS: slowStopS(splicer, context.learned),
      reserveM: buffer?.reserveM,
      spliceSpeedMps: splicer.spliceSpeedMps,
      triggerOffsetM: assessment?.trigger?.offsetM ?? 0,
      triggerScatterM: assessment?.trigger?.scatterM ?? context.noiseM,
      isManual: splicer.trigger === 'manual',
    })
  }

  #noteLeft(cycle: Cycle, context: BookContext): void {
    const rollWebM = (cycle.transferWebM ?? context.webM) + (cycle.storedAtTransferM ?? context.storedM)
    const roll = context.rollAt(rollWebM)
    if (roll !== undefined) cycle.leftOnRollM = leftM(roll, context.coreM)
  }

  #miss(cycle: Cycle, context: BookContext, records: SpliceView[]): BookPage['missed'] {
    const ready = cycle.newRollReady ?? context.now.newRollReady
    const cause = causeOfMissed(ready, context.now.spliceFault)
    const roll = context.rollAt(context.webM + context.storedM)
    if (roll !== undefined) {
      cycle.leftOnRollM = leftM(roll, context.coreM)
      cycle.diameterM ??= roll.diameterM
    }
    const view = missedView(this.#config.id, cycle, cause)
    records.push(view)
    return { id: view.id, cause }
  }

  #watchInput(now: SignalsNow, lineMps: number): WatchInput {
    return {
      tMs: now.tMs,
      lineMps,
      storedM: now.storedM,
      bufferEndM: this.#config.buffer?.tripStoredM,
      spliceFault: now.spliceFault,
      webBreak: now.webBreak,
      tension: now.tension,
      tensionSetpoint: now.tensionSetpoint,
    }
  }

  #openContext(webM: number): { webM: number; pathLengthM: number } {
    return { webM, pathLengthM: this.#config.splicer.pathLengthM }
  }

  /** Records as they stand when no more evidence comes. */
  finish(tMs: number, webM: number): SpliceView[] {
    return this.#open.finish(tMs, this.#openContext(webM))
  }

  /** After a restore the machine and this book must speak of the same cycle again. */
  adopt(cycle: Cycle | undefined): void {
    if (cycle !== undefined) this.#open.adopt(cycle)
  }

  snapshot(): unknown {
    return this.#open.snapshot()
  }

  restore(state: unknown): void {
    this.#open.restore(state)
  }
}

/** Web down to the core's outside by the diameter as it reads, m: L = π(D² − d²)/(4t). */
const leftM = (roll: RollFilter, coreM: number): number =>
  Math.max(0, (Math.PI / 4) * (roll.diameterM ** 2 - coreM ** 2)) / roll.caliperM
