import { describe, expect, it } from 'vitest'
import { pastSeries, topMinutes } from '../../dashboard/unwind/past-series.ts'
import type { HistoryView } from '../../edge/api/messages-history.ts'

const MIN = 60_000
const column = (name: string, low: (number | null)[], high = low) => ({ name, unit: 's', low, high })
const past = (columns: HistoryView['columns']): HistoryView => ({
  unwind: 'press',
  from: new Date(0).toISOString(),
  to: new Date(4 * MIN).toISOString(),
  span_seconds: 60,
  time: [0.5, 1.5, 2.5, 3.5].map((minute) => minute * MIN),
  columns,
})

describe('what was forecast against what came', () => {
  const series = pastSeries(
    past([
      // A splice at minute 3: within the last span the time left falls to nothing and jumps to the next roll's.
      column('seconds_to_splice', [120, 60, null, 0], [180, 120, null, 1800]),
      column('seconds_low', [110, 55, null, 0]),
      column('seconds_high', [190, 125, null, 1810]),
    ]),
    [3 * MIN, 30 * MIN],
  )

  it('keeps both ends of a span, the greatest first', () => {
    expect(series.forecast).toEqual([3, 2, 2, 1, null, null, 30, 0])
    expect(series.time[1]! - series.time[0]!).toBe(30)
    expect(series.high.at(-1)).toBeCloseTo(1810 / 60, 9)
  })

  it('counts to the splice that came next, and says nothing where nothing was forecast', () => {
    // Points at 0.25 and 0.75 min of each span.
    expect(series.actual.slice(0, 4)).toEqual([2.75, 2.25, 1.75, 1.25])
    expect(series.actual.slice(4)).toEqual([null, null, 26.75, 26.25])
  })

  it('is drawn to a scale that a few spikes of a line that starts do not set', () => {
    const usual = { time: [], low: [], forecast: Array(98).fill(3), high: Array(98).fill(4), actual: Array(98).fill(3) }
    const spiked = { ...usual, forecast: [...usual.forecast, 30, 30], high: [...usual.high, 31, 31] }
    expect(topMinutes(spiked)).toBeCloseTo(4.4, 9)
    // What came is all in the picture, and nothing known draws an empty one.
    expect(topMinutes({ ...spiked, actual: [12] })).toBeCloseTo(13.2, 9)
    expect(topMinutes({ time: [], low: [], forecast: [], high: [null], actual: [] })).toBe(1)
  })
})
