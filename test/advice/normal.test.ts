import { describe, expect, test } from 'vitest'
import { normalCdf, probabilityBetween, sdsAtRisk, upperTail } from '../../edge/advice/normal.ts'

describe('the normal distribution', () => {
  // NIST/SEMATECH e-Handbook 1.3.6.7.1, table of the cumulative normal (0.5 + tabled area), from memory.
  test.each([
    [0.5, 0.69146],
    [1, 0.84134],
    [1.64, 0.9495],
    [1.96, 0.975],
    [2.58, 0.99506],
    [3, 0.99865],
  ])('Φ(%d) = %d', (z, expected) => {
    expect(normalCdf(z)).toBeCloseTo(expected, 5)
    expect(normalCdf(-z)).toBeCloseTo(1 - expected, 5)
  })

  // Abramowitz & Stegun table 26.2: Q(5) = 2.86651e-7, Q(4) = 3.16712e-5, from memory.
  test('the tail keeps its digits', () => {
    expect(upperTail(4) / 3.16712e-5).toBeCloseTo(1, 5)
    expect(upperTail(5) / 2.86651e-7).toBeCloseTo(1, 5)
    expect(upperTail(3 - 1e-9) / upperTail(3 + 1e-9)).toBeCloseTo(1, 7)
    expect(upperTail(60)).toBe(0)
  })

  // Abramowitz & Stegun table 26.6 (percentage points), from memory.
  test.each([
    [0.1, 1.28155],
    [0.025, 1.95996],
    [0.01, 2.32635],
    [0.001, 3.09023],
    [1e-6, 4.75342],
  ])('a risk of %d is %d standard deviations', (risk, z) => {
    expect(sdsAtRisk(risk)).toBeCloseTo(z, 4)
  })

  test('what a risk is exceeded by is exceeded with that risk', () => {
    for (let exponent = -12; exponent < -0.31; exponent += 0.1) {
      expect(upperTail(sdsAtRisk(10 ** exponent)) / 10 ** exponent).toBeCloseTo(1, 12)
    }
    expect(sdsAtRisk(0.5)).toBe(0)
    expect([sdsAtRisk(0), sdsAtRisk(0.9)]).toEqual([sdsAtRisk(1e-12), 0])
  })

  test('between two bounds, also far out and without a spread', () => {
    expect(probabilityBetween(-1, 1, 0, 1)).toBeCloseTo(0.682689, 6)
    expect(probabilityBetween(4, 5, 0, 1) / (3.16712e-5 - 2.86651e-7)).toBeCloseTo(1, 4)
    expect(probabilityBetween(-1, 1, 0.5, 0)).toBe(1)
    expect(probabilityBetween(-1, 1, 2, 0)).toBe(0)
    expect(probabilityBetween(1, -1, 0, 1)).toBe(0)
  })
})
