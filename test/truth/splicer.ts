/**
 * The splicer's own program: when to fill, when to slow the line, when to start the cycle, and the cycle's steps.
 * It knows no more than a PLC does: its filtered diameter reading, settings, ready, speeds and the carriage.
 */
import type { UnwindDemand } from './drives.ts'
import { randomStream } from './random.ts'
import { diameterOverM } from './roll.ts'
import { capacityM, cycleSpeedMps, mps, type Scenario, type SpliceEvent, settingsAt } from './scenario.ts'

export type SplicerStep = 'idle' | 'filling' | 'slowing' | 'stopped' | 'starting' | 'refilling'

export interface SplicerInputs {
  tMs: number
  readingMm: number
  /** Web until the start, where the diameter does not tell, m. */
  toStartM: number | undefined
  isReady: boolean
  lineMps: number
  unwindMps: number
  storedM: number
  event: SpliceEvent | undefined
}

/** What the plant has to do now. */
export type SplicerCommand =
  | 'cycle_started'
  | 'transfer'
  | 'back_at_speed'
  | 'line_stopped'
  | 'cycle_ended'
  | 'slow_line'
  | 'stop_line'
  | 'release_line'

/** A press of the button comes at this much above the splice diameter, mm. */
export const EARLY_MM = 40
/** Share of the capacity inside which the carriage counts as being back. */
const BACK_SHARE = 0.05
/** Where in the stop the web is handed over; how long before an abort the web has stood, s; how long the fault stays, s. */
const TRANSFER_SHARE = 0.6
const ABORT_S = 0.4
const FAULT_S = 3
const PASTE_TO_CUT_S = 0.3
const SLOWEST_CYCLE_MPS = 0.15

export class Splicer {
  step: SplicerStep = 'idle'
  count = 0
  /** Set until the cycle ended: the cycle in hand was reset without a transfer. */
  isAborting = false
  faultUntilMs = 0
  /** How long this cycle's stop lasts, s, and whether the web was handed over. */
  stopForS = 0
  hasTransferred = false
  readonly fillMm: number
  readonly #s: Scenario
  readonly #runningM: number
  #fillM: number
  readonly #slowMm: number
  readonly #slowWebM: number
  readonly #fillWebM: number
  readonly #random
  #pendingMs: number | undefined
  #stepSinceMs = 0
  #abortedRoll = -1
  #isLineSlowed = false

  constructor(s: Scenario) {
    this.#s = s
    const capacity = capacityM(s)
    this.#runningM = capacity * (s.bufferMode === 'rides_full' ? s.fillShare : s.runningShare)
    this.#fillM = capacity * s.fillShare
    this.#random = randomStream(s.seed, 'stop')
    // Presets, set up on the label's caliper: the fill ends, and the line is down at its splice speed, just in time.
    const at = (webM: number): number => diameterOverM(s.spliceMm / 1000, webM, s.caliperUm * 1e-6) * 1000
    const v = mps(s.speedMpm)
    const slow = cycleSpeedMps(s)
    const slowWebM = slow < v ? (v * v - slow * slow) / (2 * s.lineRampMps2) + 3 * slow : 0
    this.#slowWebM = slowWebM
    const fillWebM = ((this.#fillM - this.#runningM) * (1 + s.overspeed)) / s.overspeed + 6 * v
    this.#fillWebM = s.method === 'zero_speed' && s.bufferMode === 'fill_before' ? fillWebM + slowWebM : 0
    this.#slowMm = slowWebM > 0 ? at(slowWebM) : 0
    this.fillMm = s.method === 'zero_speed' && s.bufferMode === 'fill_before' ? at(fillWebM + slowWebM) : 0
  }

  get isActive(): boolean {
    return this.step === 'slowing' || this.step === 'stopped' || this.step === 'starting'
  }

  demand(): UnwindDemand {
    const filling = this.step === 'filling' || (this.step === 'refilling' && this.isAborting)
    const storedTargetM = filling ? this.#fillM : this.#runningM
    if (this.#s.method !== 'zero_speed') return { kind: 'follow', storedTargetM }
    if (this.step === 'slowing' || this.step === 'stopped') return { kind: 'stop', storedTargetM }
    return { kind: this.step === 'starting' ? 'start' : 'follow', storedTargetM }
  }

  /** The roll was changed by hand: nothing is pending. */
  reset(tMs: number): void {
    this.#pendingMs = undefined
    this.isAborting = false
    this.#go('refilling', tMs)
    this.#isLineSlowed = false
  }

  scan(i: SplicerInputs, roll: number, command: (c: SplicerCommand) => void): void {
    const s = this.#s
    const heldS = (i.tMs - this.#stepSinceMs) / 1000
    if (this.step === 'idle' || this.step === 'filling' || this.step === 'refilling') this.#watch(i, roll, command)
    else if (s.method === 'flying') {
      if (!this.hasTransferred && heldS >= PASTE_TO_CUT_S / 2) this.#transfer(command)
      if (heldS >= PASTE_TO_CUT_S) this.#back(i, command)
    } else if (this.step === 'slowing' && i.unwindMps <= 0) this.#stop(i, roll)
    else if (this.step === 'stopped') {
      if (this.isAborting) {
        if (heldS >= ABORT_S) this.#start(i, command)
        return
      }
      if (!this.hasTransferred && heldS >= TRANSFER_SHARE * this.stopForS) this.#transfer(command)
      if (heldS >= this.stopForS) this.#start(i, command)
    } else if (this.step === 'starting' && s.method === 'zero_speed' && i.lineMps < 1 / 60) {
      // The line was stopped meanwhile: there is no speed to come back to.
      this.#go('refilling', i.tMs)
      command('line_stopped')
    } else if (this.step === 'starting' && i.unwindMps >= i.lineMps && i.lineMps > 0) {
      const isUp = s.method !== 'stopped' || i.lineMps >= 0.98 * mps(s.speedMpm)
      if (isUp) this.#back(i, command)
    }
  }

  #watch(i: SplicerInputs, roll: number, command: (c: SplicerCommand) => void): void {
    const s = this.#s
    const { spliceMm, fillShare } = settingsAt(s, roll)
    // Who sets the splice diameter anew moves what is reckoned from it.
    const movedMm = spliceMm - s.spliceMm
    this.#fillM = capacityM(s) * fillShare
    const kind = i.event?.kind
    const isArmed = i.isReady && kind !== 'ran_out' && i.lineMps > SLOWEST_CYCLE_MPS
    if (this.#pendingMs !== undefined) {
      if (i.tMs >= this.#pendingMs) this.#begin(i, command)
      return
    }
    if (
      this.step === 'refilling' &&
      !this.isAborting &&
      Math.abs(i.storedM - this.#runningM) <= BACK_SHARE * capacityM(s)
    ) {
      this.#go('idle', i.tMs)
      command('cycle_ended')
      if (this.#isLineSlowed) command('release_line')
      this.#isLineSlowed = false
    }
    if (!isArmed) return
    // Who presses the button early has the buffer filled first.
    const earlyMm = kind === 'manual_early' ? EARLY_MM : 0
    const startMm = spliceMm + earlyMm
    const mayRetry = !this.isAborting || (i.storedM >= 0.9 * this.#fillM && i.tMs > this.faultUntilMs + 1000)
    const isWithin = (webM: number, mm: number): boolean =>
      i.toStartM === undefined ? i.readingMm <= mm : i.toStartM <= webM
    if (isWithin(0, startMm) && mayRetry) {
      this.#pendingMs = i.tMs + s.triggerDelayS * 1000
      return
    }
    if (
      this.#slowMm > 0 &&
      !this.#isLineSlowed &&
      isWithin(this.#slowWebM, this.#slowMm + movedMm) &&
      this.step !== 'refilling'
    ) {
      this.#isLineSlowed = true
      command('slow_line')
    }
    if (this.step === 'idle' && isWithin(this.#fillWebM, this.fillMm + movedMm + earlyMm) && kind !== 'buffer_empty')
      this.#go('filling', i.tMs)
  }

  #begin(i: SplicerInputs, command: (c: SplicerCommand) => void): void {
    this.#pendingMs = undefined
    this.hasTransferred = false
    this.isAborting = false
    this.#go('slowing', i.tMs)
    command('cycle_started')
    if (this.#s.method === 'stopped') command('stop_line')
  }

  #stop(i: SplicerInputs, roll: number): void {
    const s = this.#s
    const kind = i.event?.kind
    this.isAborting = kind === 'aborted' && this.#abortedRoll !== roll
    const factor = kind === 'cycle_too_slow' ? 3 : kind === 'slow_stop' ? 1.6 : 1
    const usual = s.method === 'stopped' ? s.joinS : settingsAt(s, roll).stopS
    this.stopForS = usual * factor * Math.max(0.5, 1 + s.stopScatter * this.#random.normal())
    if (this.isAborting) {
      this.#abortedRoll = roll
      this.faultUntilMs = i.tMs + (ABORT_S + FAULT_S) * 1000
    }
    this.#go('stopped', i.tMs)
  }

  #transfer(command: (c: SplicerCommand) => void): void {
    this.hasTransferred = true
    this.count++
    command('transfer')
  }

  #start(i: SplicerInputs, command: (c: SplicerCommand) => void): void {
    this.#go('starting', i.tMs)
    if (this.#s.method === 'stopped') command('release_line')
  }

  #back(i: SplicerInputs, command: (c: SplicerCommand) => void): void {
    this.#go('refilling', i.tMs)
    command('back_at_speed')
    if (this.#s.method === 'zero_speed') return
    this.#go('idle', i.tMs)
    command('cycle_ended')
    if (this.#isLineSlowed) command('release_line')
    this.#isLineSlowed = false
  }

  #go(step: SplicerStep, tMs: number): void {
    this.step = step
    this.#stepSinceMs = tMs
  }
}
