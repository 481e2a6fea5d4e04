/**
 * The roll that runs: web taken off it, its state, and when it is another one. Pure, O(1).
 *
 * Web off the roll = web that the line took + change of the stored web (web balance, trade notes). A reading that departs
 * for good is a roll changed by hand where the line stands, else a preset that converges or a sensor that lied: the
 * estimate is begun anew and keeps what it knows of the caliper.
 */
import { canBeRoll, type RollData } from '../signals/now.ts'
import { SpeedRatio, type UnwindSpeeds } from './computed-diameter.ts'
import { likeness } from './deviation.ts'
import { DiameterEstimator, type DiameterState } from './diameter.ts'
import { expectRoll } from './learning/rolls.ts'
import type { LearnedSplicer } from './learning/splicer.ts'
import { type LeftRoll, OldRoll, type OldRollState } from './old-roll.ts'
import type { RollFilter, RollPrior } from './roll-filter.ts'

/** A departed reading is another roll after so long: while the line stands, soon after a roll change, and else; ms. */
const STANDING_MS = 3000
const UNSETTLED_MS = 2000
const RUNNING_MS = 10_000
/** No roll is changed while the line runs: one that departs this far has to behave like a roll for so long, ms. */
const FAR_M = 10e-3
const FAR_SHARE = 0.02
const FAR_MS = 60_000
/** Who changes a roll by hand takes longer than this, ms: a stop as long unsettles. */
const HAND_CHANGE_MS = 5000
/** A roll is settled after three turns and 10 s (trade notes: presets converge over turns). */
const SETTLED_TURNS = 3
const SETTLED_MS = 10_000
/** After a new start on the same roll the caliper is trusted no better than this. */
const RESTART_CALIPER_SD_SHARE = 0.02
/** A caliper this far from what is usual, so soon, is a reading's that still moves for another reason (trade notes: a few per cent). */
const STRANGE_CALIPER_SHARE = 0.15
/** Steps come every 100 ms while the line's speed is known, ms. */
const UNSTEPPED_MS = 500
/** A program holds the diameter as the fill begins, and the parting shows so much later at most, ms. */
const HELD_WITHIN_MS = 3000
/** A value that is held counts as a reading again after so long without a report, ms. */
const HELD_AFTER_MS = 1000
const HELD_EVERY_MS = 500

export interface RollContext {
  isStanding: boolean
  isInCycle: boolean
  isRefilling: boolean
  /** The source of the diameter was heard just now. */
  isHeard: boolean
  /** The splice is due: another roll may run although no cycle was seen. */
  isDue: boolean
  lineMps: number
  speeds: UnwindSpeeds
}

export type RollChange = 'by_hand' | 'restarted'

interface PendingReading {
  readingM: number
  tMs: number
  mayUse: boolean
}

/** What is known of a roll's caliper when its estimate is begun anew. */
interface KeptCaliper {
  caliperM: number
  sdM: number
  rollM: number
}

export interface RunningRollState {
  estimator: DiameterState
  speeds: ReturnType<SpeedRatio['snapshot']>
  pending: PendingReading | null
  readingPeriodS: number
  lastReportMs: number | null
  lastHeldMs: number
  changedTMs: number | null
  changedWebM: number
  unsettled: { tMs: number; webM: number } | null
  standsSinceMs: number | null
  apartSinceMs: number | null
  heldFromMs: number | null
  lastStepMs: number | null
  mayBeChanged: boolean
  isConverging: boolean
  keptCaliper: KeptCaliper | null
  old: OldRollState
}

export class RunningRoll {
  readonly estimator = new DiameterEstimator()
  readonly #speeds = new SpeedRatio()
  readonly #old = new OldRoll()
  #readingPeriodS = 0.1
  #pending: PendingReading | undefined
  #lastReportMs: number | undefined
  #lastHeldMs = 0
  #changedTMs: number | undefined
  #changedWebM = 0
  /** What the reading shows may still change from here on: a new roll, a gap, a stop. */
  #unsettled: { tMs: number; webM: number } | undefined
  #standsSinceMs: number | undefined
  #apartSinceMs: number | undefined
  #heldFromMs: number | undefined
  #lastStepMs: number | undefined
  /** Since the reading last agreed the line stood long enough to change the roll. */
  #mayBeChanged = false
  /** The estimate was begun anew since the roll was: its reading comes to the roll's own by and by. */
  #isConverging = false
  #keptCaliper: KeptCaliper | undefined

  get readingPeriodS(): number {
    return this.#readingPeriodS
  }

  /** Web count at which the running roll was begun, m; undefined where no change was seen. */
  get begunAtWebM(): number | undefined {
    return this.#changedTMs === undefined ? undefined : this.#changedWebM
  }

  /** Time and web since the roll was changed; undefined where no change was seen. */
  sinceChange(tMs: number, webM: number): { seconds: number; turns: number } | undefined {
    if (this.#changedTMs === undefined) return undefined
    const diameterM = this.estimator.filter?.trueDiameterM ?? 0.5
    return { seconds: (tMs - this.#changedTMs) / 1000, turns: (webM - this.#changedWebM) / (Math.PI * diameterM) }
  }

  /** Time since the splice while the diameter still reads the roll before it, s; undefined else. */
  notResetS(tMs: number): number | undefined {
    return this.#old.seconds(tMs)
  }

  /** The reading comes to the new roll's own diameter only now: what it says of the caliper is not the roll's. */
  get isConverging(): boolean {
    return this.#isConverging
  }

  /** The reading stands still since line and unwind part: a program that computes it may hold it meanwhile. */
  get isHeldByProgram(): boolean {
    return this.#heldFromMs !== undefined && this.#heldFromMs === this.estimator.lastChangeTMs
  }

  /** Time since the diameter's last report, ms. */
  blindMs(tMs: number): number {
    return this.#lastReportMs === undefined ? Number.POSITIVE_INFINITY : tMs - this.#lastReportMs
  }

  /** A report of the running roll's diameter. It counts once all that was read with it has come: the carriage moves, too. */
  report(readingM: number, tMs: number, mayUse: boolean, coreM: number): void {
    if (!canBeRoll(readingM, coreM)) return
    this.#pending = { readingM, tMs, mayUse }
  }

  /** All that was read before `beforeTMs` has come. @param webAt - web taken off the roll at a time, m. */
  settle(beforeTMs: number, webAt: (tMs: number) => number): void {
    const pending = this.#pending
    if (pending === undefined || pending.tMs >= beforeTMs) return
    this.#pending = undefined
    const { readingM, tMs, mayUse } = pending
    if (this.#lastReportMs !== undefined && tMs > this.#lastReportMs) {
      const interval = Math.min(5, (tMs - this.#lastReportMs) / 1000)
      this.#readingPeriodS += (interval - this.#readingPeriodS) * 0.05
    }
    this.#lastReportMs = tMs
    // While the line's speed is not known nobody knows what web a reading belongs to.
    if (this.#lastStepMs === undefined || tMs - this.#lastStepMs > UNSTEPPED_MS) return
    if (this.#old.reads(readingM, tMs, webAt(tMs))) return
    this.estimator.reading(readingM, tMs, webAt(tMs), mayUse || this.estimator.filter === undefined, this.#speeds.share)
  }

  /** The tag says what no roll can have. */
  noteNothing(): void {
    this.estimator.noteNothing(this.#speeds.share)
  }

  /** The value that holds between reports: a tag that reports on change says by its silence that it has not changed. */
  hold(readingM: number, tMs: number, webM: number, mayUse: boolean): void {
    if (this.#lastReportMs === undefined || tMs - this.#lastReportMs < HELD_AFTER_MS) return
    if (tMs - this.#lastHeldMs < HELD_EVERY_MS) return
    this.#lastHeldMs = tMs
    if (this.#old.reads(readingM, tMs, webM)) return
    this.estimator.reading(readingM, tMs, webM, mayUse || this.estimator.filter === undefined, this.#speeds.share)
  }

  /** Another roll runs from here. @param left - the one that a splice left: a diameter that reads it on says nothing. */
  change(tMs: number, webM: number, left?: LeftRoll): void {
    this.estimator.newRoll()
    this.#old.change(tMs, webM, left)
    this.#changedTMs = tMs
    this.#changedWebM = webM
    this.#unsettled = { tMs, webM }
    this.#mayBeChanged = false
    this.#isConverging = false
    this.#keptCaliper = undefined
  }

  /** Once per step. @param prior - what to expect of a new roll's caliper and of the sensor's offset. */
  step(tMs: number, webM: number, prior: () => RollPrior, context: RollContext): RollChange | undefined {
    this.#lastStepMs = tMs
    this.#speeds.step(context.lineMps, context.speeds)
    this.#apartSinceMs = this.#speeds.share.isApart ? (this.#apartSinceMs ?? tMs) : undefined
    const changedMs = this.estimator.lastChangeTMs
    // Once held it stays so until it changes: a fill may be over before its splice.
    if (this.#apartSinceMs !== undefined && Math.abs(changedMs - this.#apartSinceMs) <= HELD_WITHIN_MS) {
      this.#heldFromMs = changedMs
    }
    this.estimator.step(tMs, webM, context.isHeard ? this.#readingPeriodS : Number.POSITIVE_INFINITY, () =>
      this.#prior(prior()),
    )
    this.#settle(tMs, webM, prior, context)
    return this.#watchDeparture(tMs, webM, context)
  }

  #settle(tMs: number, webM: number, prior: () => RollPrior, context: RollContext): void {
    if (context.isStanding) {
      this.#standsSinceMs ??= tMs
      if (tMs - this.#standsSinceMs >= HAND_CHANGE_MS) {
        this.#mayBeChanged = true
        this.#unsettled = { tMs, webM }
      }
      return
    }
    this.#standsSinceMs = undefined
    const from = this.#unsettled
    if (from === undefined || context.isRefilling || context.isInCycle) return
    const turns = (webM - from.webM) / (Math.PI * (this.estimator.filter?.trueDiameterM ?? 0.5))
    if (turns < SETTLED_TURNS || tMs - from.tMs < SETTLED_MS || this.estimator.deviation !== undefined) return
    // What was learned while a preset still came down to the roll is not the roll's.
    const { filter } = this.estimator
    const expectedM = prior().caliperM
    const isStrange = filter !== undefined && Math.abs(filter.caliperM - expectedM) > STRANGE_CALIPER_SHARE * expectedM
    if (this.#isConverging || (isStrange && !this.#mayBeChanged)) this.estimator.newRoll()
    this.#isConverging = false
    this.#unsettled = undefined
    this.#mayBeChanged = false
  }

  #prior(prior: RollPrior): RollPrior {
    const kept = this.#keptCaliper
    if (kept === undefined) return prior
    const { caliperM, sdM, rollM } = kept
    return { ...prior, caliperM, caliperSdM: sdM, rollM, covM2: { caliperOffset: 0, caliperSlope: 0, offsetSlope: 0 } }
  }

  #watchDeparture(tMs: number, webM: number, context: RollContext): RollChange | undefined {
    const deviation = this.estimator.deviation
    if (deviation === undefined || context.isInCycle) return undefined
    const lastedMs = tMs - deviation.sinceTMs
    if (context.isStanding) {
      if (lastedMs < STANDING_MS) return undefined
      this.change(tMs, webM)
      return 'by_hand'
    }
    const isFar = Math.abs(deviation.byM) > Math.max(FAR_M, FAR_SHARE * deviation.meanM)
    const isSettled = this.#unsettled === undefined
    if (lastedMs < (isSettled ? (isFar && !context.isDue ? FAR_MS : RUNNING_MS) : UNSETTLED_MS)) return undefined
    if (deviation.count < 3) return undefined
    // A preset comes to the roll's own diameter over turns; else only what falls like a roll is one.
    const { filter } = this.estimator
    const mayConverge = !isSettled && !this.#mayBeChanged
    if (!mayConverge && filter !== undefined && likeness(deviation, filter.caliperM) === 'no_roll') return undefined
    if (this.#mayBeChanged && isFar) {
      this.change(tMs, webM)
      return 'by_hand'
    }
    this.restart(tMs, webM)
    if (mayConverge) {
      this.#isConverging = true
      this.#keptCaliper = undefined
      this.#unsettled = { tMs, webM }
    }
    return 'restarted'
  }

  /** Begins the estimate anew on the same roll and keeps the caliper with a little less trust. */
  restart(tMs: number, webM: number): void {
    const filter = this.estimator.filter
    const kept =
      filter === undefined
        ? this.#keptCaliper
        : {
            caliperM: filter.caliperM,
            sdM: Math.max(filter.caliperSdM, RESTART_CALIPER_SD_SHARE * filter.caliperM),
            rollM: filter.rollM,
          }
    const changedTMs = this.#changedTMs
    const changedWebM = this.#changedWebM
    const unsettled = this.#unsettled
    this.change(tMs, webM)
    this.#changedTMs = changedTMs
    this.#changedWebM = changedWebM
    this.#unsettled = unsettled
    this.#keptCaliper = kept
  }

  /** After a gap anything may have happened: departed readings count soon. */
  unsettle(webSdM: number, tMs: number, webM: number): void {
    this.estimator.blur(webSdM)
    this.#speeds.clear()
    this.#unsettled = { tMs, webM }
    this.#mayBeChanged = true
  }

  at(webM: number): RollFilter | undefined {
    return this.estimator.at(webM)
  }

  snapshot(): RunningRollState {
    return {
      estimator: this.estimator.snapshot(),
      speeds: this.#speeds.snapshot(),
      pending: this.#pending ?? null,
      readingPeriodS: this.#readingPeriodS,
      lastReportMs: this.#lastReportMs ?? null,
      lastHeldMs: this.#lastHeldMs,
      changedTMs: this.#changedTMs ?? null,
      changedWebM: this.#changedWebM,
      unsettled: this.#unsettled ?? null,
      standsSinceMs: this.#standsSinceMs ?? null,
      apartSinceMs: this.#apartSinceMs ?? null,
      heldFromMs: this.#heldFromMs ?? null,
      lastStepMs: this.#lastStepMs ?? null,
      mayBeChanged: this.#mayBeChanged,
      isConverging: this.#isConverging,
      keptCaliper: this.#keptCaliper ?? null,
      old: this.#old.snapshot(),
    }
  }

  restore(state: RunningRollState): void {
    this.estimator.restore(state.estimator)
    this.#speeds.restore(state.speeds)
    this.#pending = state.pending ?? undefined
    this.#readingPeriodS = state.readingPeriodS
    this.#lastReportMs = state.lastReportMs ?? undefined
    this.#lastHeldMs = state.lastHeldMs
    this.#changedTMs = state.changedTMs ?? undefined
    this.#changedWebM = state.changedWebM
    this.#unsettled = state.unsettled ?? undefined
    this.#standsSinceMs = state.standsSinceMs ?? undefined
    this.#apartSinceMs = state.apartSinceMs ?? undefined
    this.#heldFromMs = state.heldFromMs ?? undefined
    this.#lastStepMs = state.lastStepMs ?? undefined
    this.#mayBeChanged = state.mayBeChanged
    this.#isConverging = state.isConverging
    this.#keptCaliper = state.keptCaliper ?? undefined
    this.#old.restore(state.old)
  }
}

/** What to expect of a roll before it was seen: as learned of its material and of its position's sensor. */
export function rollPrior(learned: LearnedSplicer, rollData: RollData, spindle: string | undefined): RollPrior {
  const { material, labelM, coreM } = rollData
  return { ...expectRoll(learned.rolls, spindle ?? '', material, labelM, learned.tMs), coreM }
}
