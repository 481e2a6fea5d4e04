import fc from 'fast-check'
import { describe, expect, test } from 'vitest'
import { ClockOffset } from '../../edge/sources/clock-offset.ts'

const T0 = Date.UTC(2026, 2, 2, 6)
const HOUR_MS = 3_600_000

/** Feeds fresh values every 200 ms that travelled `lagMs`; the source's clock is `offMs` ahead. Returns the last pipeline time less the true time. */
function feed(
  offset: ClockOffset,
  fromMs: number,
  count: number,
  offMs: number,
  lagMs: (index: number) => number,
): number {
  let error = 0
  for (let index = 0; index < count; index += 1) {
    const trueMs = fromMs + 200 * index
    const arrivalMs = trueMs + lagMs(index)
    offset.observe(trueMs + offMs, arrivalMs)
    error = offset.pipelineTMs(trueMs + offMs, arrivalMs) - trueMs
  }
  return error
}

describe('clock offset', () => {
  test('clocks that agree to within the travel time are left alone', () => {
    const offset = new ClockOffset()
    expect(feed(offset, T0, 100, 0, (index) => 50 + ((index * 37) % 300))).toBe(0)
    expect(offset.offsetMs).toBe(0)
  })

  test('a clock that is hours ahead never puts a sample into the future', () => {
    const offset = new ClockOffset()
    offset.observe(T0 + 3 * HOUR_MS, T0 + 100)
    expect(offset.pipelineTMs(T0 + 3 * HOUR_MS, T0 + 100)).toBe(T0 + 100)
    expect(offset.offsetMs).toBe(3 * HOUR_MS - 100)
  })

  test('a clock that was never set (1970) is seen at once', () => {
    const offset = new ClockOffset()
    offset.observe(5000, T0)
    expect(offset.pipelineTMs(5200, T0 + 200)).toBe(T0 + 200)
  })

  test('a clock that is two hours behind is seen after three seconds, or at once from the peer itself', () => {
    const slow = new ClockOffset()
    feed(slow, T0, 5, -2 * HOUR_MS, () => 100)
    expect(slow.offsetMs).toBeUndefined()
    feed(slow, T0 + 1000, 15, -2 * HOUR_MS, () => 100)
    expect(slow.offsetMs).toBe(-2 * HOUR_MS - 100)
    const seeded = new ClockOffset()
    seeded.seed(T0 - 2 * HOUR_MS, T0 + 50)
    expect(seeded.offsetMs).toBe(-2 * HOUR_MS - 50)
  })

  test('a clock that is set while running is followed in one step', () => {
    for (const stepMs of [HOUR_MS, -HOUR_MS, 5000, -5000]) {
      const offset = new ClockOffset()
      feed(offset, T0, 50, 0, () => 120)
      expect(offset.offsetMs).toBe(0)
      const error = feed(offset, T0 + 10_000, 25, stepMs, () => 120)
      expect(offset.offsetMs).toBe(stepMs - 120)
      expect(Math.abs(error)).toBeLessThanOrEqual(120)
    }
  })

  test('what comes late after an outage keeps its own time and is no step', () => {
    const offset = new ClockOffset()
    feed(offset, T0, 50, 0, () => 120)
    // 30 s of queued values, drained over four seconds.
    for (let index = 0; index < 300; index += 1) {
      const trueMs = T0 + 10_000 + index * 100
      const arrivalMs = T0 + 40_000 + index * 13
      offset.observe(trueMs, arrivalMs)
      expect(offset.pipelineTMs(trueMs, arrivalMs)).toBe(trueMs)
    }
    feed(offset, T0 + 45_000, 50, 0, () => 120)
    expect(offset.offsetMs).toBe(0)
  })

  test('a single wild stamp changes nothing and is not believed', () => {
    const offset = new ClockOffset()
    feed(offset, T0, 50, 0, () => 120)
    offset.observe(T0 + 900_000, T0 + 10_100)
    expect(offset.pipelineTMs(T0 + 900_000, T0 + 10_100)).toBe(T0 + 10_100)
    feed(offset, T0 + 10_200, 50, 0, () => 120)
    expect(offset.offsetMs).toBe(0)
  })

  test('property: pipeline time is within a second of arrival for fresh values, whatever the clock', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: -10 * HOUR_MS, max: 10 * HOUR_MS }),
        fc.array(fc.integer({ min: 0, max: 400 }), { minLength: 40, maxLength: 40 }),
        (offMs, lags) => {
          const offset = new ClockOffset()
          feed(offset, T0, 20, offMs, (index) => lags[index] as number)
          const error = feed(offset, T0 + 4000, 20, offMs, (index) => lags[20 + index] as number)
          expect(Math.abs(error)).toBeLessThanOrEqual(1400)
        },
      ),
    )
  })

  test('property: once known and unstepped, it is constant, so the order of a tag is kept', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 251, max: 5 * HOUR_MS }),
        fc.array(fc.integer({ min: 0, max: 900 }), { minLength: 30, maxLength: 100 }),
        (offMs, lags) => {
          const offset = new ClockOffset()
          let lastMs = Number.NEGATIVE_INFINITY
          for (const [index, lagMs] of lags.entries()) {
            const trueMs = T0 + 1000 * index
            offset.observe(trueMs + offMs, trueMs + lagMs)
            const tMs = offset.pipelineTMs(trueMs + offMs, trueMs + lagMs)
            expect(tMs).toBeGreaterThan(lastMs)
            lastMs = tMs
          }
        },
      ),
    )
  })
})
