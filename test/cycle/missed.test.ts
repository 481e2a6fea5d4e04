/** What counts as a missed splice while the line stands. */
import { expect, test } from 'vitest'
import type { CycleInput } from '../../edge/cycle/cycle.ts'
import { MissedWatch } from '../../edge/cycle/missed.ts'

const input = (tMs: number, lineMps: number, diameterM: number): CycleInput =>
  ({ tMs, lineMps, isStanding: lineMps === 0, diameterM, expectedM: 0.18, overdueM: 0.003, coreM: 0.15 }) as CycleInput

test('a roll changed while the line stands is not missed for a reading that is not yet its own', () => {
  const watch = new MissedWatch()
  expect(watch.step(input(0, 5, 0.2))).toBeUndefined()
  expect(watch.step(input(10_000, 0, 0.151))).toBe(10_000)
  watch.reset()
  expect(watch.step(input(12_000, 0, 0.151))).toBeUndefined()
  // Once it has run it can be missed as any other.
  expect(watch.step(input(60_000, 5, 0.5))).toBeUndefined()
  expect(watch.step(input(90_000, 0, 0.151))).toBe(90_000)
})
