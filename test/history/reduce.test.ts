/** A million points at the width of a screen: no peak is left out. Checked against going through all points span by span. */
import fc from 'fast-check'
import { describe, expect, test } from 'vitest'
import { MinMaxReducer } from '../../edge/history/reduce.ts'
import { reducedHistory } from '../../edge/history/reduced-history.ts'
import type { SignalPoint, TimeSpan } from '../../edge/history/store.ts'

const START = 1_772_431_200_000

describe('least and greatest of each span', () => {
  test('of a million points keep the one that is a peak', () => {
    const reducer = new MinMaxReducer(0, 1_000_000, 1000)
    for (let t = 0; t < 1_000_000; t += 1) reducer.push(t, t === 543_210 ? 9 : t === 777_777 ? -9 : Math.sin(t / 40))
    const { low, high } = reducer.result()
    expect(high).toHaveLength(1000)
    expect(high[543]).toBe(9)
    expect(low[777]).toBe(-9)
    expect(high.filter((value) => value === 9)).toHaveLength(1)
    // A sine over 1000 ms with a period of 251 ms reaches both its ends in every span.
    expect(Math.max(...low.map((value) => value!))).toBeLessThan(-0.99)
  })

  test('are those that going through all points finds, for any points in any order', () => {
    const point = fc.record({
      tMs: fc.integer({ min: -50, max: 1050 }),
      value: fc.option(fc.double({ noNaN: true, min: -1e6, max: 1e6 })),
    })
    fc.assert(
      fc.property(fc.array(point, { maxLength: 60 }), fc.integer({ min: 1, max: 17 }), (points, spans) => {
        const reducer = new MinMaxReducer(0, 1000, spans)
        for (const { tMs, value } of points) reducer.push(tMs, value)
        const { low, high } = reducer.result()
        for (let i = 0; i < spans; i += 1) {
          const within = points.filter(
            ({ tMs, value }) => tMs >= 0 && value !== null && Math.floor(tMs / (1000 / spans)) === i,
          )
          const values = within.map(({ value }) => value!)
          expect([low[i], high[i]]).toEqual(
            values.length === 0 ? [null, null] : [Math.min(...values), Math.max(...values)],
          )
        }
      }),
      { numRuns: 200 },
    )
  })
})

describe('the past of a signal', () => {
  /** What a store gives: raw points, and minutes that are over as roll-ups. */
  const storeOf = (points: SignalPoint[], packedUntilTMs: number) => {
    const within = ({ fromTMs, toTMs }: TimeSpan) => points.filter(({ tMs }) => tMs >= fromTMs && tMs < toTMs)
    return {
      forecasts: () => [],
      signals: (_unwind: string, _signal: string, span: TimeSpan) => within(span),
      signalRollups: (_unwind: string, _signal: string, _per: string, span: TimeSpan) => {
        const minutes = new Map<number, number[]>()
        for (const { tMs, value } of within({ ...span, toTMs: Math.min(span.toTMs, packedUntilTMs) })) {
          const minute = Math.floor(tMs / 60_000) * 60_000
          if (value !== null) minutes.set(minute, [...(minutes.get(minute) ?? []), value])
        }
        return [...minutes].map(([tMs, all]) => ({
          tMs,
          n: all.length,
          low: Math.min(...all),
          high: Math.max(...all),
          mean: 0,
        }))
      },
    }
  }
  const ask = (store: Parameters<typeof reducedHistory>[0], hours: number, points: number, isCancelled = () => false) =>
    reducedHistory(store, {
      unwind: 'press',
      fromTMs: START,
      toTMs: START + hours * 3_600_000,
      columns: ['line_speed'],
      points,
      isForecast: () => false,
      unitOf: () => 'm/min',
      pause: async () => undefined,
      isCancelled,
    })
  /** A reading every 10 s with one peak, in the middle. */
  const points = Array.from({ length: 2160 }, (_, i): SignalPoint => {
    return { unwind: 'press', signal: 'line_speed', tMs: START + i * 10_000, value: i === 1077 ? 400 : 300 }
  })
  const peaks = (view: Awaited<ReturnType<typeof ask>>) =>
    view!.columns[0]!.high.filter((value) => value === 400).length

  test('has its peak in raw points, in roll-ups, and in minutes that are not packed yet', async () => {
    expect(peaks(await ask(storeOf(points, 0), 6, 2000))).toBe(1)
    expect(peaks(await ask(storeOf(points, Number.POSITIVE_INFINITY), 6, 60))).toBe(1)
    expect(peaks(await ask(storeOf(points, START + 1060 * 10_000), 6, 60))).toBe(1)
  })

  test('holds a value that is told on change, for ten minutes and not for ever', async () => {
    const two = [points[0]!, { ...points[0]!, tMs: START + 3_000_000, value: 310 }]
    const view = await ask(storeOf(two, 0), 1, 60)
    const { high } = view!.columns[0]!
    expect(high.slice(0, 10)).toEqual(Array.from({ length: 10 }, () => 300))
    expect(high.slice(11, 50).every((value) => value === null)).toBe(true)
    expect(high[50]).toBe(310)
  })

  test('stops where nobody waits any more', async () => {
    let asked = 0
    const view = await ask(storeOf(points, 0), 6, 100, () => (asked += 1) > 2)
    expect(view).toBeUndefined()
    expect(asked).toBe(3)
  })
})
