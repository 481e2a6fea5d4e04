/** The generator's geometry against published figures and closed forms. */
import { describe, expect, test } from 'vitest'
import { diameterOverM, Roll, webBetweenM } from './roll.ts'
import { capacityM, defineScenario, netWebM } from './scenario.ts'

describe('roll length and turns', () => {
  // Published: D 60 cm, d 8 cm, t 0.005 cm holds 5554.34 m (algebra.com question 1205007).
  test('a published roll holds its published length', () => {
    expect(webBetweenM(0.6, 0.08, 50e-6)).toBeCloseTo(5554.34, 2)
  })

  // L = π(D² − d²)/(4t), wraps (D − d)/(2t): Math Forum, Ask Dr. Math 67031; figures calculated from it.
  test.each([
    [1000, 76.2, 100, 7808.378, 4619],
    [1000, 152.4, 100, 7671.567, 4238],
    [1200, 152.4, 80, 13909.149, 6547.5],
    [800, 76.2, 25, 19923.778, 14476],
  ])('D %d, d %d mm, t %d µm: %d m in %d wraps, counted while it unwinds', (outer, core, caliper, lengthM, wraps) => {
    const roll = new Roll({ id: 'R', lengthM, coreM: core / 1000, caliperM: caliper * 1e-6, drift: 0 })
    expect(roll.diameterM * 1000).toBeCloseTo(outer, 3)
    while (!roll.isEmpty) roll.take(0.5)
    expect(roll.diameterM * 1000).toBeCloseTo(core, 3)
    expect(roll.turns).toBeCloseTo(wraps, 0)
    expect(Math.abs(roll.turns - wraps)).toBeLessThan(0.1)
  })

  test('drift leaves the mean caliper, so the same length ends at the same core', () => {
    const roll = new Roll({ id: 'R', lengthM: 1000, coreM: 0.1, caliperM: 80e-6, drift: 0.03 })
    while (!roll.isEmpty) roll.take(0.05)
    expect(roll.diameterM).toBeCloseTo(0.1, 7)
  })

  // dD/dt = −2tv/(πD), calculated: t 100 µm, v 5 m/s.
  test.each([
    [1, 0.3183],
    [0.5, 0.6366],
    [0.15, 2.1221],
  ])('at %d m a roll of 100 µm falls by %d mm/s at 5 m/s', (diameterM, mmPerS) => {
    const lengthM = webBetweenM(diameterM, 0.1, 100e-6)
    const roll = new Roll({ id: 'R', lengthM, coreM: 0.1, caliperM: 100e-6, drift: 0 })
    roll.take(0.05)
    expect(((diameterM - roll.diameterM) * 1000) / 0.01).toBeCloseTo(mmPerS, 2)
  })

  test('diameter over a core is the inverse of the web between', () => {
    expect(diameterOverM(0.12, webBetweenM(0.4, 0.12, 100e-6), 100e-6)).toBeCloseTo(0.4, 12)
    // Calculated: D 400 to 120 mm, t 100 µm.
    expect(webBetweenM(0.4, 0.12, 100e-6)).toBeCloseTo(1143.54, 3)
  })
})

// N = v·t_s + v²/2a_d + v²/2a_a, calculated: 5 m/s, 1 s, 2.5 and 1.25 m/s² take 20 m; with 25 m to use 340.51 m/min.
test('net web of a cycle', () => {
  const s = defineScenario({ stopS: 1, decelerationMps2: 2.5, accelerationMps2: 1.25 })
  expect(netWebM(s, 5)).toBeCloseTo(20, 12)
  expect(netWebM(s, 340.51 / 60)).toBeCloseTo(25, 3)
  expect(capacityM({ ...s, capacityM: undefined })).toBe(Math.ceil(23 / 0.95))
})
