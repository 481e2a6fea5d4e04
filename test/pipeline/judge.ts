/** Holds what a replay said against what the generator knows happened. */
import type { ForecastRow, SpliceRow } from '../../edge/columns.ts'
import type { Simulation } from '../truth/line-simulator.ts'
import type { SpliceTruth } from '../truth/truth.ts'

export interface ForecastError {
  horizonS: number
  roll: number
  tMs: number
  /** Forecast less truth; undefined where the forecast gave nothing. */
  metres: number | undefined
  /** Undefined also where the speed did not stay. */
  seconds: number | undefined
  isMetresInside: boolean
  isSecondsInside: boolean | undefined
  /** Half the width of the interval, m. */
  halfWidthM: number | undefined
  speedMpm: number
}

/** One error per splice and horizon, where that much of the roll was seen. */
export function forecastErrors(
  simulation: Simulation,
  forecast: readonly ForecastRow[],
  horizonsS: readonly number[],
): ForecastError[] {
  const byTime = new Map(
    forecast.filter((row) => row.unwind === simulation.scenario.unwind).map((row) => [Date.parse(row.time), row]),
  )
  const found = new Map<string, { away: number; error: ForecastError }>()
  for (const row of simulation.truth) {
    if (row.secondsToSplice === undefined || row.metresToSplice === undefined || row.state === 'splicing') continue
    for (const horizonS of horizonsS) {
      const away = Math.abs(row.secondsToSplice - horizonS)
      if (away > 0.5) continue
      const key = `${row.rollNumber} ${horizonS}`
      if ((found.get(key)?.away ?? Number.POSITIVE_INFINITY) <= away) continue
      const said = byTime.get(row.tMs)
      const inside = (truth: number, low: number | null | undefined, high: number | null | undefined): boolean =>
        low !== null && low !== undefined && high !== null && high !== undefined && truth >= low && truth <= high
      const less = (value: number | null | undefined, truth: number): number | undefined =>
        value === null || value === undefined ? undefined : value - truth
      const width =
        said?.metres_high === null || said?.metres_low === null || said === undefined
          ? undefined
          : (said.metres_high - said.metres_low) / 2
      found.set(key, {
        away,
        error: {
          horizonS,
          roll: row.rollNumber,
          tMs: row.tMs,
          metres: less(said?.metres_to_splice, row.metresToSplice),
          seconds: row.isSteady ? less(said?.seconds_to_splice, row.secondsToSplice) : undefined,
          isMetresInside: inside(row.metresToSplice, said?.metres_low, said?.metres_high),
          isSecondsInside: row.isSteady
            ? inside(row.secondsToSplice, said?.seconds_low, said?.seconds_high)
            : undefined,
          halfWidthM: width,
          speedMpm: row.speedMpm,
        },
      })
    }
  }
  return [...found.values()].map(({ error }) => error)
}

export const rms = (values: readonly number[]): number =>
  values.length === 0 ? Number.NaN : Math.sqrt(values.reduce((sum, one) => sum + one * one, 0) / values.length)

export const share = (flags: readonly boolean[]): number =>
  flags.length === 0 ? Number.NaN : flags.filter(Boolean).length / flags.length

export interface SpliceVerdict {
  pairs: { truth: SpliceTruth; said: SpliceRow }[]
  lost: SpliceTruth[]
  invented: SpliceRow[]
}

/** A cycle has to be named within 3 s of its start; a missed one when the line stopped for it, so within a minute. */
const CYCLE_WITHIN_MS = 3_000
const MISSED_WITHIN_MS = 60_000
/** So long before the end of the recording a cycle may still be open. */
const VERDICT_WITHIN_MS = 20_000

/** Pairs truth and rows by their start. Cycles whose end the recording does not hold are left out on both sides. */
export function judgeSplices(simulation: Simulation, rows: readonly SpliceRow[]): SpliceVerdict {
  const open = rows.filter((row) => row.unwind === simulation.scenario.unwind)
  const endTMs = simulation.scenario.startTMs + simulation.scenario.durationS * 1000
  const verdict: SpliceVerdict = { pairs: [], lost: [], invented: [] }
  for (const truth of simulation.splices) {
    const within = truth.outcome === 'missed' ? MISSED_WITHIN_MS : CYCLE_WITHIN_MS
    let best = -1
    let bestMs = within
    for (const [i, row] of open.entries()) {
      const away = Math.abs(Date.parse(row.started) - truth.startedTMs)
      if (away <= bestMs) {
        best = i
        bestMs = away
      }
    }
    const [said] = best < 0 ? [] : open.splice(best, 1)
    if (truth.outcome === undefined || truth.startedTMs > endTMs - VERDICT_WITHIN_MS) continue
    if (said === undefined) verdict.lost.push(truth)
    else verdict.pairs.push({ truth, said })
  }
  verdict.invented = open
  return verdict
}

/** A verdict as lines for a failed expectation. */
export const describeVerdict = (verdict: SpliceVerdict): string[] => [
  ...verdict.lost.map((one) => `lost: ${one.outcome} ${one.cause ?? ''} at ${new Date(one.startedTMs).toISOString()}`),
  ...verdict.invented.map((one) => `invented: ${one.outcome} ${one.cause ?? ''} at ${one.started}`),
]
