/**
 * Whether the line runs, stands or ramps, and at which speed to forecast. Pure.
 */
import { MPS_PER_MPMIN } from './speeds.ts'

/** The line stands when it was slower than 1 m/min for 2 s (recording contract). */
export const STANDING_BELOW_MPS = 1 * MPS_PER_MPMIN
const STANDING_AFTER_MS = 2000
/** A running speed counts where it held ± 2 % for 10 s (recording contract). */
const HELD_SHARE = 0.02
const HELD_FOR_MS = 10_000
/** Farther from the setpoint than this is not "at the setpoint" (recording contract). */
const OFF_SETPOINT_SHARE = 0.05
/** Time constant of the running speed's mean, s: long beside tach noise, short beside a roll. */
const MEAN_S = 3
/** A change faster than this share in one step is a new speed and not noise. */
const JUMP_SHARE = 0.03
/**
 * A speed is what the line usually runs at once it held for so long, ms; or where it is no slower than this share of what was
 * usual: a line that is threaded holds a speed, too.
 */
const USUAL_AFTER_MS = 60_000
const USUAL_SHARE = 0.5
/** Nearer to its mean than this the line neither ramps nor jumps. */
const STEADY_SHARE = 0.01

export interface LineRunState {
  slowSinceMs: number | null
  meanMps: number | null
  heldSinceMs: number | null
  heldMps: number | null
  hasMoved: boolean
  tagPerSetpoint: number
  lastMs: number | null
  runningMps: number | null
  usualMps: number | null
  isRising: boolean
}

export class LineRun {
  #slowSinceMs: number | undefined
  #meanMps: number | undefined
  #heldSinceMs: number | undefined
  #heldMps: number | undefined
  /** The speed was seen to change: before, nothing says that it ramps. */
  #hasMoved = false
  /** Line speed tag ÷ setpoint tag while at the setpoint: the forecast is in the scale of the line speed tag. */
  #tagPerSetpoint = 1
  #lastMs: number | undefined
  /** Last speed at which the line really ran, m/s: what a stop is measured against. */
  #runningMps: number | undefined
  /** The last of them at which it produced. */
  #usualMps: number | undefined
  /** When it last left a band of 2 %, it was upwards. */
  #isRising = false

  step(tMs: number, lineMps: number, setpointMps: number | undefined): void {
    this.#slowSinceMs = lineMps < STANDING_BELOW_MPS ? (this.#slowSinceMs ?? tMs) : undefined
    const dtS = this.#lastMs === undefined ? 0 : Math.min(1, Math.max(0, (tMs - this.#lastMs) / 1000))
    this.#lastMs = tMs
    const isJump = this.#meanMps === undefined || Math.abs(lineMps - this.#meanMps) > JUMP_SHARE * this.#meanMps
    if (this.#meanMps === undefined || isJump) {
      this.#meanMps = lineMps
    } else {
      this.#meanMps += (lineMps - this.#meanMps) * (1 - Math.exp(-dtS / MEAN_S))
    }
    if (this.#heldMps !== undefined && Math.abs(lineMps - this.#heldMps) > HELD_SHARE * this.#heldMps)
      this.#hasMoved = true
    if (this.#heldMps === undefined || Math.abs(lineMps - this.#heldMps) > HELD_SHARE * this.#heldMps) {
      this.#isRising = this.#heldMps !== undefined && lineMps > this.#heldMps
      this.#heldMps = lineMps
      this.#heldSinceMs = tMs
    }
    // The first moments of a ramp lie in the band too: they are not the running speed.
    const isSteady = Math.abs(lineMps - this.#meanMps) <= STEADY_SHARE * this.#meanMps && !isJump
    if (this.isHeld(tMs) && isSteady && lineMps > STANDING_BELOW_MPS) {
      this.#runningMps = this.#meanMps
      if (this.#isUsual(tMs)) this.#usualMps = this.#meanMps
      if (setpointMps !== undefined && setpointMps > STANDING_BELOW_MPS) {
        const ratio = this.#meanMps / setpointMps
        if (Math.abs(ratio - 1) < OFF_SETPOINT_SHARE) this.#tagPerSetpoint += (ratio - this.#tagPerSetpoint) * 0.01
      }
    }
  }

  isHeld(tMs: number): boolean {
    return this.#heldSinceMs !== undefined && tMs - this.#heldSinceMs >= HELD_FOR_MS
  }

  #isUsual(tMs: number): boolean {
    const [mean, usual] = [this.#meanMps ?? 0, this.#usualMps]
    return usual === undefined || mean > USUAL_SHARE * usual || tMs - this.#heldSinceMs! >= USUAL_AFTER_MS
  }

  isStanding(tMs: number): boolean {
    return this.#slowSinceMs !== undefined && tMs - this.#slowSinceMs >= STANDING_AFTER_MS
  }

  /** Since when the line is slower than 1 m/min, ms. */
  get slowSinceMs(): number | undefined {
    return this.#slowSinceMs
  }

  /** The last speed that held, m/s. */
  get runningMps(): number | undefined {
    return this.#runningMps
  }

  /**
   * Speed at which the line will take the web, m/s: the setpoint while the line ramps towards it, and without one what the
   * line usually runs at while it comes up to speed; else the running speed. Undefined while the line stands.
   */
  forecastMps(tMs: number, setpointMps: number | undefined): number | undefined {
    const mean = this.#meanMps
    if (mean === undefined || mean < STANDING_BELOW_MPS || this.isStanding(tMs)) return undefined
    if (setpointMps === undefined || setpointMps < STANDING_BELOW_MPS) {
      const isStarting = this.#isRising && this.#hasMoved && !this.isHeld(tMs)
      return isStarting ? Math.max(mean, this.#usualMps ?? mean) : mean
    }
    const target = setpointMps * this.#tagPerSetpoint
    const isOff = Math.abs(mean - target) > OFF_SETPOINT_SHARE * target
    return isOff && this.#hasMoved && !this.isHeld(tMs) ? target : mean
  }

  snapshot(): LineRunState {
    return {
      slowSinceMs: this.#slowSinceMs ?? null,
      meanMps: this.#meanMps ?? null,
      heldSinceMs: this.#heldSinceMs ?? null,
      heldMps: this.#heldMps ?? null,
      hasMoved: this.#hasMoved,
      tagPerSetpoint: this.#tagPerSetpoint,
      lastMs: this.#lastMs ?? null,
      runningMps: this.#runningMps ?? null,
      usualMps: this.#usualMps ?? null,
      isRising: this.#isRising,
    }
  }

  restore(state: LineRunState): void {
    this.#slowSinceMs = state.slowSinceMs ?? undefined
    this.#meanMps = state.meanMps ?? undefined
    this.#heldSinceMs = state.heldSinceMs ?? undefined
    this.#heldMps = state.heldMps ?? undefined
    this.#hasMoved = state.hasMoved
    this.#tagPerSetpoint = state.tagPerSetpoint
    this.#lastMs = state.lastMs ?? undefined
    this.#runningMps = state.runningMps ?? undefined
    this.#usualMps = state.usualMps ?? undefined
    this.#isRising = state.isRising
  }
}
