import fc from 'fast-check'
import { describe, expect, test } from 'vitest'
import {
  type LineJoint,
  meetingProbability,
  meetings,
  neededGapM,
  overlapProbability,
  overlaps,
  type Preparation,
} from '../../edge/advice/lines.ts'
import { randomStream } from '../truth/random.ts'

const joint = (unwind: string, metres: number, sdM: number, number = 1, earliestByM = 1000): LineJoint => ({
  unwind,
  number,
  metres,
  sdM,
  earliestByM,
})
const preparation = (unwind: string, startS: number, sdS: number, lengthS: number): Preparation => ({
  unwind,
  startS,
  sdS,
  lengthS,
})
const NO_VALUE = () => ({ pricePerM: undefined, currency: undefined, kgPerM: undefined })
const RUNS = 200_000

describe('the probability that two joints come closer than allowed', () => {
  test('closed form: equal positions, 3 m apart at least, 3 m of spread: within one standard deviation, 68.27 %', () => {
    expect(meetingProbability(0, 3, 3)).toBeCloseTo(0.682689, 6)
    expect(meetingProbability(3, 3, 3)).toBeCloseTo(0.5 - 0.02275, 5)
  })

  test.each([
    [0, 5, 5, 3],
    [4, 6, 2, 3],
    [12, 5, 4, 5],
    [-7, 1, 8, 2],
  ])('Monte Carlo within 1 %: gap %d m, sds %d and %d m, separation %d m', (gapM, one, other, separationM) => {
    const random = randomStream(3, `meeting ${gapM}`)
    let near = 0
    for (let i = 0; i < RUNS; i += 1) {
      if (Math.abs(gapM + other * random.normal() - one * random.normal()) < separationM) near += 1
    }
    expect(Math.abs(near / RUNS - meetingProbability(gapM, Math.hypot(one, other), separationM))).toBeLessThan(0.01)
  })

  test('a needed gap has the accepted risk, and without a spread is the separation', () => {
    expect(meetingProbability(neededGapM(4, 3, 0.01), 4, 3)).toBeCloseTo(0.01, 8)
    expect(neededGapM(0, 3, 0.01)).toBe(3)
  })
})

describe('the advice', () => {
  const told = meetings([joint('inner', 400, 3), joint('outer', 402, 4)], 3, 0.01, NO_VALUE)

  test('splices the first one early, by the metres that bring the risk down', () => {
    expect(told).toHaveLength(1)
    const { probability, advice, gapM, gapSdM } = told[0]!
    expect([gapM, gapSdM]).toEqual([2, 5])
    expect(probability).toBeCloseTo(meetingProbability(2, 5, 3), 12)
    expect(advice?.unwind).toBe('inner')
    expect(meetingProbability(2 + advice!.earlyM, 5, 3)).toBeCloseTo(0.01, 6)
  })

  test('is only given where the risk is not accepted', () => {
    const rare = meetings([joint('inner', 400, 3), joint('outer', 416, 4)], 3, 0.01, NO_VALUE)
    expect(rare[0]?.probability).toBeGreaterThan(0.001)
    expect(rare[0]?.advice).toBeUndefined()
    expect(meetings([joint('inner', 400, 3), joint('outer', 450, 4)], 3, 0.01, NO_VALUE)).toEqual([])
  })

  test('takes the cheaper web where both have a price', () => {
    const prices = (unwind: string) => ({ pricePerM: unwind === 'inner' ? 1 : 0.1, currency: 'EUR', kgPerM: undefined })
    const [dear] = meetings([joint('inner', 400, 3), joint('outer', 402, 4)], 3, 0.01, prices)
    expect(dear?.advice?.unwind).toBe('outer')
    // It overtakes the first one: the gap and what is needed beyond it.
    expect(dear?.advice?.earlyM).toBeCloseTo(neededGapM(5, 3, 0.01) + 2, 6)
  })

  test('cannot move a joint that was made, nor splice earlier than now, nor into a third joint', () => {
    const made = meetings([joint('inner', 10, 0.5, 0), joint('outer', 11, 2)], 3, 0.01, NO_VALUE)
    expect(made[0]?.advice?.unwind).toBe('outer')
    const late = meetings([joint('inner', 10, 1, 1, 2), joint('outer', 11, 1, 1, 2)], 3, 0.01, NO_VALUE)
    expect(late[0]?.probability).toBeGreaterThan(0.5)
    expect(late[0]?.advice).toBeUndefined()
    // 6.3 m earlier the inner joint would meet the third unwind's.
    const third = meetings([joint('inner', 400, 1), joint('outer', 401, 1), joint('third', 394, 1)], 3, 0.01, NO_VALUE)
    const between = third.find(({ first }) => first.unwind === 'inner')
    expect(between?.advice?.unwind).not.toBe('inner')
  })

  test('joints of one unwind never meet', () => {
    expect(meetings([joint('inner', 400, 3), joint('inner', 401, 3, 2)], 3, 0.01, NO_VALUE)).toEqual([])
  })
})

describe('the probability that preparations overlap', () => {
  test('closed form: both begin at the same time, or one after the other has ended', () => {
    expect(overlapProbability([preparation('a', 100, 0, 240), preparation('b', 100, 0, 240)])).toBe(1)
    expect(overlapProbability([preparation('a', 100, 0, 240), preparation('b', 341, 0, 240)])).toBe(0)
    // The first ends as the second begins, give or take 50 s: one half.
    expect(overlapProbability([preparation('a', 100, 30, 240), preparation('b', 340, 40, 240)])).toBeCloseTo(0.5, 6)
  })

  const runs: [string, Preparation[]][] = [
    ['two', [preparation('a', 100, 60, 240), preparation('b', 300, 20, 120)]],
    ['three', [preparation('a', 100, 60, 240), preparation('b', 250, 20, 120), preparation('c', 200, 90, 300)]],
    [
      'three, one of them fixed',
      [preparation('a', 100, 0, 240), preparation('b', 250, 20, 120), preparation('c', 200, 90, 300)],
    ],
  ]
  test.each(runs)('Monte Carlo within 1 %%: %s', (name, all) => {
    const random = randomStream(11, name)
    let together = 0
    for (let i = 0; i < RUNS; i += 1) {
      const starts = all.map(({ startS, sdS }) => startS + sdS * random.normal())
      const end = Math.min(...all.map(({ lengthS }, k) => starts[k]! + lengthS))
      if (Math.max(...starts) < end) together += 1
    }
    expect(Math.abs(together / RUNS - overlapProbability(all))).toBeLessThan(0.01)
  })

  test('of two the quadrature and the closed form agree', () => {
    const [a, b] = [preparation('a', 100, 60, 240), preparation('b', 300, 20, 120)]
    const always = preparation('c', -1e5, 0, 1e6)
    expect(overlapProbability([a, b, always])).toBeCloseTo(overlapProbability([a, b]), 6)
  })

  test('a crew of two minds three at once, not two', () => {
    const all = ['a', 'b', 'c'].map((name) => preparation(name, 100, 5, 240))
    expect(overlaps(all, 1).map(({ unwinds }) => unwinds)).toEqual([
      ['a', 'b'],
      ['a', 'c'],
      ['b', 'c'],
    ])
    expect(overlaps(all, 2).map(({ unwinds }) => unwinds)).toEqual([['a', 'b', 'c']])
    expect(overlaps(all, 3)).toEqual([])
  })
})

test('no input gives NaN or a probability beyond 0 and 1', () => {
  const value = fc.double({ min: -1e6, max: 1e6, noNaN: true })
  const size = fc.oneof(fc.constant(0), fc.double({ min: 0, max: 1e5, noNaN: true }))
  const joints = fc.array(
    fc.record({
      unwind: fc.constantFrom('a', 'b', 'c'),
      number: fc.nat(3),
      metres: value,
      sdM: size,
      earliestByM: size,
    }),
    { maxLength: 6 },
  )
  const isShare = (p: number): void => {
    expect(p).toBeGreaterThanOrEqual(0)
    expect(p).toBeLessThanOrEqual(1)
  }
  fc.assert(
    fc.property(joints, size, fc.double({ min: 1e-6, max: 0.5, noNaN: true }), (all, separationM, risk) => {
      for (const { probability, advice } of meetings(all, separationM, risk, NO_VALUE)) {
        isShare(probability)
        if (advice !== undefined) expect(advice.earlyM).toBeGreaterThan(0)
      }
    }),
  )
  fc.assert(
    fc.property(
      fc.array(fc.record({ unwind: fc.string(), startS: value, sdS: size, lengthS: size }), {
        minLength: 2,
        maxLength: 3,
      }),
      (all) => isShare(overlapProbability(all)),
    ),
    { numRuns: 50 },
  )
})
