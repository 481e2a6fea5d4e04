/**
 * Web taken by the line, as the integral of the line speed tag, which holds between its reports. Pure. A totaliser, where
 * there is one, puts right what the integral misses (totaliser.ts).
 *
 * "Metres" everywhere are metres as this tag integrates them, its scale error included (recording contract).
 */
import { Totaliser, type TotaliserState } from './totaliser.ts'

export interface WebLengthState {
  lengthM: number
  speedMps: number | null
  tMs: number | null
  lostAtMs: number | null
  lostMps: number
  addedM: number
  owedSdM: number
  totaliser: TotaliserState
}

/** While the speed was unknown the line may have run on or stood: a fifth of the web that it would have taken, as one standard deviation (common practice, no source). */
const GAP_SD_SHARE = 0.2
/** What a totaliser leaves open of a gap that it bridges, m: a step of its own and a stamp. */
const BRIDGED_SD_M = 1

export class WebLength {
  #lengthM = 0
  #speedMps: number | undefined
  #tMs: number | undefined
  #lostAtMs: number | undefined
  #lostMps = 0
  readonly #totaliser = new Totaliser()
  /** By the totaliser, beside the integral, m. */
  #addedM = 0
  /** Uncertainty of a gap that the totaliser is expected to bridge, m. */
  #owedSdM = 0

  /** The line speed that holds now, m/s; undefined where it has no value. */
  get speedMps(): number | undefined {
    return this.#speedMps
  }

  /** A report of the line speed at its own time. @returns the web's uncertainty from a gap that ends here, m. */
  report(speedMps: number, tMs: number): number {
    let gapSdM = 0
    if (this.#lostAtMs !== undefined) {
      const gapS = Math.max(0, (tMs - this.#lostAtMs) / 1000)
      this.#lengthM += ((this.#lostMps + speedMps) / 2) * gapS
      gapSdM = GAP_SD_SHARE * Math.max(this.#lostMps, speedMps) * gapS
      this.#lostAtMs = undefined
      this.#tMs = tMs
      if (this.#totaliser.isTrusted) {
        this.#owedSdM = gapSdM
        gapSdM = Math.min(gapSdM, BRIDGED_SD_M)
      }
    }
    if (this.#tMs !== undefined && tMs < this.#tMs) {
      // Live, a report comes a little after its own time: what was assumed since then is made good.
      this.#lengthM += ((speedMps - (this.#speedMps ?? speedMps)) * (this.#tMs - tMs)) / 1000
    } else {
      this.advance(tMs)
      this.#tMs = tMs
    }
    this.#speedMps = speedMps
    return gapSdM
  }

  /** A report of the totaliser. @returns the web's uncertainty where it can't bridge a gap after all, m. */
  count(totalM: number, tMs: number): number {
    const { addM, isLost } = this.#totaliser.report(totalM, this.atM(tMs) - this.#addedM, this.#speedMps ?? 0)
    this.#addedM += addM
    const sdM = isLost ? this.#owedSdM : 0
    this.#owedSdM = 0
    return sdM
  }

  /** The speed has no value from here on. */
  lose(tMs: number): void {
    if (this.#speedMps === undefined) return
    this.advance(tMs)
    this.#lostAtMs = this.#tMs
    this.#lostMps = this.#speedMps
    this.#speedMps = undefined
  }

  advance(tMs: number): void {
    if (this.#tMs === undefined || tMs <= this.#tMs) return
    if (this.#speedMps !== undefined) this.#lengthM += (this.#speedMps * (tMs - this.#tMs)) / 1000
    this.#tMs = tMs
  }

  /** Length at a time near the present, m. */
  atM(tMs: number): number {
    const lengthM = this.#lengthM + this.#addedM
    if (this.#tMs === undefined || this.#speedMps === undefined) return lengthM
    return lengthM + (this.#speedMps * (tMs - this.#tMs)) / 1000
  }

  snapshot(): WebLengthState {
    return {
      lengthM: this.#lengthM,
      speedMps: this.#speedMps ?? null,
      tMs: this.#tMs ?? null,
      lostAtMs: this.#lostAtMs ?? null,
      lostMps: this.#lostMps,
      addedM: this.#addedM,
      owedSdM: this.#owedSdM,
      totaliser: this.#totaliser.snapshot(),
    }
  }

  restore(state: WebLengthState): void {
    this.#lengthM = state.lengthM
    this.#speedMps = state.speedMps ?? undefined
    this.#tMs = state.tMs ?? undefined
    this.#lostAtMs = state.lostAtMs ?? undefined
    this.#lostMps = state.lostMps
    this.#addedM = state.addedM
    this.#owedSdM = state.owedSdM
    this.#totaliser.restore(state.totaliser)
  }
}
