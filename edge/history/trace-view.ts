/**
 * From a trace's points to columns over one time axis, as the API sends it and a chart draws it. Pure.
 *
 * A tag reports on change and holds its value until the next report; a null report ends the hold. So a column has, at every
 * time of the axis, the value that its signal held then, and null before its first report and after a bad one.
 */
import type { SpliceView, TraceView } from '../api/messages.ts'
import type { ColumnKind } from '../signals/column-kind.ts'
import type { SignalPoint } from './store.ts'

/**
 * @param kindOf - how a signal's points are to be read.
 */
export function traceView(
  splice: Pick<SpliceView, 'id' | 'unwind' | 'phases' | 'started' | 'transfer'>,
  points: readonly SignalPoint[],
  kindOf: (signal: string) => ColumnKind,
): TraceView {
  const time = [...new Set(points.map(({ tMs }) => tMs))].sort((a, b) => a - b)
  const bySignal = Map.groupBy(points, ({ signal }) => signal)
  const columns = [...bySignal].map(([signal, own]) => ({
    signal,
    ...kindOf(signal),
    values: heldValues(time, own),
  }))
  const { id, unwind, phases, started, transfer } = splice
  return { id, unwind, time, columns, phases, started, transfer }
}

/** The value held at each time; of several points at one time the last one counts. */
function heldValues(time: readonly number[], points: readonly SignalPoint[]): (number | null)[] {
  const ordered = points.toSorted((a, b) => a.tMs - b.tMs)
  let next = 0
  let held: number | null = null
  return time.map((tMs) => {
    for (let point = ordered[next]; point !== undefined && point.tMs <= tMs; point = ordered[next]) {
      held = point.value
      next += 1
    }
    return held
  })
}
