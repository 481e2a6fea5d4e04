/**
 * A zero-speed splicer's cycle: the unwind slows, stands and comes back while the line runs on from the buffer. Pure.
 *
 * Recognised from `splice_active` or `splice_step` where mapped, else from speed and carriage alone. An unwind that stops
 * without a splicer's signal at its core has run out; elsewhere it proves itself a splice only by a transfer.
 */
import { asPlainData } from '../plain-data.ts'
import { type Cycle, type CycleChange, type CycleInput, type CycleMachine, newCycle } from './cycle.ts'
import type { Ramps } from './model.ts'
import { known, type Motion, type MotionPoint, SLOPE_MS } from './motion.ts'
import { fallM, longestStop, lowestCarriageM, lowestM, noteExtremes, peakTMs } from './points.ts'
import { rampEnd } from './ramp-end.ts'
import { type ShapeInput, shapeOf, startOf } from './shape.ts'
import { MPS_PER_MPMIN } from './speeds.ts'
import { decideTransfer } from './transfer.ts'
import { idle, type ZeroSpeedSnapshot, type ZeroSpeedState } from './zero-speed-state.ts'

/** Slower than this the line does not run, and its unwind's slowing says nothing, m/s. */
const RUNNING_ABOVE_MPS = 3 * MPS_PER_MPMIN
/** Longest cycle that is followed, in steps of 100 ms. */
const LONGEST_STEPS = 900
/** After the line fell the cycle is followed so long: a transfer may still come, ms. */
const FOLLOW_AFTER_FALL_MS = 5000
/** Without any further sign a suspected start is dropped after so long, ms. */
const SUSPECT_MS = 8000

/** So much before its start a cycle's points tell its level and how round the ramp begins, ms. */
const BEFORE_MS = 600
/** A fall or rise of the carriage counts beyond so many standard deviations of its noise; highest and lowest are chosen. */
const NOISE_SDS = 6
/** Three standard deviations of a slope over five reports in 0.4 s: each is 3.2 times the reports' own, per second. */
const SLOPE_SDS = 10
/** What an indexed line takes less as it stops is not known before its next stroke: a fall has to be clear beyond this share of one. */
const STROKE_SHARE = 0.25
/** A turret blinds the sensor for 10 to 30 s (trade notes), s. */
const HIDDEN_S = 35
/** A spindle's report speaks of now for so long, ms; one that reports on change is silent while it stands. */
const SPINDLE_FRESH_MS = 5000

export class ZeroSpeedMachine implements CycleMachine {
  readonly #motion: Motion
  readonly #isMeasured: () => boolean
  readonly #ramps: Ramps
  #s: ZeroSpeedState = idle()
  #fillStartedTMs: number | undefined
  #spindle: string | undefined
  /** The splicer's signal that the last cycle was recognised by has not gone yet: it does not begin another. */
  #isSpent = false
  /** How round the cycles before were (corners.ts). */
  #corners: readonly number[] = []

  /** @param isMeasured - whether the surface speed comes from a tag; @param ramps - by the data sheet. */
  constructor(motion: Motion, isMeasured: () => boolean, ramps: Ramps) {
    this.#motion = motion
    this.#isMeasured = isMeasured
    this.#ramps = ramps
  }

  #shapeInput(points: readonly MotionPoint[]): ShapeInput {
    return {
      points,
      isMeasured: this.#isMeasured(),
      periodMs: this.#motion.periodMs,
      resolutionM: this.#motion.resolutionM,
      noiseM: this.#motion.noiseM,
      strokeM: this.#motion.strokeM,
      ramps: this.#ramps,
      corners: this.#corners,
    }
  }

  get current(): Cycle | undefined {
    return this.#s.cycle ?? undefined
  }

  get isSplicing(): boolean {
    return this.#s.stage === 'cycle' || (this.#s.stage === 'suspect' && this.#s.signalSeenTMs !== null)
  }

  /** The fill that led to the next cycle began then. */
  noteFill(tMs: number | undefined): void {
    this.#fillStartedTMs = tMs
  }

  step(input: CycleInput): CycleChange {
    const change: CycleChange = {}
    const spindleBefore = this.#spindle
    if (input.spindle !== undefined) this.#spindle = input.spindle
    if (this.#s.stage === 'idle') this.#watch(input, spindleBefore)
    else if (this.#s.stage === 'suspect') this.#confirm(input, change)
    if (this.#s.stage === 'cycle') this.#follow(input, change)
    else if (this.#s.stage === 'settling') this.#settle(input, change)
    return change
  }

  #watch(input: CycleInput, spindleBefore: string | undefined): void {
    if (input.active !== true) this.#isSpent = false
    const signal = input.active === true && !this.#isSpent
    if (!signal && !this.#isSlowing(input)) return
    if (input.lineMps < RUNNING_ABOVE_MPS) return
    this.#s = {
      ...idle(),
      stage: 'suspect',
      suspectSinceTMs: input.tMs,
      signalSeenTMs: signal ? input.tMs : null,
      evidence: { spindleBefore: spindleBefore ?? input.spindle ?? null, spindleTMs: null, jumpTMs: null },
    }
  }

  /** The unwind is clearly slower than a line that holds its speed. */
  #isSlowing(input: CycleInput): boolean {
    const now = this.#motion.last
    if (now?.unwindMps === undefined || input.lineMps < RUNNING_ABOVE_MPS) return false
    if (!this.#motion.isLineSteady(10, 0.05)) return false
    if (this.#isMeasured()) {
      const before = this.#motion.beforeLast
      return now.unwindMps < 0.9 * now.lineMps && (before?.unwindMps ?? now.unwindMps) < 0.93 * now.lineMps
    }
    return now.unwindMps < 0.7 * now.lineMps && fallM(this.#motion.points) >= this.#clearFallM(input, 0.1)
  }

  #clearFallM(input: CycleInput, share: number): number {
    const { resolutionM, noiseM, strokeM } = this.#motion
    return Math.max(3 * resolutionM, NOISE_SDS * noiseM, STROKE_SHARE * strokeM, share * (input.needM ?? 2), 0.15)
  }

  #confirm(input: CycleInput, change: CycleChange): void {
    const s = this.#s
    if (input.active === true) s.signalSeenTMs = s.signalSeenTMs ?? input.tMs
    const now = this.#motion.last
    const unwind = now?.unwindMps
    const hasUnwind = unwind !== undefined
    const slowed = hasUnwind && unwind < 0.9 * input.lineMps
    const nearlyStopped =
      hasUnwind &&
      unwind < 0.3 * input.lineMps &&
      !this.#motion.isResting &&
      ((this.#isMeasured() && this.#motion.strokeM === 0) || fallM(this.#motion.points) >= this.#clearFallM(input, 0.2))
    const signal = s.signalSeenTMs !== null
    if (nearlyStopped || (signal && (slowed || !hasUnwind))) {
      // Half-way down is where both ends of the ramp can be told: a signal alone waits for it.
      if (!nearlyStopped && hasUnwind && unwind > 0.5 * input.lineMps) return
      this.#begin(input, change, signal)
      return
    }
    const over = input.tMs - s.suspectSinceTMs > SUSPECT_MS && !signal
    const signalGone = signal && input.active === false
    const backOnSpeed = !signal && !slowed && !this.#isSlowing(input)
    if (over || signalGone || backOnSpeed || input.isStanding) this.#s = idle()
  }

  #begin(input: CycleInput, change: CycleChange, signal: boolean): void {
    const s = this.#s
    const points = [...this.#motion.points]
    const startedTMs = Math.round(
      startOf(this.#shapeInput(points)) ?? peakTMs(points) ?? s.signalSeenTMs ?? s.suspectSinceTMs,
    )
    const at = points.findLast((point) => point.tMs <= startedTMs) ?? points[0]
    const margin = Math.max(3e-3, 4 * input.diameterSdM)
    const isAtCore =
      input.diameterM !== undefined &&
      input.diameterM < input.coreM + margin &&
      (!input.isSet || input.diameterM < input.settingM - margin)
    const cycle = newCycle(input, startedTMs, {
      isProven: signal || (input.active === undefined && !isAtCore),
      isAtCore,
      lineMps: at?.lineMps ?? input.lineMps,
      storedM: at?.storedM ?? null,
      lowStoredM: at?.storedM ?? null,
      fillStartedTMs: this.#fillStartedTMs ?? null,
    })
    s.stage = 'cycle'
    s.cycle = cycle
    s.points = points.filter((point) => point.tMs >= startedTMs - 2 * this.#motion.periodMs - BEFORE_MS)
    s.onSpeedSteps = 0
    if (cycle.isProven) change.started = cycle
  }

  #follow(input: CycleInput, change: CycleChange): void {
    const s = this.#s
    const cycle = s.cycle!
    const point = this.#motion.last
    const seenTMs = s.points[s.points.length - 1]?.tMs ?? 0
    const isNew = point !== undefined && point.tMs > seenTMs
    if (isNew) s.points.push(...this.#motion.points.filter(({ tMs }) => tMs > seenTMs))
    noteExtremes(cycle, input, point)
    if (!cycle.isProven && input.active === true) {
      cycle.isProven = true
      change.started = cycle
    }
    if (isNew) this.#noteStop(cycle, input, point)
    if (this.#noteTransfer(input)) this.#markTransfer(input, change)
    if (input.lineMps < 0.2 * cycle.lineMps) cycle.lineFellTMs ??= input.tMs
    if (cycle.lineFellTMs !== null) {
      const isDone = cycle.transferTMs !== null && cycle.stopEndTMs !== null
      if (isDone || input.tMs - cycle.lineFellTMs > FOLLOW_AFTER_FALL_MS) this.#end(input, change)
      return
    }
    if (this.#isBack(cycle, input, point, isNew)) {
      this.#finishShape(cycle, input)
      s.stage = 'settling'
      this.#settle(input, change)
    } else if (s.points.length > LONGEST_STEPS) this.#end(input, change)
  }

  /** A first idea of the stop while it lasts, by the ramps from where it is seen; the whole shape makes it exact. */
  #noteStop(cycle: Cycle, input: CycleInput, point: MotionPoint | undefined): void {
    if (point?.unwindMps === undefined) return
    // Against the speed at the start: the line itself may be falling.
    const share = point.unwindMps / Math.max(1e-6, cycle.lineMps)
    // A speed that is a slope of the stored web speaks of half its span ago.
    const seenMs = input.tMs - (this.#isMeasured() ? 0 : SLOPE_MS / 2)
    if (share < 0.05) {
      cycle.stopStartTMs ??= Math.round(seenMs + (1000 * point.unwindMps) / this.#ramps.downMps2)
      // An unwind that follows a falling line down does not stop for the splice again.
      if (cycle.lineFellTMs === null) cycle.stopEndTMs = null
    } else if (share > 0.1 && cycle.stopStartTMs !== null) {
      const endMs = seenMs - (1000 * point.unwindMps) / this.#ramps.upMps2
      cycle.stopEndTMs ??= Math.round(Math.max(cycle.stopStartTMs, endMs))
    }
  }

  #noteTransfer(input: CycleInput): boolean {
    if (this.#s.cycle!.transferTMs !== null) return false
    decideTransfer(this.#s.evidence, input)
    return this.#s.evidence.spindleTMs !== null || this.#s.evidence.jumpTMs !== null
  }

  #markTransfer(input: CycleInput, change: CycleChange): void {
    const { cycle, evidence } = this.#s
    if (cycle === null) return
    let tMs = evidence.spindleTMs ?? evidence.jumpTMs ?? input.tMs
    if (evidence.spindleTMs === null && cycle.stopStartTMs !== null) {
      const end = cycle.stopEndTMs ?? input.tMs
      if (tMs < cycle.stopStartTMs || tMs > end) tMs = (cycle.stopStartTMs + end) / 2
    }
    cycle.transferTMs = Math.round(tMs)
    cycle.transferWebM = input.webM - (input.lineMps * (input.tMs - tMs)) / 1000
    // The old roll stands from here on: web that leaves afterwards is the new one's.
    const at = this.#s.points.findLast((point) => point.tMs <= tMs)
    cycle.storedAtTransferM = at?.storedM ?? null
    if (!cycle.isProven) {
      cycle.isProven = true
      change.started = cycle
    }
    change.transferred = cycle
  }

  #isBack(cycle: Cycle, input: CycleInput, point: MotionPoint | undefined, isNew: boolean): boolean {
    if (point?.unwindMps === undefined) return input.active === false
    // A value that holds counts again with every period that it holds: a tag that reports on change is silent at speed.
    const counts = isNew || input.tMs - this.#s.countedTMs >= this.#motion.periodMs
    if (!counts) return false
    this.#s.countedTMs = input.tMs
    if (this.#isMeasured()) {
      this.#s.onSpeedSteps = point.unwindMps >= 0.98 * input.lineMps ? this.#s.onSpeedSteps + 1 : 0
      return this.#s.onSpeedSteps >= 2 || this.#fallsAgain(cycle, input, point.unwindMps, 0)
    }
    if (this.#spindleStands(input)) return false
    const shareNoise =
      Math.max(4 * this.#motion.resolutionM, SLOPE_SDS * this.#motion.noiseM) / Math.max(0.1, input.lineMps)
    if (this.#fallsAgain(cycle, input, point.unwindMps, shareNoise)) return true
    if (point.storedM === undefined || cycle.lowStoredM === null) return false
    const rise = point.storedM - cycle.lowStoredM
    const onSpeed = point.unwindMps >= 0.97 * input.lineMps
    this.#s.onSpeedSteps = onSpeed ? this.#s.onSpeedSteps + 1 : 0
    const clearM = Math.max(2 * this.#motion.resolutionM, NOISE_SDS * this.#motion.noiseM, 0.02 * (input.needM ?? 2))
    return rise >= clearM || this.#s.onSpeedSteps >= 8
  }

  /** Where the spindle's turns are at hand: an unwind that hardly turns is not back, whatever a noisy carriage says. */
  #spindleStands(input: CycleInput): boolean {
    const newest = this.#motion.spindle[this.#motion.spindle.length - 1]
    return newest !== undefined && input.tMs - newest.tMs <= SPINDLE_FRESH_MS && newest.surfaceMps < 0.1 * input.lineMps
  }

  /**
   * A buffer that holds more than its running position after the cycle is let down again: the unwind touches the line speed
   * and falls below it at once. What leaves the buffer from there on is no part of the cycle.
   * @param noise - of the share, beyond which it has fallen.
   */
  #fallsAgain(cycle: Cycle, input: CycleInput, unwindMps: number, noise: number): boolean {
    const s = this.#s
    if (cycle.stopEndTMs === null) return false
    const share = unwindMps / Math.max(1e-6, input.lineMps)
    s.bestShare = Math.max(s.bestShare, share)
    s.fallingSteps = share < s.bestShare - Math.max(0.04, noise) ? s.fallingSteps + 1 : 0
    return s.bestShare >= 0.85 && s.fallingSteps >= 2
  }

  #finishShape(cycle: Cycle, input: CycleInput): void {
    const measured = this.#isMeasured()
    const points = this.#s.points
    const shape = shapeOf(this.#shapeInput(points))
    if (shape.stopStartTMs !== undefined) cycle.stopStartTMs = Math.round(shape.stopStartTMs)
    if (shape.stopEndTMs !== undefined) cycle.stopEndTMs = Math.round(shape.stopEndTMs)
    // Where no tag gives the surface speed the spindle still tells when it stood.
    const stood = measured ? undefined : longestStop(this.#motion.spindle, cycle.startedTMs)
    if (stood !== undefined) {
      cycle.stopStartTMs = Math.round(stood.fromTMs)
      cycle.stopEndTMs = Math.round(stood.toTMs)
    } else {
      if (shape.leastStopS !== undefined) cycle.leastStoppedS = shape.leastStopS
      if (shape.corners !== undefined) this.#corners = shape.corners
      if (shape.plainStopS !== undefined) cycle.plainStoppedS = shape.plainStopS
    }
    const {
      backTMs,
      isFalling,
      storedM: atBack,
    } = rampEnd({
      points,
      isMeasured: measured,
      strokeM: this.#motion.strokeM,
      stopEndTMs: cycle.stopEndTMs,
      shapeBackTMs: shape.backTMs,
      tMs: input.tMs,
    })
    cycle.backTMs = Math.round(backTMs)
    if (cycle.stopStartTMs !== null && cycle.stopEndTMs !== null) {
      cycle.stoppedS = Math.max(0, (cycle.stopEndTMs - cycle.stopStartTMs) / 1000)
    }
    if (isFalling && atBack !== undefined) cycle.lowStoredM = lowestM(points, backTMs) ?? atBack
    const carriageM = lowestCarriageM(points, backTMs)
    if (this.#motion.strokeM > 0 && carriageM !== undefined) cycle.lowStoredM = carriageM
    if (cycle.storedM !== null && atBack !== undefined) cycle.webFromBufferM = Math.max(0, cycle.storedM - atBack)
  }

  /** After the unwind is back: did the new web take over, or did the old roll run on? */
  #settle(input: CycleInput, change: CycleChange): void {
    const cycle = this.#s.cycle!
    noteExtremes(cycle, input, undefined)
    if (this.#noteTransfer(input)) this.#markTransfer(input, change)
    if (cycle.transferTMs !== null) {
      this.#end(input, change)
      return
    }
    const sinceS = (input.tMs - cycle.backTMs!) / 1000
    if (input.lineMps < 0.2 * cycle.lineMps) {
      cycle.lineFellTMs ??= input.tMs
      // A turret that blinds the sensor hides whose web it was: the reading tells once it is back.
      const isTold = input.hasReading && (input.followsOldRoll || input.jump === undefined)
      if (isTold || sinceS >= HIDDEN_S) this.#end(input, change)
      return
    }
    const spindleUnchanged = input.spindle !== undefined && input.spindle === this.#s.evidence.spindleBefore
    if (sinceS >= 5 && input.hasReading && input.followsOldRoll && (spindleUnchanged || input.spindle === undefined)) {
      cycle.resetTMs = cycle.backTMs
      this.#end(input, change)
    } else if (sinceS >= HIDDEN_S) {
      // A reading that neither follows the old roll nor shows the new one: the cycle was complete, so it is taken as done.
      if (spindleUnchanged) cycle.resetTMs = cycle.backTMs
      else {
        this.#s.evidence.jumpTMs = cycle.stopEndTMs ?? cycle.backTMs
        this.#markTransfer(input, change)
      }
      this.#end(input, change)
    }
  }

  #end(input: CycleInput, change: CycleChange): void {
    const cycle = this.#s.cycle!
    const { lineFellTMs } = cycle
    if (lineFellTMs !== null && cycle.stoppedS === null && cycle.stopStartTMs !== null) {
      // From the line's fall on the unwind stands because the line does: that is no stop of the splicer's.
      const shape = shapeOf(this.#shapeInput(this.#s.points.filter(({ tMs }) => tMs <= lineFellTMs)))
      if (shape.stopStartTMs !== undefined) cycle.stopStartTMs = Math.round(shape.stopStartTMs)
      if (shape.stopEndTMs !== undefined) cycle.stopEndTMs = Math.round(shape.stopEndTMs)
      const endTMs = Math.min(cycle.stopEndTMs ?? input.tMs, lineFellTMs)
      cycle.stoppedS = Math.max(0, endTMs - cycle.stopStartTMs) / 1000
    }
    if (cycle.isProven) change.ended = cycle
    else if (cycle.isAtCore) change.ranOut = cycle
    this.#fillStartedTMs = undefined
    this.#isSpent = input.active === true
    this.#s = idle()
  }

  snapshot(): unknown {
    return asPlainData({
      s: this.#s,
      fill: this.#fillStartedTMs ?? null,
      spindle: this.#spindle ?? null,
      isSpent: this.#isSpent,
      corners: this.#corners,
    })
  }

  restore(state: unknown): void {
    const { s, fill, spindle, isSpent, corners } = state as ZeroSpeedSnapshot
    this.#s = { ...s, points: s.points.map(known) }
    this.#fillStartedTMs = fill ?? undefined
    this.#spindle = spindle ?? undefined
    this.#isSpent = isSpent
    this.#corners = corners
  }
}
