/** What is remembered of each unwind between two drawings: its web as it was drawn last; its countdown all pages share. */
import type { UnwindView } from '../../edge/api/messages.ts'
import type { TimeAxis } from '../charts/time-axis.ts'
import type { Joint } from '../charts/web-strip.tsx'
import type { Shown } from '../live/countdown.ts'
import type { Countdowns } from '../live/countdowns.ts'
import { isCounting } from '../live/line-state.ts'
import { estimateAtMs, type LiveState } from '../live/state.ts'

/** A strip is hardly longer than this, px: sooner than after one of them its drawing would not differ. */
const STRIP_PX = 1600
const SOONEST_MS = 250
const LATEST_MS = 1000
/** A tick that comes a little early is the same tick, ms. */
const EARLY_MS = 50

export interface Counted {
  shown: Shown | undefined
  /** The next joint and those behind it; undefined where nothing is counted. */
  joints: readonly Joint[] | undefined
}

const jointsOf = (view: UnwindView, seconds: number): readonly Joint[] | undefined => {
  const { seconds_low: low, seconds_high: high, seconds_to_splice: said } = view
  if (low === null || high === null || said === null) return undefined
  const shift = seconds - said
  return [
    { seconds, low: low + shift, high: high + shift },
    ...view.next_splices.map((next) => ({
      seconds: seconds + next.after,
      low: seconds + next.after_low,
      high: seconds + next.after_high,
    })),
  ]
}

export class Counting {
  readonly #joints = new Map<string, readonly Joint[] | undefined>()
  readonly #countdowns: Countdowns
  #drawnAtMs = Number.NEGATIVE_INFINITY
  #isDrawing = true
  /** The daemon's time for which the webs are drawn; undefined before the first. */
  drawnTMs: number | undefined

  constructor(countdowns: Countdowns) {
    this.#countdowns = countdowns
  }

  /** A drawing begins: on a long axis webs move once a second, on a short one four times. */
  begin(axis: TimeAxis, nowMs: number, serverTMs: number | undefined, wantsStillness: boolean): void {
    const pixelMs = (axis.rangeS * 1000) / STRIP_PX
    const everyMs = wantsStillness ? LATEST_MS : Math.min(LATEST_MS, Math.max(SOONEST_MS, pixelMs))
    this.#isDrawing = this.drawnTMs === undefined || nowMs - this.#drawnAtMs >= everyMs - EARLY_MS
    if (!this.#isDrawing) return
    this.#drawnAtMs = nowMs
    this.drawnTMs = serverTMs
  }

  count(state: LiveState, view: UnwindView, nowMs: number): Counted {
    const shown = this.#countdowns.show(state, view, nowMs)
    let joints = this.#joints.get(view.unwind)
    if (!isCounting(view)) joints = undefined
    else if (this.#isDrawing || joints === undefined) {
      const carriedS = Math.max(0, nowMs - estimateAtMs(state, view)) / 1000
      joints = jointsOf(view, Math.max(0, (view.seconds_to_splice ?? 0) - carriedS))
    }
    this.#joints.set(view.unwind, joints)
    return { shown, joints }
  }
}
