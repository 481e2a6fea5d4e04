/**
 * What changed between two looks at the unwinds, for screens: only fields that differ, and no more digits than a screen
 * can show. Twelve unwinds twice a second take about a fifth of what whole views take. Pure.
 */
import type { UnwindView } from './messages.ts'
import type { ScreenEvents } from './messages-screen.ts'

/** An estimate's noise lies beyond these: digits, and decimals. */
const DIGITS = 4
const DECIMALS = 2
/** The ends of an interval and times far ahead are drawn, not read. */
const DRAWN_DIGITS = 3
const DRAWN = new Set([
  'seconds_low',
  'seconds_high',
  'metres_low',
  'metres_high',
  'next_splices',
  'next_flag',
  'fill_lead_seconds',
  'caliper',
])
/** Minutes are shown above this, s: tenths of a second below it are enough to count down by. */
const WHOLE_SECONDS_FROM_S = 600

const rounded = (value: number, digits: number): number =>
  Number(Number(value.toPrecision(digits)).toFixed(Math.abs(value) < 1 ? DECIMALS : DECIMALS - 1))

const shorten = (value: unknown, key: string, digits: number): unknown => {
  if (typeof value === 'number') {
    if (key === 'seconds_to_splice') return Number(value.toFixed(value < WHOLE_SECONDS_FROM_S ? 1 : 0))
    return rounded(value, digits)
  }
  if (Array.isArray(value)) return value.map((one) => shorten(one, key, digits))
  if (value === null || typeof value !== 'object') return value
  return Object.fromEntries(Object.entries(value).map(([name, one]) => [name, shorten(one, name, digits)]))
}

/** Alarms hold values and limits that people read as they were judged. */
const AS_IT_IS = new Set(['alarms', 'time'])

/** A view with no more digits than a screen shows. */
export const forScreen = (view: UnwindView): UnwindView =>
  Object.fromEntries(
    Object.entries(view).map(([key, value]) => [
      key,
      AS_IT_IS.has(key) ? value : shorten(value, key, DRAWN.has(key) ? DRAWN_DIGITS : DIGITS),
    ]),
  ) as unknown as UnwindView

/** Remembers what screens know, so that they need only be told what is new. */
export class ViewChanges {
  #known = new Map<string, Map<string, string>>()
  #order = ''

  /** @returns what changed since the last call; undefined where unwinds came or went, or nothing was known: then all is to be told. */
  next(time: string, views: readonly UnwindView[]): ScreenEvents['changes'] | undefined {
    const order = views.map(({ unwind }) => unwind).join(' ')
    const isKnown = order === this.#order
    const unwinds: ScreenEvents['changes']['unwinds'] = {}
    const known = new Map<string, Map<string, string>>()
    for (const view of views) {
      const before = this.#known.get(view.unwind)
      const now = new Map(Object.entries(forScreen(view)).map(([key, value]) => [key, JSON.stringify(value)]))
      // Every view has the message's time unless it says its own, which it then does each time.
      now.delete('time')
      const changed = [...now].filter(([key, text]) => before?.get(key) !== text)
      if (view.time !== time) changed.push(['time', JSON.stringify(view.time)])
      if (changed.length > 0)
        unwinds[view.unwind] = Object.fromEntries(changed.map(([key, text]) => [key, JSON.parse(text)]))
      known.set(view.unwind, now)
    }
    this.#known = known
    this.#order = order
    return isKnown ? { time, unwinds } : undefined
  }
}
