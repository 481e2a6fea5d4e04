/** Strokes of an indexed line, by hand: what its level is, when it runs and when it stands. */
import { describe, expect, test } from 'vitest'
import { Strokes } from '../../edge/signals/strokes.ts'

/** Moves at `mps` for `moveMs` and rests for `restMs`, sampled each `everyMs`. */
function run(
  strokes: Strokes,
  from: number,
  to: number,
  { mps = 2, moveMs = 530, restMs = 383, everyMs = 100 } = {},
): void {
  for (let tMs = from; tMs < to; tMs += everyMs) strokes.report(speedAt(tMs, { mps, moveMs, restMs }), tMs)
}
const speedAt = (tMs: number, { mps = 2, moveMs = 530, restMs = 383 } = {}): number =>
  tMs % (moveMs + restMs) < moveMs ? mps : 0

describe('strokes', () => {
  test('three of them are a habit, and the level is the web per time', () => {
    const strokes = new Strokes()
    run(strokes, 0, 2000)
    expect(strokes.isRunning(1900)).toBe(false)
    run(strokes, 2000, 20_000)
    expect(strokes.isRunning(19_900)).toBe(true)
    const mean = (2 * 530) / 913
    for (let tMs = 20_000; tMs < 30_000; tMs += 100) {
      const mps = speedAt(tMs)
      strokes.report(mps, tMs)
      expect(Math.abs(strokes.levelMps(tMs, mps) / mean - 1), `at ${tMs}`).toBeLessThan(0.02)
    }
  })

  test.each([
    ['four a second', { moveMs: 147, restMs: 110 }],
    ['one in three seconds', { moveMs: 1700, restMs: 1300 }],
    ['polled five times a second', { everyMs: 200 }],
  ])('%s', (_name, given) => {
    const { moveMs = 530, restMs = 383 } = given as { moveMs?: number; restMs?: number }
    const strokes = new Strokes()
    run(strokes, 0, 60_000, given)
    const level = strokes.levelMps(60_000, 0)
    expect(level / ((2 * moveMs) / (moveMs + restMs))).toBeGreaterThan(0.97)
    expect(level / ((2 * moveMs) / (moveMs + restMs))).toBeLessThan(1.03)
  })

  test('strokes that come up to their speed slowly', () => {
    const strokes = new Strokes()
    // A crank: half a sine of 2 m/s over 600 ms, then 400 ms at rest; 2·2/π·0.6 m per second.
    const at = (tMs: number): number => (tMs % 1000 < 600 ? 2 * Math.sin((Math.PI * (tMs % 1000)) / 600) : 0)
    const levels: number[] = []
    for (let tMs = 0; tMs < 40_000; tMs += 70) {
      strokes.report(at(tMs), tMs)
      if (tMs > 20_000) levels.push(strokes.levelMps(tMs, at(tMs)))
    }
    const mean = (2 * 2 * 0.6) / Math.PI
    expect(Math.min(...levels)).toBeGreaterThan(0.9 * mean)
    expect(Math.max(...levels)).toBeLessThan(1.1 * mean)
  })

  test('a rest that lasts is a stop, and after it the first stroke counts', () => {
    const strokes = new Strokes()
    const restMs = 913 * 11 + 530
    run(strokes, 0, restMs)
    for (let tMs = 10_600; tMs < 60_000; tMs += 100) strokes.report(0, tMs)
    expect(strokes.isRunning(restMs + 300)).toBe(true)
    expect(strokes.isRunning(restMs + 800)).toBe(false)
    expect(strokes.levelMps(30_000, 0)).toBe(0)
    strokes.report(2, 60_000)
    strokes.report(2, 60_100)
    expect(strokes.levelMps(60_100, 2)).toBeCloseTo((2 * 530) / 913, 1)
  })

  test('a line that goes on moving takes its web evenly again', () => {
    const strokes = new Strokes()
    run(strokes, 0, 913 * 12)
    for (let tMs = 913 * 12; tMs < 20_000; tMs += 100) strokes.report(1, tMs)
    expect(strokes.isRunning(20_000)).toBe(false)
    expect(strokes.levelMps(20_000, 1)).toBe(1)
  })

  test('longer rests are followed within a few strokes', () => {
    const strokes = new Strokes()
    run(strokes, 0, 40_000)
    run(strokes, 40_000, 50_000, { restMs: 583 })
    expect(strokes.levelMps(50_000, 0)).toBeGreaterThan((0.96 * 2 * 530) / 1113)
    expect(strokes.levelMps(50_000, 0)).toBeLessThan((1.04 * 2 * 530) / 1113)
  })

  test('ramps, stops and an encoder that flickers at rest are no strokes', () => {
    const strokes = new Strokes()
    for (let tMs = 0; tMs < 120_000; tMs += 100) {
      // Up in 10 s, down in 10 s, 10 s at rest with flicker below 1 m/min.
      const phase = (tMs % 30_000) / 10_000
      const mps = phase < 1 ? 5 * phase : phase < 2 ? 5 * (2 - phase) : tMs % 300 === 0 ? 0.015 : 0
      strokes.report(mps, tMs)
      expect(strokes.isRunning(tMs)).toBe(false)
    }
  })

  test('a snapshot at any moment changes nothing', () => {
    const whole = new Strokes()
    let parted = new Strokes()
    for (let tMs = 0; tMs < 15_000; tMs += 100) {
      for (const one of [whole, parted]) one.report(speedAt(tMs), tMs)
      const next = new Strokes()
      next.restore(JSON.parse(JSON.stringify(parted.snapshot())))
      parted = next
      expect(parted.levelMps(tMs, speedAt(tMs))).toBe(whole.levelMps(tMs, speedAt(tMs)))
    }
    expect(parted.snapshot()).toEqual(whole.snapshot())
  })
})
