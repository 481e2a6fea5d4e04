/** Many forecasts played through the countdown: it never goes up without a word, and the word stays. */
import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { Countdowns } from '../../dashboard/live/countdowns.ts'
import { applyMessage, initialState, type LiveState } from '../../dashboard/live/state.ts'
import { labelPress } from '../support/stand-in-views.ts'

/** What may happen to a line and its estimate, at a second, for some seconds. */
const EVENTS = [
  'slow',
  'fast',
  'creep',
  'roll',
  'longer',
  'shorter',
  'thread',
  'stand',
  'unknown',
  'away',
  'lost',
] as const
interface Happening {
  what: (typeof EVENTS)[number]
  atS: number
  forS: number
  /** 0 to 1: how strongly. */
  size: number
}

const happenings = fc.array(
  fc.record({
    what: fc.constantFrom(...EVENTS),
    atS: fc.integer({ min: 0, max: 560 }),
    forS: fc.integer({ min: 1, max: 120 }),
    size: fc.double({ min: 0, max: 1, noNaN: true }),
  }),
  { maxLength: 8 },
)

const TICK_MS = 250
/** Long enough to be read, ms. */
const READ_MS = 10_000

interface Seen {
  tMs: number
  seconds: number | undefined
  note: string | undefined
}

const factorAt = (events: readonly Happening[], s: number): number =>
  events
    .filter(({ atS, forS }) => s >= atS && s < atS + forS)
    .reduce((speed, { what, size, atS }) => {
      if (what === 'slow') return speed * (1 - 0.6 * size)
      if (what === 'fast') return speed * (1 + 0.5 * size)
      // By and by, as a ramp that somebody turns at by hand.
      return what === 'creep' ? speed * (1 - 0.005 * (s - atS)) : speed
    }, 1)

/** Ten minutes of one line at 5 m/s, as the screen's clock and messages bring it. */
const play = (events: readonly Happening[], startM: number, jitterShare: number, seed: number): Seen[] => {
  const countdowns = new Countdowns()
  const seen: Seen[] = []
  const startTMs = Date.parse('2026-03-02T06:00:00Z')
  const any = labelPress({ tMs: startTMs, atS: 0, round: 0 })
  let state: LiveState = initialState(0)
  let metres = startM
  let random = seed
  const noise = () => {
    random = (random * 1_103_515_245 + 12_345) % 2 ** 31
    return (random / 2 ** 30 - 1) * jitterShare
  }
  for (let tMs = 0; tMs <= 600_000; tMs += TICK_MS) {
    const s = tMs / 1000
    const going = (what: Happening['what']) =>
      events.some((event) => event.what === what && s >= event.atS && s < event.atS + event.forS)
    if (tMs % 500 === 0 && !going('lost')) {
      for (const { what, atS, size } of events) {
        if (atS !== s) continue
        if (what === 'roll') metres = 400 + 4000 * size
        if (what === 'longer') metres *= 1 + 0.25 * size
        if (what === 'shorter') metres *= 1 - 0.25 * size
      }
      const speed = going('stand') ? 0 : going('thread') ? 0.4 : 5 * factorAt(events, s)
      metres = Math.max(0, metres - speed / 2)
      const estimate = metres * (1 + noise())
      const view = {
        ...any,
        time: new Date(startTMs + tMs).toISOString(),
        state: going('unknown') ? ('unknown' as const) : speed === 0 ? ('standing' as const) : ('running' as const),
        line_state: going('thread') ? ('thread' as const) : ('run' as const),
        metres_to_splice: estimate,
        line_speed: speed * 60 * (1 + noise() / 10),
        seconds_to_splice: speed === 0 || going('unknown') ? null : estimate / speed,
      }
      state = applyMessage(state, { event: 'unwinds', data: { time: view.time, unwinds: [view] } }, tMs)
    }
    const view = state.unwinds[0]
    if (view === undefined || going('away')) continue
    const shown = countdowns.show(state, view, tMs)
    seen.push({ tMs, seconds: shown?.seconds, note: shown?.note })
  }
  return seen
}

/** What is wrong with what was shown, in words; undefined where nothing is. */
const fault = (seen: readonly Seen[]): string | undefined => {
  let last: number | undefined
  let changedAtMs = Number.NEGATIVE_INFINITY
  for (const [index, { tMs, seconds, note }] of seen.entries()) {
    if (seconds === undefined) continue
    if (last !== undefined && seconds !== last) {
      if (tMs - changedAtMs < 950) return `changes twice within a second at ${tMs} ms`
      changedAtMs = tMs
    }
    if (last !== undefined && seconds > last) {
      if (note === undefined) return `from ${last} up to ${seconds} s at ${tMs} ms without a word`
      // Another roll is news that cannot wait; where there is no figure there is nothing to explain.
      const gone = seen
        .slice(index)
        .find((one) => one.seconds !== undefined && one.note !== 'new_roll' && one.note !== note)
      if (gone !== undefined && gone.tMs < tMs + READ_MS) return `"${note}" of ${tMs} ms is gone at ${gone.tMs} ms`
    }
    last = seconds
  }
  return undefined
}

describe('a countdown that goes up', () => {
  it('always says why, for 10 s at least, whatever happens to line and estimate', () => {
    fc.assert(
      fc.property(
        happenings,
        fc.integer({ min: 100, max: 6000 }),
        fc.constantFrom(0, 0.002, 0.02, 0.08),
        fc.integer({ min: 1, max: 1e6 }),
        (events, startM, jitterShare, seed) => {
          expect(fault(play(events, startM, jitterShare, seed))).toBeUndefined()
        },
      ),
      { seed: 20_260_302, numRuns: 80 },
    )
  })

  it('does so after threading, though there was no figure meanwhile', () => {
    // At 2:10; threaded for 20 s, then as fast as before, and the length of the roll was found to be 6 % more.
    const seen = play(
      [
        { what: 'thread', atS: 20, forS: 20, size: 1 },
        { what: 'longer', atS: 30, forS: 1, size: 0.6 },
      ],
      780,
      0,
      1,
    )
    const before = seen.findLast(({ seconds, tMs }) => seconds !== undefined && tMs < 20_000)!
    const after = seen.find(({ seconds, tMs }) => seconds !== undefined && tMs >= 40_000)!
    expect(after.seconds!).toBeGreaterThan(before.seconds!)
    expect(after.note).toBe('length_revised')
    expect(fault(seen)).toBeUndefined()
  })

  it('still counts down where only jitter moves the estimate', () => {
    const seen = play([], 2000, 0.02, 7).filter(({ seconds }) => seconds !== undefined)
    expect(seen.some(({ note }) => note !== undefined)).toBe(false)
    expect(seen.at(-1)!.seconds).toBe(0)
  })
})
