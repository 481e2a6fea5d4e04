/**
 * The PLC program of a zero-speed splicer: fill the festoon, stop the unwind, join, start, refill. It sees what a PLC
 * sees (its own diameter reading, the carriage, bits) and commands the unwind's surface speed.
 */
import { clamp, towards } from './drive.ts'
import type { Festoon } from './festoon.ts'
import { webBetweenM } from './roll.ts'

export type SplicerStep = 'idle' | 'filling' | 'slowing' | 'stopped' | 'starting' | 'refilling' | 'fault'
export type SplicerEvent = 'started' | 'transferred' | 'aborted' | 'recovered'

export interface ZeroSpeedMakeup {
  method: 'zero_speed'
  spliceDiameterM: number
  stopS: number
  decelerationMps2: number
  accelerationMps2: number
  /** Share of line speed by which the unwind may outrun the line. */
  overspeed: number
}

/** What the splicer sees at one scan. */
export interface SplicerView {
  dtS: number
  lineSpeedMps: number
  /** The line is at production speed or on its way. */
  isProducing: boolean
  isStanding: boolean
  /** The splicer's own reading of the running roll, m. */
  readingM: number
  labelCaliperM: number
  newRollReady: boolean
  isAuto: boolean
  /** Somebody pressed the button. */
  isPressed: boolean
  /** This cycle: how long the web stands, and whether it resets before the transfer. */
  stopS: number
  resets: boolean
}

/** The carriage's position loop, 1/s. */
const LOOP_GAIN = 0.5
/** The web counts as filled, or as recovered, when it is this near, m. */
const NEAR_M = 0.4
/** Tail of the position loop and a spare moment before the cycle, s. */
const FILL_SPARE_S = 6
/** When the tape is on and the new web takes over, as share of the stop. */
const TRANSFER_AT = 0.6
const FAULT_SHOWN_S = 4
/** How fast the drives can follow a line that stops in a hurry. */
const FOLLOW_MPS2 = 4
/** Thread and jog: the unwind may still turn this fast to bring the carriage back. */
const CREEP_MPS = 0.12

export class ZeroSpeedSplicer {
  readonly makeup: ZeroSpeedMakeup
  unwindSpeedMps: number
  private readonly festoon: Festoon
  private phase: Exclude<SplicerStep, 'fault'> = 'idle'
  private stoppedS = 0
  /** Fixed when the web stands: the transfer already belongs to the next roll's plan. */
  private stopS = 0
  private faultLeftS = 0
  private isManual = false
  private hasTransferred = false

  constructor(makeup: ZeroSpeedMakeup, festoon: Festoon, unwindSpeedMps: number) {
    this.makeup = makeup
    this.festoon = festoon
    this.unwindSpeedMps = unwindSpeedMps
  }

  get step(): SplicerStep {
    return this.faultLeftS > 0 ? 'fault' : this.phase
  }

  /** From the unwind beginning to slow until it is back at line speed. */
  get isActive(): boolean {
    return this.phase === 'slowing' || this.phase === 'stopped' || this.phase === 'starting'
  }

  get hasFault(): boolean {
    return this.faultLeftS > 0
  }

  scan(view: SplicerView): SplicerEvent | undefined {
    this.faultLeftS = Math.max(0, this.faultLeftS - view.dtS)
    if (this.isActive) return this.cycle(view)
    if (view.isPressed && view.isProducing) this.isManual = true
    // Fill and cycle belong to a producing line; after a stop the program begins anew.
    if (!view.isProducing && this.phase === 'filling') this.phase = 'idle'
    if (this.phase === 'idle' && view.isProducing && this.fillIsDue(view)) this.phase = 'filling'
    if (this.mayStart(view)) {
      this.phase = 'slowing'
      this.hasTransferred = false
      this.isManual = false
      return 'started'
    }
    const recovered = this.phase === 'refilling' && Math.abs(this.festoon.storedM - this.festoon.runningM) < NEAR_M
    if (recovered) this.phase = 'idle'
    this.follow(view, this.phase === 'filling' ? this.festoon.fillM : this.festoon.runningM)
    return recovered ? 'recovered' : undefined
  }

  /** The splice is over, however it went: the web is rethreaded by hand. */
  reset(): void {
    if (!this.isActive) this.phase = 'idle'
    this.isManual = false
    this.faultLeftS = 0
  }

  private mayStart(view: SplicerView): boolean {
    if (!view.isProducing || !view.newRollReady || !view.isAuto || this.hasFault) return false
    const isFull = this.festoon.storedM > this.festoon.fillM - NEAR_M
    if (this.isManual) return isFull
    return view.readingM <= this.makeup.spliceDiameterM
  }

  private fillIsDue(view: SplicerView): boolean {
    if (this.festoon.makeup.mode === 'rides_full') return false
    if (this.isManual) return true
    const fillM = Math.max(0, this.festoon.fillM - this.festoon.storedM)
    const fillS = fillM / (this.makeup.overspeed * Math.max(view.lineSpeedMps, 1)) + FILL_SPARE_S
    const leftM = webBetweenM(view.readingM, this.makeup.spliceDiameterM, view.labelCaliperM)
    // What goes into the festoon comes off the roll too.
    return leftM <= view.lineSpeedMps * fillS + fillM
  }

  private cycle(view: SplicerView): SplicerEvent | undefined {
    const { decelerationMps2, accelerationMps2 } = this.makeup
    if (this.phase === 'slowing') {
      this.unwindSpeedMps = towards(this.unwindSpeedMps, 0, decelerationMps2 * view.dtS)
      if (this.unwindSpeedMps === 0) {
        this.phase = 'stopped'
        this.stoppedS = 0
        this.stopS = view.stopS
      }
    } else if (this.phase === 'stopped') {
      return this.join(view)
    } else if (view.isStanding) {
      // The line tripped meanwhile: nothing to catch up with.
      this.unwindSpeedMps = 0
      this.phase = 'refilling'
    } else {
      this.unwindSpeedMps = towards(this.unwindSpeedMps, view.lineSpeedMps, accelerationMps2 * view.dtS)
      if (this.unwindSpeedMps === view.lineSpeedMps) this.phase = 'refilling'
    }
    return undefined
  }

  private join(view: SplicerView): SplicerEvent | undefined {
    this.stoppedS += view.dtS
    if (view.resets && this.stoppedS >= TRANSFER_AT * this.stopS) {
      this.phase = 'starting'
      this.faultLeftS = FAULT_SHOWN_S
      return 'aborted'
    }
    const transfersNow = !this.hasTransferred && this.stoppedS >= TRANSFER_AT * this.stopS
    if (transfersNow) this.hasTransferred = true
    if (this.stoppedS >= this.stopS) this.phase = 'starting'
    return transfersNow ? 'transferred' : undefined
  }

  /** Position loop: v_u = v + gain (S_wanted - S), held to the overspeed and to what the drive can do. */
  private follow(view: SplicerView, wantedM: number): void {
    const reach = view.isStanding ? 0 : Math.max(this.makeup.overspeed * view.lineSpeedMps, CREEP_MPS)
    const correction = clamp(LOOP_GAIN * (wantedM - this.festoon.storedM), -reach, reach)
    const wanted = Math.max(0, view.lineSpeedMps + correction)
    // Faster than the new roll can be driven it doesn't get; a stopping line it has to follow at once.
    const rate = wanted > this.unwindSpeedMps ? this.makeup.accelerationMps2 : FOLLOW_MPS2
    this.unwindSpeedMps = towards(this.unwindSpeedMps, wanted, rate * view.dtS)
  }
}
