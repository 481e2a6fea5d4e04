/** Feet of rounded ramps against a ramp with constant jerk, integrated here in steps of 0.1 ms. */
import { expect, test } from 'vitest'
import { cornersOf, footOf, footS, knownCornersS } from '../../edge/cycle/corners.ts'

/** When a ramp down whose acceleration `mps2` takes `jerkS` to build up and take back passes 1 m/min, and when it stands, s. */
function rampDown(
  fromMps: number,
  mps2: number,
  jerkS: number,
): { passesS: number; standsS: number; straightS: number } {
  const straightS = fromMps / mps2 + jerkS / 2
  const standsS = fromMps / mps2 + jerkS
  let mps = fromMps
  let passesS = 0
  const step = 1e-4
  for (let t = 0; t < standsS; t += step) {
    const share = Math.min(1, t / jerkS, (standsS - t) / jerkS)
    mps -= mps2 * share * step
    if (mps >= 1 / 60) passesS = t
  }
  return { passesS, standsS, straightS }
}

test.each([
  [5, 2.5, 0.5],
  [5, 1.2, 0.8],
  [2, 2.5, 0.3],
])('from %d m/s at %d m/s² with corners of %d s', (fromMps, mps2, jerkS) => {
  const { passesS, standsS, straightS } = rampDown(fromMps, mps2, jerkS)
  expect(footS(jerkS, mps2)).toBeCloseTo(passesS - straightS, 2)
  const foot = footOf(passesS - straightS, mps2)
  expect(foot.s).toBeCloseTo(jerkS, 1)
  expect(foot.slowS).toBeCloseTo(standsS - passesS, 2)
})

test('sharp corners have no foot', () => {
  expect(footOf(0, 2.5)).toEqual({ s: 0, slowS: 0 })
  expect(footOf(-0.01, 2.5)).toEqual({ s: 0, slowS: 0 })
})

// A ramp of v/a seconds can't have corners that last longer: constant jerk would not reach its acceleration (trade notes).
test('no corner is longer than its ramp, whatever cycles before seem to have shown', () => {
  const downTMs = 1000
  const straight = { downTMs, stopTMs: downTMs + 400, moveTMs: downTMs + 1500, upTMs: downTMs + 2333 }
  const lineMps = 1
  const points = Array.from({ length: 30 }, (_, i) => {
    const t = (i * 100 - downTMs) / 1000
    const fell = 1.25 * (Math.max(0, t) ** 2 - Math.max(0, t - 0.4) ** 2) - 0.6 * Math.max(0, t - 1.5) ** 2
    return { tMs: i * 100, lineMps, storedM: 10 - fell + 0.002 * Math.sin(7 * i), unwindMps: undefined }
  })
  const seen = Array.from({ length: 20 }, (_, i) => (i === 8 ? 1e4 : 0))
  const corners = cornersOf(points as never, straight, seen)
  expect(knownCornersS(corners!.gains)).toBeLessThanOrEqual(0.4)
  expect(corners!.mostS).toBeLessThanOrEqual(0.4)
})
