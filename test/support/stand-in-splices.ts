/** The stand-in's splices: what people add is kept as the daemon keeps it, in memory. */
import type { SpliceFilter, SpliceView, TraceView } from '../../edge/api/messages.ts'
import { recordByHand } from '../../edge/outcome/record.ts'
import { reviewOf, type SpliceEntry, verdictOf } from '../../edge/splice-review.ts'
import { type PastSplice, pastSplices } from './past-splices.ts'

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
          startedTMs(view) >= (filter.fromTMs ?? Number.NEGATIVE_INFINITY) &&
          startedTMs(view) <= (filter.toTMs ?? Number.POSITIVE_INFINITY),
      )
      .slice(0, filter.limit)
  }

  find(id: string): SpliceView | undefined {
    return this.#all.find(({ view }) => view.id === id)?.view
  }

  trace(id: string): TraceView | undefined {
    return this.#all.find(({ view }) => view.id === id)?.trace
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
    this.#all.push({ view, trace: undefined })
    this.#all.sort((a, b) => b.view.started.localeCompare(a.view.started))
    return this.addEntry(view.id, entry)
  }
}
