/**
 * The forecasts of the last ten minutes, thinned, so that a splice can say how well it was foreseen. Pure; plain data.
 */

import { copyOf } from '../plain-data.ts'
import { FORECAST_HORIZONS_S, type ForecastError } from '../splice-details.ts'

/** One forecast in so many ms is kept: each is judged by its own time, so a coarser grid costs no accuracy. */
const EVERY_MS = 5000
const MOST = FORECAST_HORIZONS_S[0] / (EVERY_MS / 1000) + 2

export interface KeptForecast {
  tMs: number
  /** Web off the roll until now, m. */
  rollWebM: number
  metres: number
  seconds: number | undefined
  marginM: number | undefined
}

export class ForecastRing {
  #kept: KeptForecast[] = []
  /** When the line last stood, ms. */
  #stoodTMs: number | null = null

  /** @param isRunning - the line runs at this step. */
  note(forecast: KeptForecast | undefined, tMs: number, isRunning: boolean): void {
    if (!isRunning) this.#stoodTMs = tMs
    const newestTMs = this.#kept[this.#kept.length - 1]?.tMs ?? Number.NEGATIVE_INFINITY
    if (forecast === undefined || forecast.tMs < newestTMs + EVERY_MS) return
    this.#kept.push(forecast)
    if (this.#kept.length > MOST) this.#kept.shift()
  }

  /** Another roll runs: what was said of the old one is over. */
  clear(): void {
    this.#kept = []
  }

  /** The newest that was made at or before a time. */
  at(tMs: number): KeptForecast | undefined {
    return this.#kept.findLast((kept) => kept.tMs <= tMs)
  }

  /** @param rollWebM - web off the roll when the splice started. */
  errors(startedTMs: number, rollWebM: number): ForecastError[] {
    return FORECAST_HORIZONS_S.flatMap((horizonS) => {
      const said = this.at(startedTMs - horizonS * 1000)
      if (said === undefined || said.tMs < startedTMs - horizonS * 1000 - 2 * EVERY_MS) return []
      const stood = this.#stoodTMs !== null && this.#stoodTMs >= said.tMs
      const tookS = (startedTMs - said.tMs) / 1000
      return {
        horizon_seconds: horizonS,
        metres: said.metres - (rollWebM - said.rollWebM),
        seconds: stood || said.seconds === undefined ? null : said.seconds - tookS,
      }
    })
  }

  snapshot(): { kept: KeptForecast[]; stoodTMs: number | null } {
    return { kept: copyOf(this.#kept), stoodTMs: this.#stoodTMs }
  }

  restore(state: ReturnType<ForecastRing['snapshot']>): void {
    this.#kept = copyOf(state.kept)
    this.#stoodTMs = state.stoodTMs
  }
}
