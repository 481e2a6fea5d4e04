/** The stand-in's splices: what people add is kept as the daemon keeps it, in memory. */
import type { Reason, SpliceFilter, SpliceView, TraceView, WhyView } from '../../edge/api/messages.ts'
import { explain, reasonFor } from '../../edge/history/explain.ts'
import type { SignalPoint } from '../../edge/history/store.ts'
import { createMessages } from '../../edge/messages/message.ts'
import { recordByHand } from '../../edge/outcome/record.ts'
import { contractUnit } from '../../edge/signals/contract-units.ts'
import { reviewOf, type SpliceEntry, verdictOf } from '../../edge/splice-review.ts'
import { wordsOf, wordsOfSplice } from '../../edge/splice-words.ts'
import { type PastSplice, pastSplices } from './past-splices.ts'

const messages = createMessages('en', { strict: true })
const unitOf = (signal: string): string => contractUnit(signal)

const pointsOf = (trace: TraceView | undefined): SignalPoint[] =>
  trace === undefined
    ? []
    : trace.columns.flatMap(({ signal, values }) =>
        values.map((value, index) => ({ unwind: trace.unwind, signal, tMs: trace.time[index]!, value })),
      )

const hasWords = (view: SpliceView, { text = '', said }: SpliceFilter): boolean => {
  const own = wordsOfSplice(view.details, view.review)
  const asked = wordsOf(text)
  if (asked.length === 0 && said === undefined) return true
  const hasAll = asked.length > 0 && asked.every((word) => own.includes(word))
  return hasAll || said?.some((word) => own.includes(word)) === true
}

export class StandInSplices {
  #all: PastSplice[]

  constructor(nowMs: number) {
    this.#all = pastSplices(nowMs)
  }

  list(filter: SpliceFilter): SpliceView[] {
    const startedTMs = (view: SpliceView) => Date.parse(view.started)
    return this.#all
      .map(({ view }) => view)
      .filter(
        (view) =>
          (filter.unwind === undefined || view.unwind === filter.unwind) &&
          (filter.outcome === undefined || verdictOf(view).outcome === filter.outcome) &&
          (filter.cause === undefined || verdictOf(view).cause === filter.cause) &&
          hasWords(view, filter) &&
          startedTMs(view) >= (filter.fromTMs ?? Number.NEGATIVE_INFINITY) &&
          startedTMs(view) <= (filter.toTMs ?? Number.POSITIVE_INFINITY) &&
          (filter.before === undefined || startedTMs(view) < filter.before.startedTMs),
      )
      .slice(0, filter.limit)
  }

  find(id: string): SpliceView | undefined {
    return this.#all.find(({ view }) => view.id === id)?.view
  }

  trace(id: string): TraceView | undefined {
    return this.#all.find(({ view }) => view.id === id)?.trace
  }

  async why(id: string): Promise<WhyView | undefined> {
    const splice = this.find(id)
    const tracePoints = (other: string): SignalPoint[] => pointsOf(this.trace(other))
    return (
      splice &&
      explain(splice, {
        store: { splices: (filter) => this.list(filter), tracePoints, kept: () => [] },
        messages,
        unitOf,
        isState: () => false,
      })
    )
  }

  reason(id: string): Reason | undefined {
    const splice = this.find(id)
    return (
      splice &&
      reasonFor(splice, {
        store: { splices: (filter) => this.list(filter), tracePoints: () => [], kept: () => [] },
        messages,
      })
    )
  }

  unshift(splice: PastSplice): void {
    this.#all.unshift(splice)
  }

  addEntry(id: string, entry: SpliceEntry): SpliceView {
    const found = this.#all.find(({ view }) => view.id === id)!
    found.view = { ...found.view, review: reviewOf([...(found.view.review?.entries ?? []), entry]) }
    return found.view
  }

  addSplice(unwind: string, startedTMs: number, entry: SpliceEntry): SpliceView {
    const view = recordByHand(unwind, startedTMs)
    if (this.find(view.id) !== undefined) return this.addEntry(view.id, entry)
    this.#all.push({ view, trace: undefined })
    this.#all.sort((a, b) => b.view.started.localeCompare(a.view.started))
    return this.addEntry(view.id, entry)
  }
}
