/** The PLC program of a flying paster: spin the new roll up to web speed, paste, cut. The web never stops and there is no store. */
import { towards } from './drive.ts'
import { webBetweenM } from './roll.ts'
import type { SplicerEvent, SplicerStep, SplicerView } from './splicer.ts'

export interface FlyingMakeup {
  method: 'flying'
  spliceDiameterM: number
  /** From paste to cut, s. */
  pasteS: number
  /** How fast the new roll is spun up and the old one braked, m/s2. */
  spinMps2: number
}

/** The spin-up begins so long before the splice, beyond what the ramp needs, s. */
const SPIN_SPARE_S = 4
const FAULT_SHOWN_S = 4
/** A cycle that resets does so after this share of the paste. */
const RESET_AT = 0.5

export class FlyingPaster {
  readonly makeup: FlyingMakeup
  /** Surface speed of the running roll, m/s. */
  unwindSpeedMps: number
  /** Surface speed of the waiting roll, m/s. */
  waitingSpeedMps = 0
  isSpinning = false
  isPasting = false
  private pastedS = 0
  private faultLeftS = 0
  private isManual = false

  constructor(makeup: FlyingMakeup, unwindSpeedMps: number) {
    this.makeup = makeup
    this.unwindSpeedMps = unwindSpeedMps
  }

  get step(): SplicerStep {
    if (this.faultLeftS > 0) return 'fault'
    return this.isPasting ? 'starting' : 'idle'
  }

  get isActive(): boolean {
    return this.isPasting
  }

  get hasFault(): boolean {
    return this.faultLeftS > 0
  }

  scan(view: SplicerView): SplicerEvent | undefined {
    this.faultLeftS = Math.max(0, this.faultLeftS - view.dtS)
    this.unwindSpeedMps = view.lineSpeedMps
    if (view.isPressed && view.isProducing) this.isManual = true
    if (this.isPasting) return this.paste(view)
    this.isSpinning = view.isProducing && view.newRollReady && view.isAuto && !this.hasFault && this.spinIsDue(view)
    const wanted = this.isSpinning ? view.lineSpeedMps : 0
    this.waitingSpeedMps = towards(this.waitingSpeedMps, wanted, this.makeup.spinMps2 * view.dtS)
    const isAtSpeed = this.isSpinning && this.waitingSpeedMps === view.lineSpeedMps
    if (!isAtSpeed || !(this.isManual || view.readingM <= this.makeup.spliceDiameterM)) return undefined
    this.isPasting = true
    this.isManual = false
    this.pastedS = 0
    return 'started'
  }

  reset(): void {
    this.isPasting = false
    this.isManual = false
    this.faultLeftS = 0
  }

  private paste(view: SplicerView): SplicerEvent | undefined {
    this.waitingSpeedMps = view.lineSpeedMps
    this.pastedS += view.dtS
    if (view.resets && this.pastedS >= RESET_AT * this.makeup.pasteS) {
      this.isPasting = false
      this.faultLeftS = FAULT_SHOWN_S
      return 'aborted'
    }
    if (this.pastedS < this.makeup.pasteS) return undefined
    this.isPasting = false
    this.isSpinning = false
    // What waits from now on is the old roll, still turning until its brake has it.
    return 'transferred'
  }

  private spinIsDue(view: SplicerView): boolean {
    if (this.isManual) return true
    const leadS = view.lineSpeedMps / this.makeup.spinMps2 + SPIN_SPARE_S
    return webBetweenM(view.readingM, this.makeup.spliceDiameterM, view.labelCaliperM) <= view.lineSpeedMps * leadS
  }
}
