/**
 * A splice made while the line stands: the roll is changed and the webs are joined by hand or by a splicer without a buffer. Pure.
 *
 * A roll changed on a planned stop is no splice (recording contract): the old roll has to be due, or the splicer's signal seen.
 */
import { asPlainData } from '../plain-data.ts'
import { type Cycle, type CycleChange, type CycleInput, type CycleMachine, newCycle } from './cycle.ts'
import { decideTransfer, type TransferEvidence } from './transfer.ts'

/** While the line stays this near to its mean it has not begun to slow. */
const STEADY_SHARE = 0.007
const MEAN_STEPS = 30
/** A lower speed that held for so many steps of 100 ms is the running speed from then on. */
const LOWER_STEPS = 100
/**
 * The ramp is read from its first speed below the running one down to this share of it: its foot may be rounded. What is polled
 * slowly may show nothing else between the two: then a lower one has to do.
 */
const RAMP_TO_SHARE = 0.4
const RAMP_TO_LEAST_SHARE = 0.1
/** What is polled slowly began to slow at most so long before the last steady step, ms. */
const POLLED_MS = 1100
/** The line counts as run up again at this share of its speed before the stop. */
const BACK_SHARE = 0.9
/** A stop within so many seconds of web of the trigger was made for the roll (common practice, no source). */
const DUE_S = 10

/** This near to its core a roll has no web left, m. */
const BARE_CORE_M = 3e-3

interface State {
  /** Last moment at the running speed, and that speed. */
  slowedTMs: number | null
  runningMps: number
  /** A lower speed that the line may be settling at, and for how many steps it held. */
  lowerMps: number
  lowerSteps: number
  /** The ramp down: its first speed below the running one and a later one; null while the line runs steadily. */
  ramp: { fromTMs: number; fromMps: number; toTMs: number; toMps: number } | null
  wasDue: boolean
  /** The line's web and the roll's diameter at `slowedTMs`, m, and by how much a metre of web makes the roll smaller there. */
  slowedWebM: number
  slowedDiameterM: number | null
  fallPerM: number
  /** The diameter when the line stood, m. */
  storedDiameterM: number | null
  stoppedTMs: number | null
  signalSeen: boolean
  cycle: Cycle | null
  evidence: TransferEvidence
}

const fresh = (spindle: string | undefined): State => ({
  slowedTMs: null,
  runningMps: 0,
  lowerMps: 0,
  lowerSteps: 0,
  ramp: null,
  wasDue: false,
  slowedWebM: 0,
  slowedDiameterM: null,
  fallPerM: 0,
  storedDiameterM: null,
  stoppedTMs: null,
  signalSeen: false,
  cycle: null,
  evidence: { spindleBefore: spindle ?? null, spindleTMs: null, jumpTMs: null },
})

export class StoppedMachine implements CycleMachine {
  #s: State = fresh(undefined)

  get current(): Cycle | undefined {
    return this.#s.cycle ?? undefined
  }

  get isSplicing(): boolean {
    const { cycle, stoppedTMs, wasDue, signalSeen } = this.#s
    if (cycle !== null) return cycle.backTMs === null
    return stoppedTMs !== null && (wasDue || signalSeen)
  }

  /** The line began to slow for this joint where it should: what web is left once it stands is no sign of a roll that ran out. */
  hasSlowedInTime({ expectedM, overdueM }: CycleInput): boolean {
    const diameterM = this.#diameterAt(this.#rampBeganTMs())
    return this.#s.wasDue && diameterM !== null && diameterM > expectedM - overdueM
  }

  step(input: CycleInput): CycleChange {
    const s = this.#s
    const change: CycleChange = {}
    if (!input.isStanding && s.cycle === null) {
      this.#noteSpeed(input)
      s.wasDue =
        input.dueM !== undefined && input.dueM <= Math.max(2 * input.dueSdM, DUE_S * Math.max(s.runningMps, 0.1))
      s.storedDiameterM = input.diameterM ?? null
      s.stoppedTMs = null
      s.signalSeen = false
      s.evidence = { spindleBefore: input.spindle ?? s.evidence.spindleBefore, spindleTMs: null, jumpTMs: null }
      return change
    }
    if (s.cycle === null) this.#standing(input, change)
    else this.#running(s.cycle, input, change)
    return change
  }

  /** Follows the running speed without being led down by a slow ramp. */
  #noteSpeed(input: CycleInput): void {
    const s = this.#s
    const isSteady = Math.abs(input.lineMps - s.runningMps) <= STEADY_SHARE * s.runningMps
    const isFaster = input.lineMps > s.runningMps
    if (isSteady || isFaster) {
      s.runningMps = isSteady ? s.runningMps + (input.lineMps - s.runningMps) / MEAN_STEPS : input.lineMps
      s.slowedTMs = input.tMs
      s.slowedWebM = input.webM
      s.slowedDiameterM = input.diameterM ?? null
      s.lowerSteps = 0
      s.ramp = null
      return
    }
    this.#noteRamp(input)
    if (Math.abs(input.lineMps - s.lowerMps) <= STEADY_SHARE * s.lowerMps) s.lowerSteps += 1
    else {
      s.lowerMps = input.lineMps
      s.lowerSteps = 0
    }
    if (s.lowerSteps >= LOWER_STEPS) s.runningMps = s.lowerMps
  }

  #noteRamp({ tMs, lineMps, diameterAtM }: CycleInput): void {
    const s = this.#s
    if (s.ramp === null) {
      s.ramp = { fromTMs: tMs, fromMps: lineMps, toTMs: tMs, toMps: lineMps }
      // Asked while the old roll runs: once the line stands the reading may be another's.
      const [before, at] = [diameterAtM(s.slowedWebM - 1), diameterAtM(s.slowedWebM)]
      if (before !== undefined && at !== undefined) [s.slowedDiameterM, s.fallPerM] = [at, before - at]
    }
    const toShare = s.ramp.toMps === s.ramp.fromMps ? RAMP_TO_LEAST_SHARE : RAMP_TO_SHARE
    if (lineMps >= s.ramp.toMps || lineMps < toShare * s.runningMps) return
    s.ramp.toTMs = tMs
    s.ramp.toMps = lineMps
  }

  /** Where the ramp, drawn on backwards, meets the running speed: a speed polled once a second shows it up to a second late. */
  #rampBeganTMs(): number | null {
    const { slowedTMs, runningMps, ramp } = this.#s
    if (slowedTMs === null || ramp === null || ramp.toMps >= ramp.fromMps) return slowedTMs
    const msPerMps = (ramp.toTMs - ramp.fromTMs) / (ramp.fromMps - ramp.toMps)
    const beganTMs = ramp.fromTMs - (runningMps - ramp.fromMps) * msPerMps
    return Math.min(Math.max(beganTMs, slowedTMs - POLLED_MS), ramp.fromTMs)
  }

  #standing(input: CycleInput, change: CycleChange): void {
    const s = this.#s
    const beganTMs = this.#rampBeganTMs()
    s.stoppedTMs ??= input.tMs - 2000
    if (input.active === true) s.signalSeen = true
    decideTransfer(s.evidence, input)
    const transferTMs = s.evidence.spindleTMs ?? s.evidence.jumpTMs
    if (transferTMs === null || !(s.wasDue || s.signalSeen)) return
    // A roll that ran out was missed: what is threaded afterwards is no joint.
    const isAtCore = s.storedDiameterM !== null && s.storedDiameterM < input.coreM + BARE_CORE_M
    const ranOut = isAtCore && !this.hasSlowedInTime(input)
    if (ranOut && !s.signalSeen) return
    const cycle = newCycle(input, Math.round(beganTMs ?? s.stoppedTMs), {
      isProven: true,
      isLineStopped: true,
      lineMps: s.runningMps,
      diameterM: this.#diameterAt(beganTMs),
      minLineMps: 0,
      stopStartTMs: s.stoppedTMs,
      transferTMs: Math.round(transferTMs),
      transferWebM: input.webM,
    })
    s.cycle = cycle
    change.started = cycle
    change.transferred = cycle
  }

  #diameterAt(beganTMs: number | null): number | null {
    const { slowedTMs, slowedDiameterM, fallPerM, runningMps } = this.#s
    if (slowedTMs === null || beganTMs === null || slowedDiameterM === null) return slowedDiameterM
    return slowedDiameterM + (fallPerM * runningMps * (slowedTMs - beganTMs)) / 1000
  }

  #running(cycle: Cycle, input: CycleInput, change: CycleChange): void {
    if (!input.isStanding && cycle.stopEndTMs === null) {
      cycle.stopEndTMs = input.tMs
      cycle.stoppedS = (input.tMs - cycle.stopStartTMs!) / 1000
    }
    if (cycle.stopEndTMs === null || input.lineMps < BACK_SHARE * cycle.lineMps) {
      // A line that is run up to another speed is back after a minute all the same.
      if (cycle.stopEndTMs === null || input.tMs - cycle.stopEndTMs < 60_000) return
    }
    cycle.backTMs = input.tMs
    cycle.recoveredTMs = input.tMs
    change.ended = cycle
    this.#s = fresh(input.spindle)
  }

  snapshot(): unknown {
    return asPlainData(this.#s)
  }

  restore(state: unknown): void {
    this.#s = asPlainData(state) as State
  }
}
