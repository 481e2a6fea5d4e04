import { describe, expect, test } from 'vitest'
import { believe, type Evidence, remember, rememberPlausible } from '../../edge/estimators/learning/evidence.ts'
import { randomStream } from '../truth/random.ts'

const DAY_MS = 86_400_000
const AN_HOUR_MS = 3_600_000
/** A stop of 1.1 s that scatters by 3 %. */
function stops(seed: number, count: number, middle = 1.1): number[] {
  const random = randomStream(seed, 'evidence')
  return Array.from({ length: count }, () => middle * (1 + 0.03 * random.normal()))
}
function learn(values: readonly number[]): Evidence {
  const evidence: Evidence = []
  for (const [i, value] of values.entries()) remember(evidence, value, i * AN_HOUR_MS)
  return evidence
}
const meanOf = (evidence: Evidence, nowMs?: number): number => believe(evidence, 1.3, 0.195, 0.036, nowMs).mean

describe('GIVEN a splicer whose stop was learned from many splices', () => {
  test('WHEN one is bad, or two THEN the belief stays within 4 %', () => {
    for (let seed = 1; seed <= 50; seed++) {
      const calm = meanOf(learn(stops(seed, 15)))
      expect(Math.abs(meanOf(learn([...stops(seed, 15), 3.3])) / calm - 1)).toBeLessThan(0.04)
      expect(Math.abs(meanOf(learn([...stops(seed, 15), 3.3, 3.2])) / calm - 1)).toBeLessThan(0.04)
      expect(Math.abs(meanOf(learn([...stops(seed, 15), 3.3, ...stops(seed + 50, 4)])) / calm - 1)).toBeLessThan(0.04)
    }
  })

  test('WHEN a valve is changed THEN three splices tell: within 5 % of the new stop in 9 of 10, and always after six', () => {
    let near = 0
    for (let seed = 1; seed <= 100; seed++) {
      const after = stops(seed + 500, 6, 0.8)
      if (Math.abs(meanOf(learn([...stops(seed, 15), ...after.slice(0, 3)])) / 0.8 - 1) < 0.05) near += 1
      expect(Math.abs(meanOf(learn([...stops(seed, 15), ...after])) / 0.8 - 1)).toBeLessThan(0.05)
    }
    expect(near).toBeGreaterThanOrEqual(90)
  })

  test('WHEN nothing changes THEN nothing is forgotten: twenty splices count, in 99 of 100 lines of 60 splices', () => {
    const whole = Array.from({ length: 300 }, (_, seed) => learn(stops(seed, 60)).length)
    expect(whole.filter((count) => count < 20).length).toBeLessThanOrEqual(3)
  })

  test('WHEN the data sheet was far off and sure of itself THEN three splices refute it', () => {
    const evidence = learn(stops(2, 3, 3))
    expect(Math.abs(believe(evidence, 1.1, 0.05, 0.03).mean / 3 - 1)).toBeLessThan(0.05)
    expect(believe(learn(stops(2, 2, 3)), 1.1, 0.05, 0.1).mean).toBeLessThan(2)
  })

  test('WHEN the line stands for a month THEN the data sheet counts half again, and what is older leaves at the next splice', () => {
    const evidence = learn(stops(3, 20))
    const lastTMs = 19 * AN_HOUR_MS
    const fresh = meanOf(evidence, lastTMs)
    const aged = meanOf(evidence, lastTMs + 30 * DAY_MS)
    expect(fresh).toBeLessThan(1.12)
    expect(aged).toBeCloseTo((fresh + 1.3) / 2, 2)
    remember(evidence, 1.1, lastTMs + 31 * DAY_MS)
    expect(evidence).toHaveLength(1)
  })
})

describe('GIVEN starts that fit what is known', () => {
  const start = (evidence: Evidence, doubted: Evidence, value: number): void => {
    const usual = evidence.length === 0 ? 0 : believe(evidence, 0, 1, 0.1).mean
    rememberPlausible(evidence, doubted, { value, tMs: 0 }, Math.abs(value - usual) < 12, 12)
  }
  test('WHEN a person presses the button at will THEN nothing is learned; WHEN the setting was changed THEN three tell', () => {
    const evidence: Evidence = []
    const doubted: Evidence = []
    for (const value of [0.5, 0.4, 0.6, 40, 75, 0.5, 41, 90, 150]) start(evidence, doubted, value)
    expect(evidence.map(({ value }) => value)).toEqual([0.5, 0.4, 0.6, 0.5])
    for (const value of [-19.5, -20.2, -20.1]) start(evidence, doubted, value)
    expect(evidence.map(({ value }) => value)).toEqual([-19.5, -20.2, -20.1])
    start(evidence, doubted, -20)
    expect(evidence).toHaveLength(4)
  })
})

describe('GIVEN starts that were read with an error of their own', () => {
  const own = 0.1
  const start = (seed: number, errorSd: number, said: number): Evidence => {
    const random = randomStream(seed, 'read with an error')
    return Array.from({ length: 20 }, (_, i) => ({
      value: own * random.normal() + errorSd * random.normal(),
      errorSd: said,
      tMs: i * AN_HOUR_MS,
    }))
  }
  const scatterOf = (errorSd: number, said: number): number => {
    const all = Array.from({ length: 400 }, (_, seed) => believe(start(seed, errorSd, said), 0, 1, own).scatter ** 2)
    return Math.sqrt(all.reduce((sum, one) => sum + one, 0) / all.length)
  }
  // Variances of independent errors add up: what is left without that of the reading is the splicer's own.
  test('WHEN the error is known THEN it is no part of the scatter of the next one', () => {
    expect(scatterOf(0.1, 0.1) / own).toBeGreaterThan(0.9)
    expect(scatterOf(0.1, 0.1) / own).toBeLessThan(1.1)
    expect(scatterOf(0.1, 0) / own).toBeGreaterThan(1.25)
  })
})
