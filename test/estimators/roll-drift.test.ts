/** A caliper that drifts from the outside of its rolls to the core, learned from one roll to the next. */
import { Matrix, inverse as matrixInverse } from 'ml-matrix'
import { describe, expect, test } from 'vitest'
import { inverse3 } from '../../edge/estimators/learning/matrix3.ts'
import { expectRoll, learnRoll, type RollBeliefs } from '../../edge/estimators/learning/rolls.ts'
import { RollFilter } from '../../edge/estimators/roll-filter.ts'
import { randomStream } from '../truth/random.ts'
import { Roll } from '../truth/roll.ts'

const LABEL_M = 80e-6
const OF = { sensor: '', material: 'm', labelM: LABEL_M, tMs: 0 }
const [CORE_M, LENGTH_M, STEP_M, NOISE_M] = [0.1, 4000, 10, 0.3e-3]

/** What is believed after so many rolls with this drift, whose calipers differ by 1 % (one sd). */
function afterRolls(count: number, drift: number, seed: number): RollBeliefs {
  const random = randomStream(seed, 'drift')
  const beliefs: RollBeliefs = []
  for (let i = 0; i < count; i += 1) {
    const caliperM = LABEL_M * (1.02 + 0.01 * random.normal())
    const roll = new Roll({ id: '', lengthM: LENGTH_M, coreM: CORE_M, caliperM, drift })
    const reading = () => ({
      diameterM: roll.diameterM + NOISE_M * random.normal(),
      cos: 0,
      sin: 0,
      varianceM2: NOISE_M ** 2,
    })
    const filter = RollFilter.begin({ ...expectRoll(beliefs, '', 'm', LABEL_M, 0), coreM: CORE_M }, reading())
    while (roll.takenM < 0.9 * LENGTH_M) {
      roll.take(STEP_M)
      filter.take(STEP_M)
      filter.update(reading())
    }
    learnRoll(beliefs, filter.lesson, OF)
  }
  return beliefs
}

/** Metres that are wrong half-way through a roll with this drift, by what was learned of others. */
function wrongHalfWayM(beliefs: RollBeliefs, drift: number): number {
  const roll = new Roll({ id: '', lengthM: LENGTH_M, coreM: CORE_M, caliperM: 1.02 * LABEL_M, drift })
  const reading = () => ({ diameterM: roll.diameterM, cos: 0, sin: 0, varianceM2: NOISE_M ** 2 })
  const filter = RollFilter.begin({ ...expectRoll(beliefs, '', 'm', LABEL_M, 0), coreM: CORE_M }, reading())
  while (roll.takenM < LENGTH_M / 2) {
    roll.take(STEP_M)
    filter.take(STEP_M)
    filter.update(reading())
  }
  return Math.abs(filter.remaining(CORE_M).metres - roll.leftM)
}

describe('GIVEN a material whose caliper grows by 3 % towards the core', () => {
  test('WHEN ten of its rolls ran THEN the drift is known', () => {
    for (const seed of [1, 2, 3]) {
      const [belief] = afterRolls(10, 0.03, seed)
      expect(belief!.slope).toBeGreaterThan(0.02)
      expect(belief!.slope).toBeLessThan(0.035)
    }
  })

  test('WHEN the next one is half run THEN its countdown is off by less than half of what it was on the first', () => {
    expect(wrongHalfWayM(afterRolls(10, 0.03, 1), 0.03)).toBeLessThan(0.5 * wrongHalfWayM([], 0.03))
  })

  test('WHEN another material comes to the same sensor THEN nothing is taken for granted of its drift', () => {
    const beliefs = afterRolls(10, 0.03, 1)
    const [same, other] = ['m', 'other'].map((material) => expectRoll(beliefs, '', material, LABEL_M, 0))
    expect(other!.slopeM).toBe(0)
    expect(other!.slopeSdM).toBeGreaterThan(same!.slopeSdM!)
    expect(other!.offsetM).toBe(same!.offsetM)
  })
})

describe('GIVEN a material without any drift', () => {
  test('WHEN ten of its rolls ran THEN hardly any is believed', () => {
    for (const seed of [1, 2, 3]) expect(Math.abs(afterRolls(10, 0, seed)[0]!.slope)).toBeLessThan(0.007)
  })
})

describe('the inverse of a 3×3', () => {
  test('WHEN a covariance is inverted THEN it agrees with a general library to 1e-9', () => {
    const a = [2.5e-3, 1e-6, -2e-5, 1e-6, 9e-6, 3e-7, -2e-5, 3e-7, 1e-4]
    const by = matrixInverse(Matrix.from1DArray(3, 3, a)).to1DArray()
    for (const [i, one] of inverse3(a)!.entries()) expect(one / by[i]!).toBeCloseTo(1, 9)
  })

  test('WHEN one quantity is a multiple of another THEN there is none', () => {
    expect(inverse3([1, 2, 0, 2, 4, 0, 0, 0, 1])).toBeUndefined()
  })
})
