/** One countdown per unwind for all pages: the wall and the unwind page show the same figure, and remember the same one. */
import type { UnwindView } from '../../edge/api/messages.ts'
import { Countdown, type Reading, type Shown } from './countdown.ts'
import { isCountedToCore, isCounting } from './line-state.ts'
import { estimateAtMs, type LiveState } from './state.ts'

export class Countdowns {
  readonly #entries = new Map<string, { countdown: Countdown; key: string }>()

  /** Undefined where nothing is counted. A roll whose splice is overdue is counted down to its core. */
  show(state: LiveState, view: UnwindView, nowMs: number): Shown | undefined {
    const core = isCountedToCore(view) ? view.left_to_core : null
    if (core === null || core.seconds === null)
      return this.#count(view.unwind, state, view, nowMs, readingOf(state, view))
    const { line_speed: lineSpeed } = view
    const reading = { atMs: estimateAtMs(state, view), seconds: core.seconds, metres: core.metres, lineSpeed }
    const shown = this.#count(`${view.unwind} to its core`, state, view, nowMs, reading)
    return shown === undefined ? undefined : { ...shown, isToCore: true }
  }

  #count(
    name: string,
    state: LiveState,
    view: UnwindView,
    nowMs: number,
    reading: Reading | undefined,
  ): Shown | undefined {
    let entry = this.#entries.get(name)
    if (entry === undefined) {
      entry = { countdown: new Countdown(), key: '' }
      this.#entries.set(name, entry)
    }
    const key = `${view.time} ${state.lastMessageAtMs}`
    if (entry.key !== key) {
      entry.key = key
      entry.countdown.update(reading)
    }
    return entry.countdown.show(nowMs)
  }
}

const readingOf = (state: LiveState, view: UnwindView): Reading | undefined => {
  if (!isCounting(view)) return undefined
  const { seconds_to_splice: seconds, metres_to_splice: metres, line_speed: lineSpeed } = view
  return { atMs: estimateAtMs(state, view), seconds: seconds ?? 0, metres, lineSpeed }
}
