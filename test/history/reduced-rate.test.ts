import fc from 'fast-check'
import { expect, it } from 'vitest'
import { ReducedRate } from '../../edge/history/reduced-rate.ts'
import type { SignalPoint } from '../../edge/history/store.ts'

const at = (tMs: number, value: number | null, signal = 'line_speed', unwind = 'label_press'): SignalPoint => ({
  unwind,
  signal,
  tMs,
  value,
})
const times = (points: readonly SignalPoint[]): number[] => points.map(({ tMs }) => tMs)

it('keeps one measured value per second, unwind and signal', () => {
  const rate = new ReducedRate()
  const points = Array.from({ length: 30 }, (_, i) => at(i * 100, i))
  expect(times(rate.take(points))).toEqual([0, 1000, 2000])
  expect(rate.take([at(2900, 1, 'roll_diameter'), at(2900, 1, 'line_speed', 'coater')])).toHaveLength(2)
})

it('keeps every change of a state, however short, and none of its repetitions', () => {
  const rate = new ReducedRate()
  const points = [0, 0, 1, 0, 0, 1].map((value, i) => at(i * 10, value, 'splice_active'))
  expect(times(rate.take(points))).toEqual([0, 20, 30, 50])
  expect(rate.take([at(90_000, 1, 'splice_active')])).toEqual([])
})

it('keeps the loss and the return of a value', () => {
  const rate = new ReducedRate()
  expect(times(rate.take([at(0, 1), at(100, null), at(200, null), at(300, 2), at(400, 3)]))).toEqual([0, 100, 300])
})

it('thins what a source delivers late after an outage in the same way', () => {
  const rate = new ReducedRate()
  rate.take([at(0, 1), at(30_000, null)])
  const late = Array.from({ length: 50 }, (_, i) => at(10_000 + i * 100, i))
  expect(times(rate.take(late))).toEqual([10_000, 11_000, 12_000, 13_000, 14_000])
})

it('never keeps more than one measured value a second in order of time, plus one per loss and return', () => {
  const steps = fc.array(fc.tuple(fc.integer({ min: 0, max: 700 }), fc.option(fc.integer(), { nil: null })))
  fc.assert(
    fc.property(steps, (deltas) => {
      let tMs = 0
      const points = deltas.map(([dt, value]) => at((tMs += dt), value))
      const switches = points.filter((p, i) => i > 0 && (p.value === null) !== (points[i - 1]!.value === null)).length
      const kept = new ReducedRate().take(points)
      expect(kept.length).toBeLessThanOrEqual(new Set(points.map((p) => Math.floor(p.tMs / 1000))).size + switches)
      if (points.length > 0) expect(kept[0]).toBe(points[0])
    }),
  )
})
