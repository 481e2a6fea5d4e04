/**
 * The records of one unwind's splices, from the cycle's changes: begun, revised, judged, missed. Pure.
 */
import type { AlarmView, SpliceView } from '../api/messages.ts'
import type { Cause } from '../columns.ts'
import type { MaterialConfig, UnwindConfig } from '../config/config.ts'
import type { Cycle } from '../cycle/cycle.ts'
import type { CycleEvidence, WatchChange } from '../cycle/cycle-watch.ts'
import { type Assessment, LEARNED_AFTER, slowStopS } from '../estimators/assessment.ts'
import type { LearnedSplicer } from '../estimators/learning/splicer.ts'
import type { RollFilter } from '../estimators/roll-filter.ts'
import { guideReading } from '../signals/guide.ts'
import type { RollData, SignalsNow } from '../signals/now.ts'
import type { UnwindSignals } from '../signals/unwind-signals.ts'
import { newMissed } from './missed-cycle.ts'
import { type Closed, OpenCycles } from './open-cycles.ts'
import { rollNames, Surroundings, type SurroundingsInput } from './surroundings.ts'
import { causeOfMissed } from './verdict.ts'
import type { WatchInput } from './watch.ts'

/** By the carriage a return to speed is seen from this share of the line speed on, and by a slope that lags by so much, s. */
const SEEN_SHARE = 0.1
const SLOPE_S = 0.2

export interface BookContext {
  now: SignalsNow
  signals: UnwindSignals
  lineMps: number
  /** Web that the line took, and that stored in the buffer, m. */
  webM: number
  storedM: number
  /** State of the running roll at a web length off it. */
  rollAt: (webM: number) => RollFilter | undefined
  rollData: RollData
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
  readonly #around: Surroundings

  constructor(config: UnwindConfig, materials: Readonly<Record<string, MaterialConfig>>) {
    this.#config = config
    this.#open = new OpenCycles(config.id)
    this.#around = new Surroundings(config, materials)
  }

  /** An alarm of this unwind was raised, or changed. */
  noteAlarm({ id, raised, cleared }: AlarmView): void {
    if (cleared !== null) return
    this.#around.noteAlarm(id, Date.parse(raised))
    this.#open.noteAlarm(id)
  }

  /** Another roll runs. */
  rollChanged(tMs: number, signals: UnwindSignals): void {
    this.#around.rollChanged(tMs, signals)
  }

  /** Takes what changed at this step, and looks at every record that is open. Before a new roll's estimate replaces the old. */
  apply(change: WatchChange, context: BookContext): BookPage {
    const { now, lineMps } = context
    this.#around.step(aroundOf(context))
    if (change.started !== undefined) this.#begin(change.started, context)
    if (change.transferred !== undefined) this.#noteLeft(change.transferred, context)
    const records: SpliceView[] = []
    const missing =
      change.ranOut ??
      (change.missedTMs === undefined
        ? undefined
        : newMissed(change.missedTMs, context.evidence, context.runningMps ?? lineMps, now.storedM))
    const missed = missing === undefined ? undefined : this.#miss(missing, context, records)
    if (this.#open.isEmpty) return { records, closed: [], missed }
    const newest = this.#open.newest
    if (change.recoveredTMs !== undefined && newest !== undefined) newest.recoveredTMs ??= change.recoveredTMs
    const { revised, closed } = this.#open.step(this.#watchInput(now, lineMps), {
      ...this.#openContext(context.webM),
      observed: {
        tMs: now.tMs,
        lineMps,
        tension: now.tension,
        guide: guideReading(context.signals, now.tMs),
        rolls: rollNames(context.signals, now),
        rollM: context.assessment?.diameterM,
      },
    })
    records.push(...revised)
    return { records, closed, missed }
  }

  #begin(cycle: Cycle, context: BookContext): void {
    const { now, lineMps, assessment } = context
    const { splicer, buffer } = this.#config
    const sinceM = (lineMps * (now.tMs - cycle.startedTMs)) / 1000
    const startWebM = context.webM - sinceM + (cycle.storedM ?? context.storedM)
    const roll = context.rollAt(startWebM)
    cycle.rollWebM = startWebM
    if (roll !== undefined && splicer.method !== 'stopped') {
      cycle.diameterM = roll.diameterM
      cycle.diameterSdM = Math.sqrt(roll.expect(0, 0).varianceM2)
    }
    this.#open.add(cycle, this.#around.start(cycle, startWebM, aroundOf(context)), this.#watchInput(now, lineMps), {
      slowStopS: slowStopS(splicer, context.learned),
      isStopLearned: context.learned.cycles >= LEARNED_AFTER,
      unseenS: now.unwindMps === undefined ? (SEEN_SHARE * lineMps) / splicer.accelerationMps2 + SLOPE_S : 0,
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
    if (roll !== undefined) noteLeft(cycle, roll, context.rollData.coreM)
  }

  #miss(cycle: Cycle, context: BookContext, records: SpliceView[]): BookPage['missed'] {
    const ready = cycle.newRollReady ?? context.now.newRollReady
    const cause = causeOfMissed(ready, context.now.spliceFault)
    const roll = context.rollAt(context.webM + context.storedM)
    if (roll !== undefined) {
      noteLeft(cycle, roll, context.rollData.coreM)
      cycle.diameterM ??= roll.diameterM
    }
    const seen = this.#around.start(cycle, undefined, aroundOf(context))
    const view = this.#open.addMissed(cycle, seen, cause, context.now.tMs)
    records.push(view)
    return { id: view.id, cause }
  }

  #watchInput(now: SignalsNow, lineMps: number): WatchInput {
    return {
      tMs: now.tMs,
      lineMps,
      storedM: now.storedM,
      bufferEndM: bufferEndM(this.#config.buffer),
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
    return { open: this.#open.snapshot(), around: this.#around.snapshot() }
  }

  restore(state: unknown): void {
    const { open, around } = state as { open: unknown; around: unknown }
    this.#open.restore(open)
    this.#around.restore(around)
  }
}

/** Nearer to its end than this a carriage that reads a little low has not been there: the line ran on, of all web it holds. */
const END_SHARE = 0.001

/** The buffer is at its end at or below this, m; a limit switch stops the line there, and the web falls farther. */
function bufferEndM(buffer: UnwindConfig['buffer']): number | undefined {
  if (buffer === undefined) return undefined
  const { emptyStoredM, fullStoredM } = buffer.calibration
  const doubtM = END_SHARE * (fullStoredM - emptyStoredM)
  return buffer.tripStoredM > emptyStoredM + doubtM ? buffer.tripStoredM - doubtM : buffer.tripStoredM
}

const aroundOf = (context: BookContext): SurroundingsInput => ({
  now: context.now,
  lineMps: context.lineMps,
  signals: context.signals,
  rollData: context.rollData,
  assessment: context.assessment,
  rollWebM: context.webM + context.storedM,
})

/** Web down to the core's outside by the diameter as it reads, m: L = π(D² − d²)/(4t). */
function noteLeft(cycle: Cycle, roll: RollFilter, coreM: number): void {
  const leftM = Math.max(0, (Math.PI / 4) * (roll.diameterM ** 2 - coreM ** 2)) / roll.caliperM
  const diameterSdM = Math.sqrt(roll.expect(0, 0).varianceM2)
  // dL/dD = πD/(2t) and dL/dt = −L/t; taken as independent, which errs to the wide side near the core.
  const webPerDiameter = (Math.PI * roll.diameterM) / (2 * roll.caliperM)
  cycle.leftOnRollM = leftM
  cycle.leftOnRollSdM = Math.hypot(webPerDiameter * diameterSdM, (leftM * roll.caliperSdM) / roll.caliperM)
}
