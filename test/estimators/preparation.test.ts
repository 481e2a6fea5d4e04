import { describe, expect, test } from 'vitest'
import type { SplicerConfig } from '../../edge/config/config.ts'
import {
  notePreparation,
  preparationLeft,
  preparationTime,
  preparedNothing,
  stageTime,
} from '../../edge/estimators/learning/preparation.ts'
import { randomStream } from '../truth/random.ts'

const SPLICER = { preparation: { fetchS: 120, loadS: 60, splicePrepS: 60, totalS: 240 } } as SplicerConfig
const ROLL_MS = 1_800_000

/** One roll: not ready at its beginning, ready after so many seconds. */
function roll(learned: ReturnType<typeof preparedNothing>, i: number, readyS: number, stages?: [number, number]): void {
  const begunTMs = i * ROLL_MS
  const at = (seconds: number): number => begunTMs + seconds * 1000
  const doneTMs = stages === undefined ? {} : { fetch: at(stages[0]), load: at(stages[1]) }
  const look = (seconds: number, isReady: boolean): void =>
    notePreparation(learned, SPLICER, { tMs: at(seconds), begunTMs, isReady, doneTMs: isReady ? doneTMs : {} })
  look(1, false)
  look(readyS, true)
  // Opened once more to straighten the tape: that is no second preparation.
  look(readyS + 30, false)
  look(readyS + 60, true)
}

describe('GIVEN a crew that takes six minutes where four were configured', () => {
  test('WHEN ten rolls were prepared THEN the time is within 5 %, and one forgotten roll changes little', () => {
    for (let seed = 1; seed <= 20; seed++) {
      const random = randomStream(seed, 'preparation')
      const learned = preparedNothing()
      for (let i = 0; i < 10; i++) roll(learned, i, 360 * (1 + 0.1 * random.normal()))
      const before = preparationTime(SPLICER, learned, 10 * ROLL_MS)
      expect(Math.abs(before.mean / 360 - 1)).toBeLessThan(0.08)
      expect(before.sd).toBeGreaterThan(20)
      expect(before.sd).toBeLessThan(80)
      roll(learned, 10, 1500)
      roll(learned, 11, 900)
      expect(preparationTime(SPLICER, learned, 12 * ROLL_MS).mean).toBeCloseTo(before.mean, 0)
    }
  })

  test('WHEN stages are told THEN each is learned', () => {
    const learned = preparedNothing()
    for (let i = 0; i < 10; i++) roll(learned, i, 360, [200, 290])
    const nowMs = 10 * ROLL_MS
    expect(stageTime(SPLICER, learned, 'fetch', nowMs)).toBeCloseTo(200, -1)
    expect(stageTime(SPLICER, learned, 'load', nowMs)).toBeCloseTo(90, -1)
    expect(stageTime(SPLICER, learned, 'splice_prep', nowMs)).toBeCloseTo(70, -1)
  })

  test('WHEN stages are done THEN only the open ones are left, and the least follows the scatter', () => {
    const learned = preparedNothing()
    const left = (...done: string[]) => preparationLeft(SPLICER, learned, (stage) => done.includes(stage), 0)
    // By the config: 15 % of scatter from roll to roll, so nine in ten take longer than 1 − 1.28 · 0.15 of the usual.
    expect(left()).toEqual({ usualS: 240, leastS: expect.closeTo(240 * (1 - 1.2816 * 0.15), 2) })
    expect(left('fetch').usualS).toBe(120)
    expect(left('fetch', 'load').leastS).toBeCloseTo(60 * (1 - 1.2816 * 0.15), 2)
    // All done and not ready: the head is to be locked and the splicer armed.
    expect(left('fetch', 'load', 'splice_prep').usualS).toBe(24)
  })

  test('WHEN one crew scatters more than another THEN its least is shorter, and never below half of the usual', () => {
    const shareOf = (spread: number): number => {
      const learned = preparedNothing()
      for (let i = 0; i < 16; i++) roll(learned, i, 240 + (i % 2 === 0 ? spread : -spread))
      const { usualS, leastS } = preparationLeft(SPLICER, learned, () => false, 16 * ROLL_MS)
      return leastS / usualS
    }
    const shares = [5, 60, 110, 200].map(shareOf)
    expect(shares).toEqual([...shares].sort((a, b) => b - a))
    expect(shares[0]).toBeGreaterThan(0.85)
    expect(shares.at(-1)).toBeGreaterThanOrEqual(0.5)
  })

  test('WHEN nothing was seen, or nothing is to be prepared THEN the config counts', () => {
    expect(preparationTime(SPLICER, preparedNothing(), 0).mean).toBe(240)
    const none = { preparation: { fetchS: 0, loadS: 0, splicePrepS: 0, totalS: 0 } } as SplicerConfig
    expect(preparationTime(none, preparedNothing(), 0).mean).toBe(0)
    expect(stageTime(SPLICER, preparedNothing(), 'load', 0)).toBe(60)
  })
})

test('a roll whose beginning nobody saw teaches nothing', () => {
  const learned = preparedNothing()
  for (const isReady of [false, true])
    notePreparation(learned, SPLICER, { tMs: 1000, begunTMs: undefined, isReady, doneTMs: {} })
  expect(learned.total.seen).toEqual([])
})
