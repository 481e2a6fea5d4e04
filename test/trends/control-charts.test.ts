/**
 * Charts and intervals against published worked examples. NIST: NIST/SEMATECH e-Handbook of Statistical Methods, section beside
 * each. Newcombe: Statistics in Medicine 17 (1998) 857, table I, method 3.
 */
import { cumulativeStdNormalProbability } from 'simple-statistics'
import { describe, expect, it } from 'vitest'
import {
  cusum,
  ewma,
  ewmaDeviation,
  individualsLimits,
  laplaceTrend,
  normalOfStudent,
  wilson,
} from '../../edge/trends/control-charts.ts'

describe('EWMA (NIST 6.3.2.4: λ 0.3, start 50, s 2.0539, three standard deviations)', () => {
  const x = [
    52, 47, 53, 49.3, 50.1, 47, 51, 50.1, 51.2, 50.5, 49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1,
  ]
  it('goes through the published values', () => {
    let at = 50
    const found = x.map((value) => {
      at = ewma(at, value, 0.3)
      return at.toFixed(2)
    })
    expect(found.join(' ')).toBe(
      '50.60 49.52 50.56 50.18 50.16 49.21 49.75 49.85 50.26 50.33 50.11 49.36 49.52 50.05 49.38 49.92 50.73 51.23 51.94 51.99',
    )
  })
  it('has the published limits, and the exact ones of the first values', () => {
    expect(50 + 3 * 2.0539 * ewmaDeviation(0.3)).toBeCloseTo(52.5884, 3)
    expect(50 - 3 * 2.0539 * ewmaDeviation(0.3)).toBeCloseTo(47.4116, 3)
    expect(3 * 2.0539 * ewmaDeviation(0.3, 1)).toBeCloseTo(1.84851, 4)
    expect(3 * 2.0539 * ewmaDeviation(0.3, 2)).toBeCloseTo(2.25639, 4)
  })
})

it('CUSUM goes through the published values and signals at the 14th (NIST 6.3.2.3: target 325, k 0.3175, h 4.1959)', () => {
  const x = [
    324.925, 324.675, 324.725, 324.35, 325.35, 325.225, 324.125, 324.525, 325.225, 324.6, 324.625, 325.15, 328.325,
    327.25, 327.825, 328.5, 326.675, 327.775, 326.875, 328.35,
  ]
  let [high, low] = [0, 0]
  const highs: number[] = []
  const lows: number[] = []
  for (const value of x) {
    high = cusum(high, value - 325, 0.3175)
    low = cusum(low, 325 - value, 0.3175)
    highs.push(Math.round(high * 1e4) / 1e4)
    lows.push(Math.round(low * 1e4) / 1e4)
  }
  expect(highs).toEqual([
    0, 0, 0, 0, 0.0325, 0, 0, 0, 0, 0, 0, 0, 3.0075, 4.94, 7.4475, 10.63, 11.9875, 14.445, 16.0025, 19.035,
  ])
  expect(lows.slice(0, 12)).toEqual([0, 0.0075, 0, 0.3325, 0, 0, 0.5575, 0.715, 0.1725, 0.255, 0.3125, 0])
  expect(highs.findIndex((value) => value > 4.1959)).toBe(13)
})

it('individuals have the published limits (NIST 6.3.2.2)', () => {
  const { mean, range, low, high } = individualsLimits([49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1])
  expect(mean).toBeCloseTo(50.81, 6)
  expect(range).toBeCloseTo(1.8778, 4)
  expect([low, high].map((value) => value.toFixed(3))).toEqual(['45.816', '55.804'])
})

it.each([
  [81, 263, 0.2553, 0.3662],
  [15, 148, 0.0624, 0.1605],
  [0, 20, 0, 0.1611],
  [1, 29, 0.0061, 0.1718],
])("Wilson's interval of %i in %i (Newcombe, table I)", (hits, count, low, high) => {
  const found = wilson(hits, count)!
  expect([found.low, found.high].map((value) => value.toFixed(4))).toEqual([low, high].map((value) => value.toFixed(4)))
  expect(wilson(0, 0)).toBeUndefined()
})

it('failures that come ever more seldom have a negative trend (NIST 8.2.2.3, case study 1; U from the closed form)', () => {
  expect(laplaceTrend([5, 40, 43, 175, 389, 712, 747, 795, 1299, 1478], 1500)).toBeCloseTo(-1.32695, 4)
  expect(laplaceTrend([700], 1500)).toBeUndefined()
})

it("Student's t has the tail of the normal deviate that it is turned into (t tables, from memory)", () => {
  for (const [t, freedom, tail] of [
    [2.228, 10, 0.025],
    [2.764, 10, 0.01],
    [2.042, 30, 0.025],
    [3.385, 30, 0.001],
  ] as const) {
    expect(1 - cumulativeStdNormalProbability(normalOfStudent(t, freedom))).toBeCloseTo(tail, 3)
  }
  expect(normalOfStudent(-1, 1e6)).toBeCloseTo(-1, 5)
})
