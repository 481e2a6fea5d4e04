/**
 * The fill before a splice: the unwind outruns the line until the buffer holds what the cycle needs. Pure.
 */
import type { BufferConfig } from '../config/config.ts'
import { copyOf } from '../plain-data.ts'

/** Above the running position by this share of the way to the fill position the buffer is being filled. */
const RISEN_SHARE = 0.15
/** A fill's rate has to reach this share of what the overspeed gives. */
const RATE_SHARE = 0.25
/** It has to last, ms: a position loop wanders. */
const LAST_MS = 1000
/** Up to this share of the way no position loop holds the fill back: up to here its rate is the overspeed's. */
const STEEP_TO_SHARE = 0.6

interface Moment {
  tMs: number
  /** Taken by the line, m. */
  webM: number
}

export interface FillState {
  risingSince: Moment | null
  started: Moment | null
  /** Line web when the buffer had clearly risen, m; and the rate from there on, as a share of the line speed. */
  risenWebM: number | null
  rateShare: number | null
}

export interface FillInput extends Moment {
  storedM: number | undefined
  /** How fast the stored web grows, m/s. */
  rateMps: number | undefined
  overspeedMps: number
  step: string | undefined
}

const nothing = (): FillState => ({ risingSince: null, started: null, risenWebM: null, rateShare: null })

export class FillWatch {
  #s = nothing()

  /** @param mayFill - false while refilling and while the line stands. */
  step(input: FillInput, buffer: BufferConfig, mayFill: boolean): void {
    const { tMs, webM, storedM, rateMps, overspeedMps, step } = input
    if (buffer.mode !== 'fill_before' || !mayFill || storedM === undefined) {
      this.#s = nothing()
      return
    }
    const s = this.#s
    const riseM = buffer.fillStoredM - buffer.runningStoredM
    const isRising = rateMps !== undefined && rateMps > RATE_SHARE * overspeedMps
    const isAbove = storedM > buffer.runningStoredM + RISEN_SHARE * riseM
    if (isRising || step === 'filling') s.risingSince ??= { tMs, webM }
    else if (!isAbove) s.risingSince = null
    if (s.started === null) {
      const lasts = s.risingSince !== null && tMs - s.risingSince.tMs >= LAST_MS
      if (step === 'filling' || (lasts && isAbove)) s.started = s.risingSince ?? { tMs, webM }
    } else if (storedM < buffer.runningStoredM + 0.5 * RISEN_SHARE * riseM && !isRising && step !== 'filling') {
      s.started = null
    }
    if (s.started === null) {
      s.risenWebM = null
      s.rateShare = null
    } else if (s.risenWebM === null) {
      if (isAbove) s.risenWebM = webM
    } else if (s.rateShare === null && storedM > buffer.runningStoredM + STEEP_TO_SHARE * riseM) {
      const takenM = webM - s.risenWebM
      if (takenM > 0) s.rateShare = ((STEEP_TO_SHARE - RISEN_SHARE) * riseM) / takenM
    }
  }

  get startedTMs(): number | undefined {
    return this.#s.started?.tMs
  }

  /** Line web when the fill began, m. */
  get startedWebM(): number | undefined {
    return this.#s.started?.webM
  }

  /** The fill's rate as a share of the line speed, once it was seen. */
  get rateShare(): number | undefined {
    return this.#s.rateShare ?? undefined
  }

  /** The stored web grows, or has grown beyond where it wanders. */
  get isRising(): boolean {
    return this.#s.risingSince !== null
  }

  snapshot(): FillState {
    return copyOf(this.#s)
  }

  restore(state: FillState): void {
    this.#s = copyOf(state)
  }
}
