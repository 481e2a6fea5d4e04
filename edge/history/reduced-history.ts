/**
 * Columns of the stored forecasts and signals of one unwind over a time, reduced to what a chart can show. Reads in pieces and gives
 * the process room between them: a look back over weeks must not hold up a pipeline.
 */
import type { HistoryQuery, HistoryView } from '../api/messages-history.ts'
import type { StoredForecast } from '../columns.ts'
import { MinMaxReducer } from './reduce.ts'
import type { HistoryStore, TimeSpan } from './store.ts'

const MINUTE_MS = 60_000
/** One piece of forecasts or samples: a few milliseconds of reading. */
const PIECE_MS = 30 * MINUTE_MS
/** Forecasts are kept every 5 s: finer spans would be empty in between. */
const LEAST_SPAN_MS = 5000
/** Spans at least so long are made of the minutes' own extremes. */
const ROLLUP_SPAN_MS = MINUTE_MS
/** A sampled value that is reported on change holds for no longer than this without a report, ms. */
const HOLD_MS = 10 * MINUTE_MS

type ReadStore = Pick<HistoryStore, 'forecasts' | 'signals' | 'signalRollups'>

export interface HistoryQuestion extends HistoryQuery {
  unitOf: (column: string) => string
  isForecast: (column: string) => boolean
  /** Resolves when others had their turn. */
  pause: () => Promise<void>
}

/** @returns undefined where it was cancelled. */
export async function reducedHistory(store: ReadStore, question: HistoryQuestion): Promise<HistoryView | undefined> {
  const { unwind, fromTMs, toTMs, columns } = question
  const spans = Math.max(1, Math.min(question.points, Math.ceil((toTMs - fromTMs) / LEAST_SPAN_MS)))
  const spanMs = (toTMs - fromTMs) / spans
  const reducers = new Map(columns.map((column) => [column, new MinMaxReducer(fromTMs, toTMs, spans)]))
  const forecasts = columns.filter(question.isForecast)
  const readers = columns
    .filter((column) => !question.isForecast(column))
    .map((column) => ({ column, reader: new SignalReader(store, reducers.get(column)!, spanMs) }))
  for (let at = fromTMs; at < toTMs; at += PIECE_MS) {
    if (question.isCancelled()) return undefined
    const piece = { fromTMs: at, toTMs: Math.min(at + PIECE_MS, toTMs) }
    if (forecasts.length > 0) {
      for (const row of store.forecasts(unwind, piece)) {
        const tMs = Date.parse(row.time)
        for (const column of forecasts) reducers.get(column)!.push(tMs, numberOf(row, column))
      }
    }
    for (const { column, reader } of readers) reader.read(unwind, column, piece)
    await question.pause()
  }
  return {
    unwind,
    from: new Date(fromTMs).toISOString(),
    to: new Date(toTMs).toISOString(),
    span_seconds: spanMs / 1000,
    time: Array.from({ length: spans }, (_, index) => Math.round(fromTMs + (index + 0.5) * spanMs)),
    columns: columns.map((name) => ({ name, unit: question.unitOf(name), ...reducers.get(name)!.result() })),
  }
}

const numberOf = (row: StoredForecast, column: string): number | null => {
  const value = row[column as keyof StoredForecast]
  return typeof value === 'number' ? value : null
}

interface HeldSpan {
  tMs: number
  low: number | null
  high: number | null
}

/** Feeds one signal, piece after piece. A value that is told on change holds in between. */
class SignalReader {
  readonly #store: ReadStore
  readonly #reducer: MinMaxReducer
  readonly #spanMs: number
  #held: HeldSpan | undefined

  constructor(store: ReadStore, reducer: MinMaxReducer, spanMs: number) {
    this.#store = store
    this.#reducer = reducer
    this.#spanMs = spanMs
  }

  read(unwind: string, signal: string, piece: TimeSpan): void {
    let fromTMs = piece.fromTMs
    if (this.#spanMs >= ROLLUP_SPAN_MS) {
      for (const rollup of this.#store.signalRollups(unwind, signal, 'minute', piece)) {
        this.#take(rollup)
        fromTMs = rollup.tMs + MINUTE_MS
      }
    }
    // All of it, or the newest minutes, which are not packed yet.
    for (const { tMs, value } of this.#store.signals(unwind, signal, { fromTMs, toTMs: piece.toTMs }))
      this.#take({ tMs, low: value, high: value })
  }

  #take(next: HeldSpan): void {
    const held = this.#held
    if (held !== undefined) {
      const untilTMs = Math.min(next.tMs, held.tMs + HOLD_MS)
      for (let at = held.tMs + this.#spanMs; at < untilTMs; at += this.#spanMs)
        this.#reducer.push(at, held.low, held.high)
    }
    this.#reducer.push(next.tMs, next.low, next.high)
    this.#held = { tMs: next.tMs, low: next.low, high: next.high }
  }
}
