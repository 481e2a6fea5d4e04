/**
 * Everything that is kept of what happened: samples at reduced rate, forecasts, splices with their traces, alarms; here, and
 * where configured in the time-series database. What is told to screens was committed here before.
 */
import type { AlarmView, SpliceView } from '../api/messages.ts'
import type { AlarmRow, StoredForecast } from '../columns.ts'
import type { CountDifference, JointEventRow, JointView } from '../joint-columns.ts'
import type { Sample } from '../sample.ts'
import { ReducedRate } from './reduced-rate.ts'
import type { SignalPoint, Store } from './store.ts'
import { type OpenTrace, TraceRecorder } from './trace-recorder.ts'

/** The part of a database output that history feeds. */
export interface ResultsOutput {
  forecasts(rows: readonly StoredForecast[]): void
  signals(points: readonly SignalPoint[]): void
  splice(splice: SpliceView): void
  alarm(row: AlarmRow): void
  jointEvent(row: JointEventRow): void
}

/** One forecast in so many seconds is kept: between two the countdown is a straight line. */
const FORECAST_EVERY_MS = 5000

export class History {
  readonly #store: Store
  readonly #output: ResultsOutput | undefined
  readonly #reduced = new ReducedRate()
  readonly #traces = new Map<string, TraceRecorder>()
  #points: SignalPoint[] = []

  constructor(store: Store, output: ResultsOutput | undefined) {
    this.#store = store
    this.#output = output
  }

  #traceOf(unwind: string): TraceRecorder {
    const known = this.#traces.get(unwind)
    if (known !== undefined) return known
    const recorder = new TraceRecorder(this.#store)
    this.#traces.set(unwind, recorder)
    return recorder
  }

  signal(unwind: string, signal: string, tMs: number, value: number | null): void {
    const point = { unwind, signal, tMs, value }
    this.#traceOf(unwind).push(point)
    this.#points.push(point)
  }

  /** Called a few times a second: hands on what gathered since. */
  settle(): void {
    if (this.#points.length === 0) return
    const kept = this.#reduced.take(this.#points)
    this.#points = []
    this.#store.addSignals(kept)
    this.#output?.signals(kept)
  }

  /** @param of - gives the rows where they are due. */
  forecasts(of: () => readonly StoredForecast[], tMs: number): void {
    if (tMs % FORECAST_EVERY_MS !== 0) return
    const rows = of()
    this.#store.addForecasts(rows)
    this.#output?.forecasts(rows)
  }

  splice(splice: SpliceView): void {
    this.#store.putSplice(splice)
    const recorder = this.#traceOf(splice.unwind)
    recorder.begin(splice.id, Date.parse(splice.started))
    const endMs = splice.ended ?? splice.transfer
    if (endMs !== null) recorder.end(splice.id, Date.parse(endMs))
    this.#output?.splice(splice)
  }

  joint(joint: JointView): void {
    const { id, unwind, made } = joint
    this.#store.putKept({ kind: 'joint', id, unwind, tMs: Date.parse(made), view: JSON.stringify(joint) })
  }

  jointEvent(row: JointEventRow): void {
    const { time, unwind, joint, station, event } = row
    const id = `${joint}/${station}/${event}`
    this.#store.putKept({ kind: 'joint_event', id, unwind, tMs: Date.parse(time), view: JSON.stringify(row) })
    this.#output?.jointEvent(row)
  }

  countDifference(difference: CountDifference): void {
    const { unwind, time, kind } = difference
    const id = `${unwind}-${time}-${kind}`
    const view = JSON.stringify(difference)
    this.#store.putKept({ kind: 'count_difference', id, unwind, tMs: Date.parse(time), view })
  }

  /** What a person entered, as it came in: a recording that is written beside the monitor takes it from here. */
  entered(sample: Sample): void {
    const { tMs, address } = sample
    const view = JSON.stringify(sample)
    this.#store.putKept({ kind: 'entered', id: `${tMs}-${address}`, unwind: address.split('/')[1] ?? '', tMs, view })
  }

  alarm(row: AlarmRow): void {
    this.#output?.alarm(row)
  }

  alarmView(view: AlarmView): void {
    this.#store.putAlarm(view)
  }

  /** Traces that are still being written, to go on with after a restart. */
  snapshot(): { unwind: string; traces: OpenTrace[] }[] {
    return [...this.#traces].map(([unwind, recorder]) => ({ unwind, traces: recorder.snapshot() }))
  }

  restore(state: readonly { unwind: string; traces: OpenTrace[] }[]): void {
    for (const { unwind, traces } of state) {
      for (const trace of traces) this.#traceOf(unwind).resume(trace, this.#store.tracePoints(trace.spliceId))
    }
  }
}
