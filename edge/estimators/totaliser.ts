/**
 * A totaliser beside the line speed: it puts right what the speed's integral misses. Pure, O(1).
 *
 * Metres stay those that the line speed integrates (recording contract), so the totaliser is scaled by k = ∫v dt ÷ ΔT,
 * learned by a scalar Kalman filter over stretches in which the reported speed held. Within its own resolution the
 * integral is left alone; beyond it, in ramps between slow polls and in gaps, the totaliser is right:
 *
 *   missing = k·ΔT − ∫v dt   since both last agreed
 *
 * It may wrap at a power of ten or be set to zero at any time (common practice, no source).
 */

/** Speed and totaliser agree before anything was learned: one standard deviation (trade notes: a tach reads a per cent off). */
const SCALE_SD = 0.02
const FAR_SDS = 4
/** The scale is measured over this much web at constant speed, m, and this often its resolution. */
const STRETCH_M = 50
const STRETCH_STEPS = 50
/** The reported speed holds within this. */
const HELD_SHARE = 0.02
/** Stamps of the two tags differ by up to this, s (trade notes: many servers stamp on a grid of their own). */
const STAMP_S = 0.2
/** Resolution until steps were seen, m. */
const STEP_START_M = 1
/** A step down is a wrap where the web since then fits within this share, else a reset. */
const WRAP_SHARE = 0.3
/** So often both have to agree before a gap is bridged by it. */
const TRUSTED_AFTER = 2

export interface TotaliserState {
  lastM: number | null
  /** The integral of the speed when the totaliser last spoke, m. */
  integralM: number
  missingM: number
  sinceAgreedM: number
  stepM: number
  scale: number
  scaleVar: number
  stretches: number
  stretchM: number
  stretchIntegralM: number
  stretchMps: number | null
}

export class Totaliser {
  #s: TotaliserState = {
    lastM: null,
    integralM: 0,
    missingM: 0,
    sinceAgreedM: 0,
    stepM: STEP_START_M,
    scale: 1,
    scaleVar: SCALE_SD ** 2,
    stretches: 0,
    stretchM: 0,
    stretchIntegralM: 0,
    stretchMps: null,
  }

  /** It was seen to count the web that the speed integrates. */
  get isTrusted(): boolean {
    return this.#s.stretches >= TRUSTED_AFTER && this.#s.lastM !== null
  }

  /**
   * A report.
   * @param integralM - integral of the line speed up to the report's time, m.
   * @param mps - the line speed that holds, m/s.
   * @returns web to add to the integral, m; `isLost` where it began anew and says nothing of the web since its last report.
   */
  report(lengthM: number, integralM: number, mps: number): { addM: number; isLost: boolean } {
    const s = this.#s
    const beforeM = s.lastM
    const integratedM = integralM - s.integralM
    s.lastM = lengthM
    s.integralM = integralM
    if (beforeM === null) return { addM: 0, isLost: false }
    const countedM = this.#counted(beforeM, lengthM, integratedM)
    if (countedM === undefined) {
      this.#beginStretch(mps)
      s.missingM = 0
      s.sinceAgreedM = 0
      return { addM: 0, isLost: true }
    }
    if (countedM > 1e-6 && countedM < s.stepM) s.stepM = countedM
    this.#learnScale(countedM, integratedM, mps)
    if (s.stretches < 1) return { addM: 0, isLost: false }
    s.missingM += s.scale * countedM - integratedM
    s.sinceAgreedM += countedM
    const within = Math.max(s.stepM, STAMP_S * mps)
    if (Math.abs(s.missingM) <= within) {
      // At constant speed a difference that stays small is the scale's, not web that was missed.
      if (s.sinceAgreedM > Math.max(2 * within, STRETCH_M / 2)) {
        s.missingM = 0
        s.sinceAgreedM = 0
      }
      return { addM: 0, isLost: false }
    }
    const addM = s.missingM
    s.missingM = 0
    s.sinceAgreedM = 0
    this.#beginStretch(mps)
    return { addM, isLost: false }
  }

  #counted(beforeM: number, lengthM: number, integratedM: number): number | undefined {
    const byM = lengthM - beforeM
    if (byM >= 0) return byM
    const wrapped = byM + 10 ** Math.ceil(Math.log10(Math.max(1, beforeM)))
    const fits = Math.abs(wrapped - integratedM) <= Math.max(WRAP_SHARE * integratedM, this.#s.stepM)
    return fits ? wrapped : undefined
  }

  #beginStretch(mps: number): void {
    this.#s.stretchM = 0
    this.#s.stretchIntegralM = 0
    this.#s.stretchMps = mps
  }

  #learnScale(countedM: number, integratedM: number, mps: number): void {
    const s = this.#s
    if (s.stretchMps === null || Math.abs(mps - s.stretchMps) > HELD_SHARE * s.stretchMps) {
      this.#beginStretch(mps)
      return
    }
    s.stretchM += countedM
    s.stretchIntegralM += integratedM
    if (s.stretchM < Math.max(STRETCH_M, STRETCH_STEPS * s.stepM)) return
    const seen = s.stretchIntegralM / s.stretchM
    const seenVar = (Math.max(s.stepM, STAMP_S * mps) / s.stretchM) ** 2
    this.#beginStretch(mps)
    // What is far off was a ramp that no report of the speed has told of yet, or is no totaliser of this web.
    if (Math.abs(seen - s.scale) > FAR_SDS * Math.sqrt(s.scaleVar + seenVar)) return
    const gain = s.scaleVar / (s.scaleVar + seenVar)
    s.scale += gain * (seen - s.scale)
    s.scaleVar *= 1 - gain
    s.stretches += 1
  }

  snapshot(): TotaliserState {
    return { ...this.#s }
  }

  restore(state: TotaliserState): void {
    this.#s = { ...state }
  }
}
