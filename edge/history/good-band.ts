/**
 * How the last good splices looked, second by second: median and central 80 % of every signal, aligned at the transfer. Pure.
 */
import type { SignalPoint } from './store.ts'

/** Fewer traces than this make no band at a time. */
const LEAST_TRACES = 5
/** Fine where the cycle is, coarse around it: from (ms after the transfer) and step, ms. A trace holds a minute on either side. */
const GRID = [
  { fromMs: -60_000, stepMs: 1000 },
  { fromMs: -10_000, stepMs: 200 },
  { fromMs: 15_000, stepMs: 1000 },
  { fromMs: 61_000, stepMs: 0 },
] as const
/** Behind its last point by more than this a trace has ended, ms. */
const HOLDS_MS = 1000

export interface AlignedTrace {
  /** By time. */
  points: readonly SignalPoint[]
  transferTMs: number
}

export interface BandColumn {
  signal: string
  low: (number | null)[]
  median: (number | null)[]
  high: (number | null)[]
}

export interface Band {
  /** ms from the transfer. */
  offsetsMs: number[]
  columns: BandColumn[]
}

/**
 * @param isState - of a signal: it is only yes or no, and has no band.
 * @returns undefined where too few traces are there.
 */
export function goodBand(traces: readonly AlignedTrace[], isState: (signal: string) => boolean): Band | undefined {
  if (traces.length < LEAST_TRACES) return undefined
  const offsetsMs = GRID.slice(0, -1).flatMap(({ fromMs, stepMs }, index) => {
    const steps = Math.round((GRID[index + 1]!.fromMs - fromMs) / stepMs)
    return Array.from({ length: steps }, (_, step) => fromMs + step * stepMs)
  })
  const bySignal = new Map<string, (number | null)[][]>()
  for (const { points, transferTMs } of traces) {
    for (const [signal, own] of Map.groupBy(points, (point) => point.signal)) {
      if (isState(signal)) continue
      const rows = bySignal.get(signal) ?? []
      rows.push(onGrid(own, offsetsMs, transferTMs))
      bySignal.set(signal, rows)
    }
  }
  const columns = [...bySignal].flatMap(([signal, rows]) => columnOf(signal, rows, offsetsMs.length) ?? [])
  return columns.length === 0 ? undefined : { offsetsMs, columns }
}

/** The value held at each time; a tag holds until its next report. Null after its last one: the trace ends there. */
function onGrid(points: readonly SignalPoint[], offsetsMs: readonly number[], transferTMs: number): (number | null)[] {
  const endTMs = points[points.length - 1]?.tMs ?? 0
  let next = 0
  let held: number | null = null
  return offsetsMs.map((offset) => {
    const tMs = transferTMs + offset
    for (let point = points[next]; point !== undefined && point.tMs <= tMs; point = points[next]) {
      held = point.value
      next += 1
    }
    return tMs > endTMs + HOLDS_MS ? null : held
  })
}

/** Undefined where no moment has values enough. */
function columnOf(signal: string, rows: readonly (number | null)[][], length: number): BandColumn | undefined {
  const column: BandColumn = { signal, low: [], median: [], high: [] }
  for (let i = 0; i < length; i += 1) {
    const values = rows.map((row) => row[i] ?? null).filter((value) => value !== null)
    const isEnough = values.length >= LEAST_TRACES
    values.sort((a, b) => a - b)
    column.low.push(isEnough ? quantile(values, 0.1) : null)
    column.median.push(isEnough ? quantile(values, 0.5) : null)
    column.high.push(isEnough ? quantile(values, 0.9) : null)
  }
  return column.median.some((value) => value !== null) ? column : undefined
}

/** Linear between order statistics, at (n − 1)·p (Hyndman & Fan 1996, type 7; from memory). @param sorted - at least one. */
export function quantile(sorted: readonly number[], p: number): number {
  const at = (sorted.length - 1) * p
  const below = Math.floor(at)
  const low = sorted[below]!
  return low + (at - below) * ((sorted[below + 1] ?? low) - low)
}
