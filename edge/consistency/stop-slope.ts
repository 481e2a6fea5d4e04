/**
 * How fast the buffer empties while the unwind stands, against the line's speed. Pure, O(1).
 *
 * In a zero-speed cycle v_u = 0, so dS/dt = −v: the steepest fall of the stored web, over the line's speed, is g_S/g_v
 * without any tag of the unwind's speed. A fill is far flatter (the overspeed, a tenth or so), which tells by itself a
 * position that counts the wrong way: then the steep side is the rise. That a cycle happened is seen by the diameter's jump
 * to the new roll; the slopes around it count. The slope is a least-squares line over most of the stop.
 */
import { remember } from './ratio.ts'

/** Share of the configured stop over which the slope is taken, and its least length, ms. */
const STOP_SHARE = 0.75
const SHORTEST_MS = 300
/** Points nearer than this add nothing, ms. */
const NEAREST_MS = 40
const MOST_POINTS = 40
/** Extremes are kept in two halves of so long: what they say is 30 to 60 s old at most, ms. */
const HALF_MS = 30_000
/** The refill, or what comes of it, has to be seen beside the stop, ms. */
const JUDGED_AFTER_MS = 20_000
/** The stop is steeper than fill and refill by so much at least. */
const STEEPER = 2
/** At its steepest the buffer would cover all of its way in so long, and in twice the stop; a fill takes far longer, s. */
const WAY_S = 10

interface Extremes {
  /** Slope over line speed, signed. */
  fall: number
  rise: number
  /** Line speed at the steeper of them, m/s. */
  mps: number
  lowM: number | null
  highM: number | null
}

export interface StopSlopeState {
  tMs: number[]
  storedM: number[]
  now: Extremes
  before: Extremes
  halfTMs: number | null
  jumpTMs: number | null
  /** One per cycle: signed g_S/g_v. */
  gains: number[]
  periodMs: number
}

const flat = (): Extremes => ({ fall: 0, rise: 0, mps: 0, lowM: null, highM: null })

export const newStopSlope = (): StopSlopeState => ({
  tMs: [],
  storedM: [],
  now: flat(),
  before: flat(),
  halfTMs: null,
  jumpTMs: null,
  gains: [],
  periodMs: 100,
})

/** A report of the stored web. @param lineMps - the line's speed while it is steady, else undefined. */
export function reportStored(
  state: StopSlopeState,
  storedM: number,
  tMs: number,
  lineMps: number | undefined,
  stopS: number,
): void {
  const times = state.tMs
  const last = times[times.length - 1]
  if (last !== undefined && tMs - last < NEAREST_MS) return
  if (last !== undefined) state.periodMs += (Math.min(5000, tMs - last) - state.periodMs) * 0.05
  times.push(tMs)
  state.storedM.push(storedM)
  const spanMs = Math.max(SHORTEST_MS, 1000 * STOP_SHARE * stopS)
  // The point before the span stays: a slowly polled tag has no two within it.
  while (times.length > MOST_POINTS || (times.length > 2 && tMs - times[0]! > spanMs)) {
    times.shift()
    state.storedM.shift()
  }
  state.halfTMs ??= tMs
  if (tMs - state.halfTMs >= HALF_MS) {
    state.before = state.now
    state.now = flat()
    state.halfTMs = tMs
  }
  const { now } = state
  now.lowM = Math.min(now.lowM ?? storedM, storedM)
  now.highM = Math.max(now.highM ?? storedM, storedM)
  if (lineMps === undefined || lineMps <= 0 || times.length < 2 || tMs - times[0]! < SHORTEST_MS) return
  const share = slopeMps(times, state.storedM) / lineMps
  if (Math.abs(share) > Math.max(now.rise, -now.fall)) now.mps = lineMps
  if (share < now.fall) now.fall = share
  if (share > now.rise) now.rise = share
}

function slopeMps(tMs: readonly number[], storedM: readonly number[]): number {
  const n = tMs.length
  const start = tMs[0]!
  let t = 0
  let s = 0
  for (let i = 0; i < n; i += 1) {
    t += tMs[i]! - start
    s += storedM[i]!
  }
  t /= n
  s /= n
  let tt = 0
  let ts = 0
  for (let i = 0; i < n; i += 1) {
    const off = tMs[i]! - start - t
    tt += off * off
    ts += off * (storedM[i]! - s)
  }
  return tt > 0 ? (1000 * ts) / tt : 0
}

/** Another roll was seen while the line ran: the web of its splice came out of the buffer. */
export function noteJump(state: StopSlopeState, tMs: number): void {
  state.jumpTMs ??= tMs
}

/** Once a second: takes the gain of a cycle that is now complete. */
export function judgeStop(state: StopSlopeState, tMs: number, stopS: number): void {
  if (state.jumpTMs === null || tMs - state.jumpTMs < JUDGED_AFTER_MS) return
  state.jumpTMs = null
  const { now, before } = state
  const fall = -Math.min(now.fall, before.fall)
  const rise = Math.max(now.rise, before.rise)
  const mps = Math.max(now.rise, -now.fall) > Math.max(before.rise, -before.fall) ? now.mps : before.mps
  const lows = [now.lowM, before.lowM].filter((one) => one !== null)
  const highs = [now.highM, before.highM].filter((one) => one !== null)
  const wayM = Math.max(...highs) - Math.min(...lows)
  state.now = flat()
  state.before = flat()
  const steep = Math.max(fall, rise)
  if (!(steep > 0) || steep < STEEPER * Math.min(fall, rise) || wayM > steep * mps * (WAY_S + 2 * stopS)) return
  remember(state.gains, fall > rise ? fall : -rise)
}

/** What happened before a gap says nothing. */
export function forgetMotion(state: StopSlopeState): void {
  state.tMs = []
  state.storedM = []
  state.now = flat()
  state.before = flat()
  state.jumpTMs = null
}
