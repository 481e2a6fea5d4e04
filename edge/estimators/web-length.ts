/**
 * Web taken by the line, as the integral of the line speed tag, which holds between its reports. Pure.
 *
 * "Metres" everywhere are metres as this tag integrates them, its scale error included (recording contract).
 */
export interface WebLengthState {
  lengthM: number
  speedMps: number | null
  tMs: number | null
  lostAtMs: number | null
  lostMps: number
}

/** While the speed was unknown the line may have run on or stood: a fifth of the web that it would have taken, as one standard deviation (common practice, no source). */
const GAP_SD_SHARE = 0.2

export class WebLength {
  #lengthM = 0
  #speedMps: number | undefined
  #tMs: number | undefined
  #lostAtMs: number | undefined
  #lostMps = 0

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
    if (this.#tMs === undefined || this.#speedMps === undefined) return this.#lengthM
    return this.#lengthM + (this.#speedMps * (tMs - this.#tMs)) / 1000
  }

  snapshot(): WebLengthState {
    return {
      lengthM: this.#lengthM,
      speedMps: this.#speedMps ?? null,
      tMs: this.#tMs ?? null,
      lostAtMs: this.#lostAtMs ?? null,
      lostMps: this.#lostMps,
    }
  }

  restore(state: WebLengthState): void {
    this.#lengthM = state.lengthM
    this.#speedMps = state.speedMps ?? undefined
    this.#tMs = state.tMs ?? undefined
    this.#lostAtMs = state.lostAtMs ?? undefined
    this.#lostMps = state.lostMps
  }
}
