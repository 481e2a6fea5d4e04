/**
 * The daemon as the API sees it: what is known now, what is kept, and what a person may do.
 */
import type {
  AdviceView,
  AlarmFilter,
  AlarmView,
  Command,
  ConsistencyView,
  DaemonPort,
  HealthView,
  LineView,
  SpliceFilter,
  SpliceView,
  StreamEvents,
  TraceView,
  UnwindView,
  WhatIfView,
  WhyView,
} from './api/messages.ts'
import type { EntriesView } from './api/messages-entries.ts'
import type { RollFields } from './entries.ts'
import { explain } from './history/explain.ts'
import type { HistoryStore } from './history/store.ts'
import { traceView } from './history/trace-view.ts'
import type { Messages } from './messages/message.ts'
import { recordByHand } from './outcome/record.ts'
import { contractUnit } from './signals/contract-units.ts'
import type { SpliceEntry } from './splice-review.ts'

type Listener = <K extends keyof StreamEvents>(event: K, data: StreamEvents[K]) => void

/** Alarms that stand: far fewer than this by design. */
const MOST_STANDING = 500

export interface DaemonParts {
  store: HistoryStore
  health: () => HealthView
  views: () => UnwindView[]
  advice: (unwind: string) => AdviceView | undefined
  whatIf: (unwind: string, speed: number) => WhatIfView | undefined
  lines: () => LineView[]
  consistency: (unwind: string) => ConsistencyView | undefined
  entries: (unwind: string) => EntriesView | undefined
  readLabel: (code: string) => RollFields
  siteAlarms: () => AlarmView[]
  messages: () => Messages
  enter: (command: Command) => void
  /** A person added to a splice. */
  reviewed: (splice: SpliceView) => void
}

export class LivePort implements DaemonPort {
  readonly #parts: DaemonParts
  readonly #listeners = new Set<Listener>()

  constructor(parts: DaemonParts) {
    this.#parts = parts
  }

  health(): HealthView {
    return this.#parts.health()
  }

  unwinds(): UnwindView[] {
    return this.#parts.views()
  }

  consistency(unwind: string): ConsistencyView | undefined {
    return this.#parts.consistency(unwind)
  }

  advice(unwind: string): AdviceView | undefined {
    return this.#parts.advice(unwind)
  }

  whatIf(unwind: string, speed: number): WhatIfView | undefined {
    return this.#parts.whatIf(unwind, speed)
  }

  lines(): LineView[] {
    return this.#parts.lines()
  }

  splices(filter: SpliceFilter): SpliceView[] {
    return this.#parts.store.splices(filter)
  }

  splice(id: string): SpliceView | undefined {
    return this.#parts.store.splice(id)
  }

  why(id: string): WhyView | undefined {
    const { store, messages } = this.#parts
    const splice = store.splice(id)
    return splice && explain(splice, { store, messages: messages(), unitOf: contractUnit })
  }

  addEntry(id: string, entry: SpliceEntry): SpliceView {
    const { store } = this.#parts
    store.putSpliceEntry(id, entry)
    const view = store.splice(id)!
    this.#parts.reviewed(view)
    this.publish('splice', view)
    return view
  }

  addSplice(unwind: string, startedTMs: number, entry: SpliceEntry): SpliceView {
    const made = recordByHand(unwind, startedTMs)
    this.#parts.store.putSplice(made)
    return this.addEntry(made.id, entry)
  }

  trace(id: string): TraceView | undefined {
    const { store } = this.#parts
    const splice = store.splice(id)
    if (splice === undefined) return undefined
    const points = store.tracePoints(id)
    return points.length === 0 ? undefined : traceView(splice, points, contractUnit)
  }

  alarms(filter: AlarmFilter): AlarmView[] {
    if (filter.standing !== true) return this.#parts.store.alarms(filter)
    return this.#standing()
      .filter(({ unwind }) => filter.unwind === undefined || unwind === filter.unwind)
      .slice(0, Math.min(filter.limit, MOST_STANDING))
  }

  #standing(): AlarmView[] {
    return [...this.#parts.siteAlarms(), ...this.#parts.views().flatMap(({ alarms }) => alarms)]
  }

  entries(unwind: string): EntriesView | undefined {
    return this.#parts.entries(unwind)
  }

  readLabel(code: string): RollFields {
    return this.#parts.readLabel(code)
  }

  command(command: Command): string | undefined {
    const refusal = command.kind === 'acknowledge' ? this.#refuseAlarm(command) : this.#refuseEntry(command)
    if (refusal === undefined) this.#parts.enter(command)
    return refusal
  }

  #refuseAlarm(command: { unwind: string; alarm: string }): string | undefined {
    const stands = this.#standing().some(
      ({ unwind, alarm, state }) => unwind === command.unwind && alarm === command.alarm && state !== 'normal',
    )
    return stands ? undefined : 'This alarm does not stand any more.'
  }

  #refuseEntry({ kind, unwind }: Command): string | undefined {
    const view = this.#parts.views().find((one) => one.unwind === unwind)
    if (view === undefined) return `There is no unwind ${unwind}.`
    if (kind === 'ready' && !view.ready_by_hand) {
      return `The PLC says itself whether the new roll of ${view.name} is ready: prepare it at the splicer.`
    }
    return undefined
  }

  subscribe(listener: Listener): () => void {
    this.#listeners.add(listener)
    return () => this.#listeners.delete(listener)
  }

  publish<K extends keyof StreamEvents>(event: K, data: StreamEvents[K]): void {
    for (const listener of this.#listeners) listener(event, data)
  }
}
