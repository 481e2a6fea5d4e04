/**
 * When the next roll must be ready, and how slow the line would have to run for that. Pure.
 *
 * A roll has to be ready when the fill begins or when the splicer takes none any more, whichever is first:
 *   ready(v) = T(v) − max(fill lead(v), refusal)        (trade notes)
 * The speed at which the roll lasts until it is ready is the root of ready(v) = preparation; ready falls with v.
 */
import { fillLead } from '../estimators/buffer.ts'
import { type Forecast, type ForecastInput, forecast } from '../estimators/forecast.ts'
import { Z80 } from '../estimators/statistics.ts'

export interface ReadyBy {
  /** Never below 0: then it is due. */
  seconds: number
  low: number
  high: number
  sd: number
  by: 'fill' | 'refusal' | 'splice'
}

/** A line faster than this runs nowhere, m/s; slower than this it stands. */
const FASTEST_MPS = 100
const SLOWEST_MPS = 1e-3
const HALVINGS = 50

/** The same as it would be at another line speed. */
export const atSpeed = (input: ForecastInput, speedMps: number): ForecastInput => ({ ...input, speedMps })

/** @returns undefined where no time is known: no roll, or the line stands. */
export function readyBy(
  input: ForecastInput,
  said: Forecast | undefined,
  refusesWithinS: number,
  isFilling: boolean,
): ReadyBy | undefined {
  const { speedMps, buffer, splicer, learned } = input
  if (said?.seconds === undefined || said.secondsHigh === undefined || speedMps === undefined) return undefined
  const fill = buffer === undefined ? { mean: 0, sd: 0 } : fillLead(splicer, buffer, learned, speedMps)
  if (isFilling) return { seconds: 0, low: 0, high: 0, sd: 0, by: 'fill' }
  const isFill = fill.mean > 0 && fill.mean >= refusesWithinS
  const leadS = isFill ? fill.mean : refusesWithinS
  const sd = Math.hypot((said.secondsHigh - said.seconds) / Z80, isFill ? fill.sd : 0)
  const seconds = said.seconds - leadS
  return {
    seconds: Math.max(0, seconds),
    low: Math.max(0, seconds - Z80 * sd),
    high: Math.max(0, seconds + Z80 * sd),
    sd,
    by: isFill ? 'fill' : refusesWithinS > 0 ? 'refusal' : 'splice',
  }
}

/** Line speeds, m/s, at which the roll would last until the next one is ready: by the forecast and by the ends of its interval. */
export interface LastingSpeed {
  speedMps: number
  lowMps: number
  highMps: number
}

/** @returns undefined where the roll is not known, or where preparing takes no time. */
export function lastingSpeed(
  input: ForecastInput,
  preparationS: number,
  refusesWithinS: number,
): LastingSpeed | undefined {
  if (input.roll === undefined || !(preparationS > 0)) return undefined
  const root = (end: 'seconds' | 'low' | 'high'): number => {
    const isEnough = (speedMps: number): boolean => {
      const at = atSpeed(input, speedMps)
      return (readyBy(at, forecast(at), refusesWithinS, false)?.[end] ?? 0) >= preparationS
    }
    if (!isEnough(SLOWEST_MPS)) return 0
    let [slow, fast] = [SLOWEST_MPS, FASTEST_MPS]
    for (let i = 0; i < HALVINGS; i += 1) {
      const middle = (slow + fast) / 2
      if (isEnough(middle)) slow = middle
      else fast = middle
    }
    return slow
  }
  return { speedMps: root('seconds'), lowMps: root('low'), highMps: root('high') }
}
