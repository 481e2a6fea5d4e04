/** One trace on another's time axis, against values that are read off by hand. */
import { describe, expect, it } from 'vitest'
import { besideOf, besideValues } from '../../dashboard/charts/trace-beside.ts'
import { toPanels } from '../../dashboard/charts/trace-panels.ts'
import type { TraceView } from '../../edge/api/messages.ts'

const T0 = Date.parse('2026-03-02T06:00:00.000Z')
const iso = (tMs: number) => new Date(tMs).toISOString()
const trace = (id: string, startedTMs: number, transferS: number | null, columns: TraceView['columns']): TraceView => ({
  id,
  unwind: 'x',
  time: [0, 1000, 2000, 3000].map((ms) => startedTMs + ms),
  columns,
  phases: [],
  started: iso(startedTMs),
  transfer: transferS === null ? null : iso(startedTMs + transferS * 1000),
})
const speed = (values: (number | null)[]) => ({ signal: 'line_speed', unit: 'm/min', is_state: false, values })
const ready = (values: (number | null)[]) => ({ signal: 'new_roll_ready', unit: '', is_state: true, values })

const bad = trace('bad', T0, 2, [speed([300, 300, 200, 0]), ready([1, 1, 0, 0])])
const good = trace('good', T0 - 3_600_000, 1.5, [speed([300, 290, 280, null]), ready([1, 0, 0, 0])])

describe('a trace beside another', () => {
  it('is moved so that the transfers coincide, and lies on the line between its reports', () => {
    // Second 2 of the one is second 1.5 of the other: everything half a second earlier.
    expect(besideValues(bad, besideOf(bad, good), 'line_speed', 'm/min')).toEqual([null, 295, 285, 280])
    expect(besideValues(bad, besideOf(bad, good), 'new_roll_ready', '')).toEqual([null, 1, 0, 0])
  })
  it('is moved start to start where one has no transfer', () => {
    const missed = trace('missed', T0, null, [speed([300, 300, 300, 300])])
    expect(besideValues(missed, besideOf(missed, good), 'line_speed', 'm/min')).toEqual([300, 290, 280, null])
  })
  it('has nothing where the other has no such signal, or has it in another unit', () => {
    expect(besideValues(bad, besideOf(bad, good), 'tension', 'N')).toBeUndefined()
    expect(besideValues(bad, besideOf(bad, good), 'line_speed', 'm/s')).toBeUndefined()
  })
  it('stands in the panel of its signal', () => {
    const [speeds] = toPanels(bad, null, null, besideOf(bad, good))
    expect(speeds!.series.map(({ label, beside }) => [label, beside])).toEqual([['line', [null, 295, 285, 280]]])
    expect(toPanels(bad)[0]!.series[0]!.beside).toBeUndefined()
  })
})
