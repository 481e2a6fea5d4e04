/** Feet of rounded ramps against a ramp with constant jerk, integrated here in steps of 0.1 ms. */
import { expect, test } from 'vitest'
import { footOf, footS } from '../../edge/cycle/corners.ts'

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
