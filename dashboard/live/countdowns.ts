/** One countdown per unwind for all pages: the wall and the unwind page show the same figure, and remember the same one. */
import type { UnwindView } from '../../edge/api/messages.ts'
import { Countdown, type Shown } from './countdown.ts'
import { isCounting } from './line-state.ts'
import { estimateAtMs, type LiveState } from './state.ts'

export class Countdowns {
  readonly #entries = new Map<string, { countdown: Countdown; key: string }>()

  /** Undefined where nothing is counted. */
  show(state: LiveState, view: UnwindView, nowMs: number): Shown | undefined {
    let entry = this.#entries.get(view.unwind)
    if (entry === undefined) {
      entry = { countdown: new Countdown(), key: '' }
      this.#entries.set(view.unwind, entry)
    }
    const key = `${view.time} ${state.lastMessageAtMs}`
    if (entry.key !== key) {
      entry.key = key
      const { seconds_to_splice: seconds, metres_to_splice: metres, line_speed: lineSpeed } = view
      const atMs = estimateAtMs(state, view)
      entry.countdown.update(isCounting(view) ? { atMs, seconds: seconds ?? 0, metres, lineSpeed } : undefined)
    }
    return entry.countdown.show(nowMs)
  }
}
