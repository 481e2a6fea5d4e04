import { expect, it } from 'vitest'
import type { SignalPoint } from '../../edge/history/store.ts'
import { traceView } from '../../edge/history/trace-view.ts'
import { START_MS, spliceView } from './store-for-tests.ts'

const at = (tMs: number, signal: string, value: number | null): SignalPoint => ({
  unwind: 'label_press',
  signal,
  tMs,
  value,
})

it('puts all signals on one time axis: held until the next report, null before the first and after a bad one', () => {
  const points = [
    at(300, 'roll_diameter', 129.5),
    at(100, 'roll_diameter', 130),
    at(200, 'line_speed', 300),
    at(400, 'line_speed', null),
    at(500, 'roll_diameter', 128),
    at(500, 'line_speed', 290),
    at(600, 'roll_diameter', 1),
    at(600, 'roll_diameter', 2),
  ]
  const kindOf = (signal: string) => ({ unit: signal === 'line_speed' ? 'm/min' : 'mm', is_state: false })
  const view = traceView(spliceView(START_MS), points, kindOf)
  expect(view.time).toEqual([100, 200, 300, 400, 500, 600])
  expect(view.columns).toEqual([
    { signal: 'roll_diameter', unit: 'mm', is_state: false, values: [130, 130, 129.5, 129.5, 128, 2] },
    { signal: 'line_speed', unit: 'm/min', is_state: false, values: [null, 300, 300, null, 290, 290] },
  ])
  expect(view).toMatchObject({ id: `label_press-${START_MS}`, unwind: 'label_press', phases: [], transfer: null })
})

it('of no points is empty', () => {
  expect(traceView(spliceView(START_MS), [], () => ({ unit: '', is_state: false }))).toMatchObject({
    time: [],
    columns: [],
  })
})
