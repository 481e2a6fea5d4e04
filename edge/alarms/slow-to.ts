/**
 * Which speed to ask for so that the web that is left lasts until the next roll is ready. Pure.
 *
 * From v the line comes to X by its usual ramp a; after N seconds it can still be stopped before the splice if the roll is
 * not ready then (F seconds until somebody has seen it, then the ramp):
 *
 *   m − (v² − X²)/2a − X·(N − (v − X)/a) = F·X + X²/2a
 *   ⇒  X = (√(a²B² + 4aC) − aB)/2,  B = N + F − v/a,  C = m − v²/2a
 *
 * A speed that is told stays told while the line can still come to it: who reads it has to walk, reach in and turn a knob. Only
 * a speed that is out of reach gives way to a lower one, and from the way that stopping takes only stopping is asked for.
 */
import type { AlarmFacts } from './facts.ts'
import { areSpeedsWrong } from './wrong-speeds.ts'

/** Advice below this speed is no help: many processes do not hold their web or register there (common practice, no source). */
export const LEAST_ADVISED_MPS = 20 / 60
/** Speeds are advised in steps that a person sets: 5 m/min. */
const ADVICE_STEP_MPM = 5
/** From reading the wall to the line's first slowing, s (common practice, no source). */
const FOLLOW_S = 12
/** So near above the speed that was asked for the line runs at it. */
const AT_SPEED = 1.02

/** What was asked for, and by when the roll is to be ready if it is prepared from then on. Plain data. */
export interface SlowTo {
  speedMpm: number
  readyTMs: number
}

/** In steps, rounded down; undefined where that is too slow to be of use, or no slower than now: advice is never to go faster. */
export function advisedMpm(speedMps: number, lineSpeedMps: number | undefined): number | undefined {
  if (!(speedMps >= LEAST_ADVISED_MPS)) return undefined
  const advised = Math.floor((speedMps * 60) / ADVICE_STEP_MPM) * ADVICE_STEP_MPM
  if (lineSpeedMps !== undefined && advised >= lineSpeedMps * 60) return undefined
  return advised
}

/** What the line takes from the moment at which somebody can see that it has to be stopped until it stands, m. */
export const stopM = (lineMps: number, rampMps2: number): number => lineMps * FOLLOW_S + lineMps ** 2 / (2 * rampMps2)

/**
 * The highest speed, m/s, at which `webM` lasts `neededS` and then a stop, if the line begins to slow from `lineMps` now; 0
 * where there is none.
 */
export function lastingMps(webM: number, lineMps: number, rampMps2: number, neededS: number): number {
  if (webM >= lineMps * neededS + stopM(lineMps, rampMps2)) return lineMps
  const afterStopM = webM - lineMps ** 2 / (2 * rampMps2)
  if (afterStopM <= 0) return 0
  const flatMps = rampMps2 * (neededS + FOLLOW_S) - lineMps
  return (Math.sqrt(flatMps ** 2 + 4 * rampMps2 * afterStopM) - flatMps) / 2
}

/**
 * @param held - what was asked for at the last look.
 * @returns `stop`: no speed that is of use can be reached any more. `unknown`: nothing says which speed would do.
 */
export function speedToWait(facts: AlarmFacts, held: SlowTo | undefined): SlowTo | 'stop' | 'unknown' {
  const { metresToSplice, lineSpeedMps: lineMps, lineRampMps2: rampMps2, secondsLow, secondsToSplice, tMs } = facts
  if (metresToSplice === undefined || lineMps === undefined || areSpeedsWrong(facts)) return 'unknown'
  // The early end of the interval for the web as for the time.
  const early =
    secondsLow !== undefined && secondsToSplice !== undefined && secondsToSplice > 0
      ? Math.min(1, secondsLow / secondsToSplice)
      : 1
  const webM = metresToSplice * early
  if (webM <= stopM(lineMps, rampMps2)) return 'stop'
  const readyTMs = Math.min(held?.readyTMs ?? Number.POSITIVE_INFINITY, tMs + facts.nextRoll.usualS * 1000)
  const neededS = Math.max(0, readyTMs - tMs) / 1000 + facts.fillLeadS
  if (held !== undefined) {
    const heldMps = held.speedMpm / 60
    if (lineMps <= heldMps * AT_SPEED || heldMps <= lastingMps(webM, lineMps, rampMps2, neededS))
      return { speedMpm: held.speedMpm, readyTMs }
  }
  // A speed that would give way before anybody has come to it is none that one can follow.
  if (webM <= stopM(lineMps, rampMps2) + lineMps * FOLLOW_S) return 'stop'
  const speedMps = lastingMps(webM - lineMps * FOLLOW_S, lineMps, rampMps2, neededS - FOLLOW_S)
  // It runs slower than the forecast reckons with: nothing says how much slower would do.
  if (speedMps === lineMps) return 'unknown'
  const speedMpm = advisedMpm(speedMps, lineMps)
  return speedMpm === undefined ? 'stop' : { speedMpm, readyTMs }
}
