/** The line fit against certified values: NIST Statistical Reference Datasets, Norris (linear regression) and NumAcc4 (cancellation). */
import { linearRegression } from 'simple-statistics'
import { describe, expect, test } from 'vitest'
import { LineFit } from '../../edge/cycle/line-fit.ts'

// NIST StRD Norris, 36 pairs x,y.
const NORRIS: [number, number][] =
  `0.2,0.1 337.4,338.8 118.2,118.1 884.6,888.0 10.1,9.2 226.5,228.1 666.3,668.5 996.3,998.5 448.6,449.1 777.0,778.9
558.2,559.2 0.4,0.3 0.6,0.1 775.5,778.1 666.9,668.8 338.0,339.3 447.5,448.9 11.6,10.8 556.0,557.7 228.1,228.3 995.8,998.0
887.6,888.8 120.2,119.6 0.3,0.3 0.3,0.6 556.8,557.6 339.1,339.3 887.2,888.0 999.0,998.5 779.0,778.9 11.1,10.2 118.3,117.6
229.2,228.9 669.1,668.4 448.9,449.2 0.5,0.2`
    .split(/\s+/)
    .map((pair) => pair.split(',').map(Number) as [number, number])
const SLOPE = 1.00211681802045
const INTERCEPT = -0.262323073774029

const fitOf = (points: readonly [number, number][]): LineFit => {
  const fit = new LineFit()
  for (const [x, y] of points) fit.add(x, y)
  return fit
}
const interceptOf = (fit: LineFit): number => fit.meanY - fit.slope! * fit.meanX

describe('GIVEN the Norris data of NIST', () => {
  test('WHEN a line is fitted THEN slope and intercept are the certified ones', () => {
    expect(NORRIS.length).toBe(36)
    const fit = fitOf(NORRIS)
    expect(fit.slope).toBeCloseTo(SLOPE, 13)
    expect(interceptOf(fit)).toBeCloseTo(INTERCEPT, 11)
    expect(fit.slope).toBeCloseTo(linearRegression(NORRIS).m, 12)
  })

  test('WHEN its x are epoch milliseconds and its y are large THEN the slope keeps nine digits', () => {
    const fit = fitOf(NORRIS.map(([x, y]) => [1_772_438_400_000 + x, 1e7 + y]))
    expect(fit.slope! / SLOPE).toBeCloseTo(1, 6)
    // Sums of squares about zero, as a textbook writes them, lose every digit here.
    expect(interceptOf(fitOf(NORRIS.map(([x, y]) => [x, 1e7 + y])))).toBeCloseTo(1e7 + INTERCEPT, 6)
  })
})

describe('GIVEN the NumAcc4 data of NIST', () => {
  test('WHEN they are added one by one THEN the mean is 10000000.2 and the slope against themselves is 1', () => {
    const fit = new LineFit()
    const add = (value: number): void => fit.add(value, value)
    add(10000000.2)
    for (let i = 0; i < 500; i++) for (const value of [10000000.1, 10000000.3]) add(value)
    expect(fit.meanY).toBeCloseTo(10000000.2, 7)
    expect(fit.slope).toBeCloseTo(1, 12)
  })
})

test('GIVEN points of one x WHEN a slope is asked for THEN there is none', () => {
  expect(new LineFit().slope).toBeUndefined()
  expect(
    fitOf([
      [2, 1],
      [2, 5],
    ]).slope,
  ).toBeUndefined()
})
