/**
 * Where one unwind stands in its cycle: running, filling, splicing, refilling, standing. Pure.
 *
 * Puts the machines of this folder together: line, motion, fill, the splicer's own cycle, refill, missed.
 */
import type { BufferConfig, SplicerConfig } from '../config/config.ts'
import type { Strokes } from '../signals/strokes.ts'
import type { Cycle, CycleChange, CycleInput, CycleMachine } from './cycle.ts'
import { FillWatch } from './fill.ts'
import { FlyingMachine } from './flying.ts'
import { LineRun } from './line-run.ts'
import { AT_CORE_M, MissedWatch } from './missed.ts'
import { Motion } from './motion.ts'
import { BACK_SHARE, RefillWatch } from './refill.ts'
import { type SeenSlowDown, SlowDownWatch } from './slow-down.ts'
import { StoppedMachine } from './stopped.ts'
import { StrokeBalance } from './stroke-balance.ts'
import { ZeroSpeedMachine } from './zero-speed.ts'

export interface MotionInput {
  tMs: number
  lineMps: number
  setpointMps: number | undefined
  measuredUnwindMps: number | undefined
  storedM: number | undefined
  /** Phase by `splice_step`, where mapped. */
  step: string | undefined
}

/** What the machines need beside the motion: see `CycleInput`. */
export type CycleEvidence = Omit<CycleInput, 'tMs' | 'lineMps' | 'isStanding' | 'overspeed' | 'runningStoredM'> & {
  /** What refills usually take of the time by the data sheet. */
  usualRefillRatio: () => number
}

/** What the line's speed tag says now, m/s, and the web that it took up to a time, m. */
export interface LineWeb {
  readonly speedMps: number | undefined
  atM(tMs: number): number
}

export interface WatchChange extends CycleChange {
  /** A splice that should have come and did not, when. */
  missedTMs?: number
  /** It is told after the roll was changed: what turns now is another. */
  isRollGone?: boolean
  /** The buffer is back at its running position after the newest cycle. */
  recoveredTMs?: number
  /** How long a refill took, of the time by the data sheet; also where that was far too long. */
  refillRatio?: number
  /** Whether the line slowed down on purpose for the newest splice, and how. */
  slowDown?: SeenSlowDown
}

/** Span over which a fill shows as a slope, ms. */
export const FILL_SLOPE_MS = 1000

const SPLICING_STEPS = new Set(['slowing', 'stopped', 'starting'])

/** Whether the splicer's cycle runs by its own word: `splice_active`, or a step between slowing and starting. */
export function isActive(active: boolean | undefined, step: string | undefined): boolean | undefined {
  if (active === undefined && step === undefined) return undefined
  return active === true || (step !== undefined && SPLICING_STEPS.has(step))
}

export class CycleWatch {
  readonly motion = new Motion()
  readonly line = new LineRun()
  readonly #splicer: SplicerConfig
  readonly #buffer: BufferConfig | undefined
  readonly #machine: CycleMachine
  readonly #fill = new FillWatch()
  readonly #refill = new RefillWatch()
  readonly #missed = new MissedWatch()
  readonly #slowDown = new SlowDownWatch()
  readonly #strokes = new StrokeBalance()
  #isUnwindMeasured = false
  #isStanding = false
  /** The unwind is back at speed and the buffer on its way, before it is known whose web came back. */
  #isComingBack = false
  /** Of the cycle whose buffer was seen to be back: when the unwind was. */
  #returnedTMs: number | undefined
  #ranOut = false

  constructor(splicer: SplicerConfig, buffer: BufferConfig | undefined) {
    this.#splicer = splicer
    this.#buffer = buffer
    this.#machine =
      splicer.method === 'zero_speed'
        ? new ZeroSpeedMachine(this.motion, () => this.#isUnwindMeasured, {
            downMps2: splicer.decelerationMps2,
            upMps2: splicer.accelerationMps2,
          })
        : splicer.method === 'flying'
          ? new FlyingMachine()
          : new StoppedMachine()
  }

  /** A tag gives the unwind's surface speed. */
  get isUnwindMeasured(): boolean {
    return this.#isUnwindMeasured
  }

  get current(): Cycle | undefined {
    return this.#machine.current
  }

  get isSplicing(): boolean {
    return this.#machine.isSplicing
  }

  get isStanding(): boolean {
    return this.#isStanding
  }

  get isRefilling(): boolean {
    return this.#refill.isRunning || this.#isComingBack
  }

  get refill(): RefillWatch {
    return this.#refill
  }

  get isFilling(): boolean {
    return this.#fill.startedTMs !== undefined
  }

  /** The stored web has begun to grow towards a splice. */
  get isFillRising(): boolean {
    return this.#fill.isRising
  }

  /** The roll ran out and no other one was seen. */
  get isOut(): boolean {
    return this.#ranOut
  }

  /**
   * A report of the carriage, or of the unwind's surface speed where a tag gives it.
   * @param line - its speed as the tag says; @param storedM - by the newest report, m.
   */
  report(
    tMs: number,
    line: LineWeb,
    measuredMps: number | undefined,
    storedM: number | undefined,
    strokes: Strokes,
  ): void {
    const levelMps = strokes.levelMps(tMs, line.speedMps ?? 0)
    const isIndexed = strokes.isRunning(tMs)
    this.motion.strokeM = isIndexed ? (levelMps * strokes.wholeMs) / 1000 : 0
    this.motion.isResting = isIndexed && strokes.isResting
    if (measuredMps !== undefined) {
      this.motion.report(tMs, levelMps, measuredMps, this.#strokes.evenM ?? storedM, storedM)
    } else if (storedM !== undefined) {
      for (const even of this.#strokes.report(tMs, storedM, line.atM(tMs), levelMps, strokes)) {
        if (!this.#isUnwindMeasured) this.motion.report(even.tMs, levelMps, undefined, even.storedM, even.carriageM)
      }
    }
  }

  step(given: MotionInput, evidence: CycleEvidence): WatchChange {
    const { tMs, lineMps } = given
    const input = {
      ...given,
      storedM: given.storedM === undefined ? undefined : (this.#strokes.evenM ?? given.storedM),
    }
    this.#isUnwindMeasured = input.measuredUnwindMps !== undefined
    this.motion.noteLine(lineMps)
    this.line.step(tMs, lineMps, input.setpointMps)
    this.#isStanding = this.line.isStanding(tMs)
    this.#stepFill(input, evidence.webM)
    if (this.#machine instanceof ZeroSpeedMachine) this.#machine.noteFill(this.#fill.startedTMs)
    const cycleInput: CycleInput = {
      ...evidence,
      tMs,
      lineMps,
      isStanding: this.#isStanding,
      overspeed: this.#splicer.overspeed,
      runningStoredM: this.#buffer?.runningStoredM,
    }
    const change: WatchChange = this.#machine.step(cycleInput)
    this.#noteFill(input, evidence.webM, change)
    this.#stepSlowDown(input, evidence.webM, change)
    this.#stepRefill(input, evidence.usualRefillRatio, change)
    this.#noteReturn(input.storedM)
    this.#stepMissed(cycleInput, change)
    return change
  }

  #stepFill({ tMs, lineMps, storedM, step }: MotionInput, webM: number): void {
    // While a cycle begins, the fill that led to it still counts.
    if (this.#buffer === undefined || this.#machine.isSplicing) return
    const rateMps = this.motion.storedSlopeMps(FILL_SLOPE_MS)
    const overspeedMps = this.#splicer.overspeed * lineMps
    this.#fill.step(
      { tMs, webM, storedM, rateMps, overspeedMps, step },
      this.#buffer,
      !this.#refill.isRunning && !this.#isStanding,
    )
  }

  /** What the cycle that just began had of its fill. */
  #noteFill({ tMs, lineMps }: MotionInput, webM: number, { started }: WatchChange): void {
    const { startedWebM, rateShare } = this.#fill
    if (started === undefined || started.fillStartedTMs === null || startedWebM === undefined) return
    const sinceM = (lineMps * (tMs - started.startedTMs)) / 1000
    started.fillLeadM = Math.max(0, webM - sinceM - startedWebM)
    if (rateShare !== undefined) started.fillRateShare = rateShare
  }

  #stepSlowDown({ tMs, lineMps }: MotionInput, webM: number, change: WatchChange): void {
    if (this.#splicer.method === 'stopped') return
    const { started, ended } = change
    const isFailed = ended !== undefined && (ended.lineFellTMs !== null || ended.transferTMs === null)
    if (this.#isStanding || isFailed) {
      this.#slowDown.forget()
      return
    }
    const heldMps = this.line.isHeld(tMs) ? this.line.runningMps : undefined
    const sinceM = started === undefined ? 0 : (lineMps * (tMs - started.startedTMs)) / 1000
    const seen =
      started === undefined
        ? this.#slowDown.step(tMs, lineMps, webM, heldMps)
        : this.#slowDown.cycleStarted(started.startedTMs, started.lineMps, webM - sinceM)
    if (seen !== undefined) change.slowDown = seen
  }

  #noteReturn(storedM: number | undefined): void {
    const { current } = this.#machine
    const isBack = current !== undefined && current.backTMs !== null && current.lineFellTMs === null
    const runningM = this.#buffer?.runningStoredM
    if (!isBack || runningM === undefined || storedM === undefined) this.#isComingBack = false
    else if (current.backTMs === this.#returnedTMs) return
    else {
      this.#isComingBack = Math.abs(runningM - storedM) > BACK_SHARE * runningM
      if (!this.#isComingBack) this.#returnedTMs = current.backTMs ?? undefined
    }
  }

  #stepRefill(input: MotionInput, usualRatio: () => number, change: WatchChange): void {
    if (this.#buffer === undefined) return
    const ended = change.ended
    if (ended !== undefined && ended.backTMs !== null && ended.lineFellTMs === null && ended.resetTMs === null) {
      this.#refill.begin(
        ended.backTMs,
        this.#buffer,
        input.storedM,
        this.#splicer.overspeed * input.lineMps,
        usualRatio(),
      )
    }
    const end = this.#refill.step(input.tMs, this.#buffer, input.storedM, this.#isStanding)
    if (end === undefined) return
    change.refillRatio = end.ratio
    if (end.isInTime) change.recoveredTMs = end.recoveredTMs
  }

  #stepMissed(input: CycleInput, change: WatchChange): void {
    if (change.ranOut !== undefined) {
      this.#ranOut = true
      this.#missed.markReported()
    }
    if (change.started !== undefined) this.#missed.reset()
    // A cycle that failed before its transfer is the attempt: the same roll is not missed as well.
    if (change.ended !== undefined && change.ended.lineFellTMs !== null && change.ended.transferTMs === null) {
      this.#missed.markReported()
    }
    if (this.#machine.current !== undefined || change.ended !== undefined) return
    // Where the line stops for every joint, a stop past the setting is no miss: only an empty core is.
    const isAtCore = input.diameterM !== undefined && input.diameterM < input.coreM + AT_CORE_M
    if (this.#machine instanceof StoppedMachine && (!isAtCore || this.#machine.hasSlowedInTime(input))) return
    const missedTMs = this.#missed.step(input)
    if (missedTMs !== undefined) change.missedTMs = missedTMs
  }

  /** A roll is changed by hand. @returns when the line stopped for it with its splice due, ms: that splice was missed. */
  changedByHand(): number | undefined {
    return this.#splicer.method === 'stopped' ? undefined : this.#missed.changedByHand()
  }

  /** Another roll runs. */
  rollChanged(): void {
    this.#ranOut = false
    this.#missed.reset()
  }

  /** After a gap the motion before it says nothing. */
  forgetMotion(): void {
    this.motion.clear()
    this.#strokes.clear()
    const { current } = this
    if (current !== undefined && current.backTMs === null) current.hasGap = true
  }

  snapshot(): unknown {
    return {
      motion: this.motion.snapshot(),
      line: this.line.snapshot(),
      machine: this.#machine.snapshot(),
      fill: this.#fill.snapshot(),
      refill: this.#refill.snapshot(),
      missed: this.#missed.snapshot(),
      slowDown: this.#slowDown.snapshot(),
      strokes: this.#strokes.snapshot(),
      isUnwindMeasured: this.#isUnwindMeasured,
      isStanding: this.#isStanding,
      isComingBack: this.#isComingBack,
      returnedTMs: this.#returnedTMs ?? null,
      ranOut: this.#ranOut,
    }
  }

  restore(state: unknown): void {
    const s = state as {
      motion: Parameters<Motion['restore']>[0]
      line: Parameters<LineRun['restore']>[0]
      machine: unknown
      fill: Parameters<FillWatch['restore']>[0]
      refill: Parameters<RefillWatch['restore']>[0]
      missed: Parameters<MissedWatch['restore']>[0]
      slowDown: Parameters<SlowDownWatch['restore']>[0]
      strokes: Parameters<StrokeBalance['restore']>[0]
      isUnwindMeasured: boolean
      isStanding: boolean
      isComingBack: boolean
      returnedTMs: number | null
      ranOut: boolean
    }
    this.motion.restore(s.motion)
    this.line.restore(s.line)
    this.#machine.restore(s.machine)
    this.#fill.restore(s.fill)
    this.#refill.restore(s.refill)
    this.#missed.restore(s.missed)
    this.#slowDown.restore(s.slowDown)
    this.#strokes.restore(s.strokes)
    this.#isUnwindMeasured = s.isUnwindMeasured
    this.#isStanding = s.isStanding
    this.#isComingBack = s.isComingBack
    this.#returnedTMs = s.returnedTMs ?? undefined
    this.#ranOut = s.ranOut
  }
}
