/**
 * The daemon as the API sees it: what is known now, what is kept, and what a person may do.
 */
import { setImmediate } from 'node:timers/promises'
import { refuseDepth } from './advice/flag-depth.ts'
import type {
  AdviceView,
  AlarmFilter,
  AlarmView,
  Command,
  ConsistencyView,
  DaemonPort,
  HealthView,
  LineView,
  Reason,
  SpliceFilter,
  SpliceView,
  StreamEvents,
  TraceView,
  UnwindView,
  WhatIfView,
  WhyView,
} from './api/messages.ts'
import type { EntriesView } from './api/messages-entries.ts'
import type { HistoryQuery, HistoryView } from './api/messages-history.ts'
import type { SpanFilter } from './api/messages-joints.ts'
import type { SignalsView } from './api/messages-signals.ts'
import { type AlarmId, COLUMN_UNITS } from './columns.ts'
import { withStatedUnits } from './consistency/stated-units.ts'
import type { ReadLabel } from './entries.ts'
import { HandoverDesk } from './handover-desk.ts'
import { explain, reasonFor } from './history/explain.ts'
import { reducedHistory } from './history/reduced-history.ts'
import type { HistoryStore } from './history/store.ts'
import { traceView } from './history/trace-view.ts'
import type { CountDifference, JointEventRow, JointView } from './joint-columns.ts'
import type { Messages } from './messages/message.ts'
import type { Words } from './messages/render.ts'
import { recordByHand } from './outcome/record.ts'
import { plannedOf } from './outcome/why-said.ts'
import { type ColumnKind, columnKindIn } from './signals/column-kind.ts'
import { contractUnit } from './signals/contract-units.ts'
import type { SpliceEntry } from './splice-review.ts'
import { type DeskParts, TrendsDesk } from './trends-desk.ts'

type Listener = <K extends keyof StreamEvents>(event: K, data: StreamEvents[K]) => void

/** Alarms that stand: far fewer than this by design. */
const MOST_STANDING = 500

export interface DaemonParts extends Omit<DeskParts, 'alarms' | 'store'> {
  store: HistoryStore
  health: () => HealthView
  views: () => UnwindView[]
  advice: (unwind: string) => AdviceView | undefined
  whatIf: (unwind: string, speed: number) => WhatIfView | undefined
  lines: () => LineView[]
  consistency: (unwind: string) => ConsistencyView | undefined
  entries: (unwind: string) => EntriesView | undefined
  readLabel: (code: string) => ReadLabel
  signals: () => SignalsView
  alarmsAside: () => AlarmView[]
  siteAlarmsAside: () => AlarmView[]
  siteAlarms: () => AlarmView[]
  messages: () => Messages
  enter: (command: Command) => void
  /** A person added to a splice. */
  reviewed: (splice: SpliceView) => void
}

export class LivePort implements DaemonPort {
  readonly #parts: DaemonParts
  readonly #listeners = new Set<Listener>()
  readonly desk: TrendsDesk
  readonly handover: HandoverDesk

  constructor(parts: DaemonParts) {
    this.#parts = parts
    this.desk = new TrendsDesk({ ...parts, alarms: () => this.#standing() })
    const { store, nowMs, config } = parts
    this.handover = new HandoverDesk({ port: this, store, nowMs, site: () => config().site })
  }

  health(): HealthView {
    return this.#parts.health()
  }

  unwinds(): UnwindView[] {
    return this.#parts.views()
  }

  consistency(unwind: string): ConsistencyView | undefined {
    const { consistency, config, signals, messages } = this.#parts
    const view = consistency(unwind)
    const unwindConfig = config().unwinds.find(({ id }) => id === unwind)
    return view && unwindConfig && withStatedUnits(view, unwindConfig, signals().tags, messages())
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

  async why(id: string): Promise<WhyView | undefined> {
    const { store, messages } = this.#parts
    const splice = store.splice(id)
    return (
      splice && explain(splice, { store, messages: messages(), ...this.#signalsOf(splice), ...this.#plannedOf(splice) })
    )
  }

  reason(id: string): Reason | undefined {
    const { store, messages } = this.#parts
    const splice = store.splice(id)
    return splice && reasonFor(splice, { store, messages: messages(), ...this.#plannedOf(splice) })
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
    if (points.length === 0) return undefined
    return traceView(splice, points, this.#kindOf(splice))
  }

  #kindOf({ unwind, details }: SpliceView): (signal: string) => ColumnKind {
    const signals = this.#parts.config().unwinds.find(({ id }) => id === unwind)?.signals ?? []
    return columnKindIn(signals, details.extra)
  }

  /** What has a usual band: no words. */
  #signalsOf(splice: SpliceView) {
    const kindOf = this.#kindOf(splice)
    const isState = (signal: string): boolean => kindOf(signal).is_state || kindOf(signal).meanings !== undefined
    return { unitOf: (signal: string) => kindOf(signal).unit, isState }
  }

  #plannedOf({ unwind }: SpliceView) {
    const splicer = this.#parts.config().unwinds.find(({ id }) => id === unwind)?.splicer
    return { planned: splicer && plannedOf(splicer) }
  }

  joints(filter: SpanFilter): JointView[] {
    return this.#parts.store.kept('joint', filter).map(({ view }) => JSON.parse(view) as JointView)
  }

  jointEvents(filter: SpanFilter): JointEventRow[] {
    return this.#parts.store.kept('joint_event', filter).map(({ view }) => JSON.parse(view) as JointEventRow)
  }

  countDifferences(filter: SpanFilter): CountDifference[] {
    return this.#parts.store.kept('count_difference', filter).map(({ view }) => JSON.parse(view) as CountDifference)
  }

  alarms(filter: AlarmFilter): AlarmView[] {
    if (filter.standing !== true) return this.#parts.store.alarms(filter)
    return this.#standing()
      .filter(({ unwind }) => filter.unwind === undefined || unwind === filter.unwind)
      .slice(0, Math.min(filter.limit, MOST_STANDING))
  }

  alarmsAside(): AlarmView[] {
    return [...this.#parts.siteAlarmsAside(), ...this.#parts.alarmsAside()]
  }

  #standing(): AlarmView[] {
    return [...this.#parts.siteAlarms(), ...this.#parts.views().flatMap(({ alarms }) => alarms)]
  }

  entries(unwind: string): EntriesView | undefined {
    return this.#parts.entries(unwind)
  }

  signals(): SignalsView {
    return this.#parts.signals()
  }

  hasColumn(unwind: string, name: string): boolean {
    if (Object.hasOwn(COLUMN_UNITS, name)) return true
    return this.#parts
      .signals()
      .tags.some(({ uses }) => uses.some((use) => use.unwind === unwind && use.signal === name))
  }

  history(query: HistoryQuery): Promise<HistoryView | undefined> {
    const isForecast = (column: string): column is keyof typeof COLUMN_UNITS => Object.hasOwn(COLUMN_UNITS, column)
    return reducedHistory(this.#parts.store, {
      ...query,
      isForecast,
      unitOf: (column) => (isForecast(column) ? COLUMN_UNITS[column] : contractUnit(column)),
      pause: setImmediate,
    })
  }

  readLabel(code: string): ReadLabel {
    return this.#parts.readLabel(code)
  }

  command(command: Command): Words | undefined {
    const isAboutAlarm = command.kind === 'acknowledge' || command.kind === 'shelve'
    const refusal = isAboutAlarm ? this.#refuseAlarm(command) : this.#refuseEntry(command)
    if (refusal === undefined) this.#parts.enter(command)
    return refusal
  }

  #refuseAlarm(command: Extract<Command, { alarm: AlarmId }>): Words | undefined {
    const isMeant = ({ unwind, alarm }: AlarmView): boolean => unwind === command.unwind && alarm === command.alarm
    if (command.kind === 'shelve' && command.seconds === 0) {
      return this.alarmsAside().some((one) => isMeant(one) && one.shelved_until !== null)
        ? undefined
        : { key: 'refusal.alarm_not_aside' }
    }
    const one = this.#standing().find((alarm) => isMeant(alarm) && alarm.state !== 'normal')
    if (one === undefined) return { key: 'refusal.alarm_gone' }
    return command.kind === 'shelve' && one.cleared !== null ? { key: 'refusal.alarm_over' } : undefined
  }

  #refuseEntry(command: Command): Words | undefined {
    const { kind, unwind } = command
    const view = this.#parts.views().find((one) => one.unwind === unwind)
    if (view === undefined) return { key: 'refusal.unwind_gone', parameters: { unwind } }
    if (kind === 'ready' && !view.ready_by_hand) {
      return { key: 'refusal.ready_by_plc', parameters: { name: view.name } }
    }
    if (kind === 'flag') {
      const deepest = this.#parts.advice(unwind)?.deepest_flag
      return refuseDepth(command.depth, deepest?.[command.roll] ?? null, command.roll)
    }
    if (kind === 'joint_out') return refuseJoint(view, command.joint, command.station)
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

function refuseJoint(view: UnwindView, id: string, name: string): Words | undefined {
  const joint = view.joints.find((one) => one.id === id)
  const station = joint?.stations.find((one) => one.station === name)
  if (station === undefined) return { key: 'refusal.joint_gone' }
  return station.out === null ? undefined : { key: 'refusal.joint_confirmed' }
}
