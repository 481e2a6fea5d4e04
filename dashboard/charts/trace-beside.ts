/** Another splice's trace on the time axis of the one that is looked at: moved so that their transfers coincide. Pure. */
import type { TraceView } from '../../edge/api/messages.ts'

export interface Beside {
  trace: TraceView
  /** Both have a transfer; else their starts are laid on each other. */
  isByTransfer: boolean
}

export const besideOf = (trace: Pick<TraceView, 'transfer'>, other: TraceView): Beside => ({
  trace: other,
  isByTransfer: trace.transfer !== null && other.transfer !== null,
})

const anchorMs = ({ started, transfer }: Pick<TraceView, 'started' | 'transfer'>, isByTransfer: boolean): number =>
  Date.parse(isByTransfer ? (transfer ?? started) : started)

/**
 * What the other one's signal said at each time of `trace`; between two reports of a quantity on the line between them, so
 * that two grids of sampling make no steps. Null outside of its trace and in its gaps.
 * @returns undefined where the other one has no such column.
 */
export const besideValues = (
  trace: Pick<TraceView, 'time' | 'started' | 'transfer'>,
  { trace: other, isByTransfer }: Beside,
  signal: string,
  unit: string,
): (number | null)[] | undefined => {
  const column = other.columns.find((one) => one.signal === signal && one.unit === unit)
  if (column === undefined) return undefined
  const shiftMs = anchorMs(other, isByTransfer) - anchorMs(trace, isByTransfer)
  let at = 0
  return trace.time.map((tMs) => {
    const wanted = tMs + shiftMs
    while ((other.time[at + 1] ?? Number.POSITIVE_INFINITY) <= wanted) at += 1
    const [from, to] = [other.time[at], other.time[at + 1]]
    const value = column.values[at] ?? null
    if (from === undefined || value === null || wanted < from) return null
    if (to === undefined) return wanted === from ? value : null
    const next = column.values[at + 1] ?? null
    if (column.is_state || column.meanings !== undefined || next === null) return value
    return value + ((wanted - from) / (to - from)) * (next - value)
  })
}
