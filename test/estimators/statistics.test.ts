/** Robust statistics against a general library, and first passage against many runs. */
import fc from 'fast-check'
import {
  errorFunction,
  median as libraryMedian,
  mean,
  medianAbsoluteDeviation,
  sampleStandardDeviation,
} from 'simple-statistics'
import { describe, expect, test } from 'vitest'
import { believe } from '../../edge/estimators/learning/evidence.ts'
import { firstPassageSds } from '../../edge/estimators/learning/first-passage.ts'
import { median, normalCdf, robust, scatter, Z80 } from '../../edge/estimators/statistics.ts'
import { randomStream } from '../truth/random.ts'

/** Few of them alike, or many. */
const number = fc.oneof(fc.double({ min: -1e6, max: 1e6, noNaN: true }), fc.integer({ min: -3, max: 3 }))
const numbers = fc.array(number, { minLength: 3, maxLength: 60 })

describe('GIVEN any numbers', () => {
  test('WHEN median and scatter are taken THEN they are the library’s', () => {
    fc.assert(
      fc.property(numbers, (values) => {
        expect(median(values)).toBeCloseTo(libraryMedian(values), 9)
        // 1.4826 = 1/Φ⁻¹(¾): makes the deviation a normal's standard deviation.
        expect(scatter(values)).toBeCloseTo(1.4826 * medianAbsoluteDeviation(values), 6)
      }),
    )
  })

  test('WHEN none lies far out THEN the robust pair is the library’s mean and standard deviation', () => {
    fc.assert(
      fc.property(numbers, (values) => {
        const [middle, rough] = [median(values)!, scatter(values)!]
        fc.pre(values.every((value) => Math.abs(value - middle) <= 4 * rough))
        const { middle: kept, sd } = robust(values)!
        expect(kept).toBeCloseTo(mean(values), 6)
        expect(sd).toBeCloseTo(sampleStandardDeviation(values), 4)
      }),
    )
  })

  test('WHEN one of them lies far out THEN it does not count', () => {
    const values = [1, 2, 3, 4, 5, 6, 7]
    expect(robust([...values, 1e5])).toEqual(robust(values))
  })

  test('WHEN there are none THEN there is no median, and of two no scatter', () => {
    expect(robust([])).toBeUndefined()
    expect(robust([1, 3])).toEqual({ middle: 2, sd: undefined })
    expect(median([])).toBeUndefined()
    expect(scatter([1, 2])).toBeUndefined()
  })
})

test('GIVEN the NumAcc4 data of NIST WHEN they are taken THEN median and scatter keep their digits', () => {
  const values = [10000000.2, ...Array.from({ length: 1000 }, (_, i) => (i % 2 === 0 ? 10000000.1 : 10000000.3))]
  expect(median(values)).toBe(10000000.2)
  expect(scatter(values)).toBeCloseTo(0.14826, 6)
})

describe('GIVEN the normal distribution', () => {
  test('WHEN Φ is asked for THEN it is the library’s error function', () => {
    for (let z = -5; z <= 5; z += 0.125) expect(normalCdf(z)).toBeCloseTo((1 + errorFunction(z / Math.SQRT2)) / 2, 6)
  })

  // Tables of the normal distribution: Φ(1.959964) = 0.975, Φ(1.281552) = 0.9.
  test('WHEN the tables are asked THEN it agrees with them', () => {
    expect(normalCdf(1.959964)).toBeCloseTo(0.975, 6)
    expect(normalCdf(Z80)).toBeCloseTo(0.9, 6)
  })
})

describe('GIVEN a reading that falls through its setting with noise', () => {
  test.each([0.01, 0.05, 0.2, 0.7, 2])(
    'WHEN it falls by %d standard deviations a reading THEN the median height of first passage is the closed form’s',
    (fall) => {
      const random = randomStream(3, `passage ${fall}`)
      const heights: number[] = []
      for (let run = 0; run < 4000; run++) {
        let height = 5 + fall * random.even()
        while (height + random.normal() >= 0) height -= fall
        heights.push(height)
      }
      // The closed form counts readings as a density: half a step to either side is its resolution.
      expect(Math.abs(firstPassageSds(fall) - libraryMedian(heights))).toBeLessThan(0.05 + fall / 2)
    },
  )

  test('WHEN it falls faster THEN it passes lower', () => {
    const heights = [0.001, 0.01, 0.1, 1].map(firstPassageSds)
    expect(heights).toEqual([...heights].sort((a, b) => b - a))
    expect(firstPassageSds(0)).toBeGreaterThan(5)
    expect(firstPassageSds(Number.NaN)).toBeGreaterThan(5)
  })
})

describe('GIVEN a prior and splices that were seen', () => {
  const at = (value: number) => ({ value, tMs: 0 })

  test('WHEN there are none THEN the prior counts; WHEN many THEN they do; WHEN one is wild THEN it changes little', () => {
    expect(believe([], 3, 2, 1)).toEqual({ mean: 3, sd: Math.hypot(2, 1), scatter: 1 })
    const random = randomStream(4, 'believe')
    const seen = Array.from({ length: 20 }, () => at(8 + random.normal()))
    const calm = believe(seen, 3, 2, 1)
    expect(Math.abs(calm.mean - 8)).toBeLessThan(0.7)
    const wild = believe([...seen.slice(0, 19), at(500)], 3, 2, 1)
    expect(Math.abs(wild.mean - calm.mean)).toBeLessThan(0.3)
    expect(wild.sd).toBeLessThan(1.3 * calm.sd)
  })

  test('WHEN the next splice comes THEN it is inside 80 % of the time', () => {
    const random = randomStream(8, 'believe')
    let inside = 0
    const rounds = 4000
    for (let round = 0; round < rounds; round++) {
      const middle = 2 * random.normal()
      const seen = Array.from({ length: 1 + (round % 20) }, () => at(middle + random.normal()))
      const said = believe(seen, 0, 2, 1)
      if (Math.abs(middle + random.normal() - said.mean) <= Z80 * said.sd) inside += 1
    }
    expect(inside / rounds).toBeGreaterThan(0.76)
    expect(inside / rounds).toBeLessThan(0.84)
  })
})
