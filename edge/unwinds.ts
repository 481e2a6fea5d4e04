/**
 * All unwinds of a site in one stream of samples: each has its own pipeline, and a fault in one never touches another. Pure.
 *
 * A pipeline that throws goes on from its last snapshot, says that it does not know for a while, and raises an alarm.
 */
import type { AlarmView, ConsistencyView, LineView, SpliceView, UnwindView } from './api/messages.ts'
import type { EntriesView } from './api/messages-entries.ts'
import type { AlarmRow, ForecastRow, StoredForecast } from './columns.ts'
import { type Config, OPERATOR_SOURCE, type UnwindConfig } from './config/config.ts'
import { reasonOf } from './errors.ts'
import type { CountDifference, JointEventRow, JointView } from './joint-columns.ts'
import { lineView } from './line-views.ts'
import type { Messages } from './messages/message.ts'
import { UnwindPipeline } from './pipeline.ts'
import type { UnwindAdvisor } from './pipeline-advisor.ts'
import { entriesView } from './pipeline-entries.ts'
import type { PipelineOptions } from './pipeline-ports.ts'
import type { Sample } from './sample.ts'
import { ByTag } from './signals/by-tag.ts'
import type { SignalReading } from './signals/unwind-signals.ts'
import type { LogEntry, TrendView } from './trend-views.ts'

/** How often a pipeline's state is kept to go on from, ms of pipeline time. */
const KEEP_EVERY_MS = 10_000
const STALE_AFTER_S = 10
const TELL_AGAIN_MS = 60_000

export interface UnwindsListener {
  splice(splice: SpliceView): void
  alarm(row: AlarmRow): void
  /** An alarm's record changed: for the history. */
  alarmView?(view: AlarmView): void
  /** A setting, a service or a trend: for the history. */
  log?(entry: LogEntry): void
  /** Something is new of a joint on its way. */
  joint?(joint: JointView): void
  /** A joint arrived at a station, was seen, taken out, or was not; after `joint`. */
  jointEvent?(row: JointEventRow): void
  /** The PLC's own count of splices and the list differ. */
  countDifference?(difference: CountDifference): void
  /** Every value in the contract's unit, null where a value ended: for the history and traces. */
  signal?(unwind: string, signal: string, tMs: number, value: number | null): void
  /** A report that can't be a value of its signal: for the log. */
  ignored?(unwind: string, signal: string, sample: Sample): void
  /** A pipeline failed and was restored: for the log. The same fault again is told once a minute. */
  fault?(unwind: string, reason: string): void
}

interface Entry {
  pipeline: UnwindPipeline
  kept: unknown
  keptTMs: number
  told: { reason: string; tMs: number } | undefined
}

export class Unwinds {
  #config: Config
  readonly #options: PipelineOptions
  readonly #listener: UnwindsListener
  #entries: Entry[]
  readonly #byTag = new ByTag<Entry>()
  readonly #alive = new Map<string, number>()
  readonly #aliveAtStep = new Map<string, number>()
  #lastTMs = 0

  constructor(config: Config, messages: Messages, listener: UnwindsListener) {
    this.#config = config
    this.#listener = listener
    this.#options = {
      staleAfterS: (source) => this.#config.sources[source]?.staleAfterS ?? STALE_AFTER_S,
      materials: config.materials,
      messages,
      onSignal: listener.signal?.bind(listener),
      onIgnored: listener.ignored?.bind(listener),
    }
    this.#entries = config.unwinds.map((unwind) => this.#entry(unwind))
    this.#index()
  }

  #entry(config: UnwindConfig): Entry {
    return { pipeline: new UnwindPipeline(config, this.#options), kept: undefined, keptTMs: 0, told: undefined }
  }

  #index(): void {
    this.#byTag.clear()
    for (const entry of this.#entries) {
      for (const [source, address] of entry.pipeline.tags) this.#byTag.add(source, address, entry)
    }
  }

  get ids(): string[] {
    return this.#entries.map(({ pipeline }) => pipeline.config.id)
  }

  /** A source proved that it lives. */
  alive(source: string, tMs: number): void {
    if (tMs > (this.#alive.get(source) ?? Number.NEGATIVE_INFINITY)) this.#alive.set(source, tMs)
  }

  accept(sample: Sample): void {
    // A time that is none would hold for ever.
    if (!Number.isFinite(sample.tMs)) return
    // A report of bad quality may be the source's own obituary: it proves nothing.
    if (sample.quality !== 'bad') this.alive(sample.source, sample.tMs)
    const entries = sample.source === OPERATOR_SOURCE ? this.#entries : this.#byTag.get(sample)
    if (entries === undefined) return
    for (const entry of entries) {
      try {
        entry.pipeline.accept(sample)
      } catch (thrown) {
        this.#recover(entry, sample.tMs, thrown)
      }
    }
  }

  /** Brings every unwind to `tMs`: a multiple of the pipeline's step, after all samples up to it. */
  step(tMs: number): void {
    this.#lastTMs = tMs
    for (const [source, aliveTMs] of this.#alive) {
      if (this.#aliveAtStep.get(source) === aliveTMs) continue
      this.#aliveAtStep.set(source, aliveTMs)
      for (const { pipeline } of this.#entries) pipeline.alive(source, aliveTMs)
    }
    for (const entry of this.#entries) {
      this.#guard(entry, tMs, () => entry.pipeline.step(tMs))
      this.#hand(entry)
      if (tMs - entry.keptTMs < KEEP_EVERY_MS) continue
      this.#guard(entry, tMs, (pipeline) => {
        entry.kept = pipeline.snapshot()
      })
      entry.keptTMs = tMs
    }
  }

  #guard(entry: Entry, tMs: number, run: (pipeline: UnwindPipeline) => void): void {
    try {
      run(entry.pipeline)
    } catch (thrown) {
      this.#recover(entry, tMs, thrown)
    }
  }

  /** Asks a pipeline; where it fails, what it was restored to; where that fails too, one that knows nothing. */
  #ask<T>(entry: Entry, tMs: number, question: (pipeline: UnwindPipeline) => T): T {
    try {
      return question(entry.pipeline)
    } catch (thrown) {
      this.#recover(entry, tMs, thrown)
    }
    try {
      return question(entry.pipeline)
    } catch (thrown) {
      entry.pipeline = this.#bare(entry.pipeline.config, reasonOf(thrown), tMs)
      return question(entry.pipeline)
    }
  }

  #recover(entry: Entry, tMs: number, thrown: unknown): void {
    const reason = reasonOf(thrown)
    this.#hand(entry)
    entry.pipeline = this.#recovered(entry, reason, tMs)
    this.#hand(entry)
    this.#tell(entry, reason, tMs)
  }

  #bare(config: UnwindConfig, reason: string, tMs: number): UnwindPipeline {
    const pipeline = new UnwindPipeline(config, this.#options)
    pipeline.failed(reason, tMs)
    return pipeline
  }

  /** From the last snapshot; but what the tags said since is no guess and stays, as do the alarms that were told. */
  #recovered({ pipeline: before, kept }: Entry, reason: string, tMs: number): UnwindPipeline {
    const pipeline = this.#restored(before.config, kept)
    try {
      pipeline.adopt(before.salvage())
      pipeline.failed(reason, tMs)
      return pipeline
    } catch {
      // What failed sits in the tags' values or the alarms themselves: without them, then. The first reason is told.
      return this.#bare(before.config, reason, tMs)
    }
  }

  #restored(config: UnwindConfig, kept: unknown, isPlantAnew = false): UnwindPipeline {
    const pipeline = new UnwindPipeline(config, this.#options)
    if (kept === undefined) return pipeline
    try {
      pipeline.restore(kept, isPlantAnew)
      return pipeline
    } catch (thrown) {
      this.#listener.fault?.(config.id, `its snapshot can't be restored (${reasonOf(thrown)}), it starts anew`)
      return new UnwindPipeline(config, this.#options)
    }
  }

  /** A pipeline may fail at every sample: the log gets changes. */
  #tell(entry: Entry, reason: string, tMs: number): void {
    const { told } = entry
    if (told?.reason === reason && Math.abs(tMs - told.tMs) < TELL_AGAIN_MS) return
    entry.told = { reason, tMs }
    this.#listener.fault?.(entry.pipeline.config.id, reason)
  }

  #hand(entry: Entry): void {
    const { splices, alarms, alarmViews, log, joints, jointEvents, differences } = entry.pipeline.drain()
    for (const splice of splices) this.#listener.splice(splice)
    for (const row of alarms) this.#listener.alarm(row)
    for (const happened of log) this.#listener.log?.(happened)
    if (this.#listener.alarmView !== undefined) for (const view of alarmViews) this.#listener.alarmView(view)
    for (const joint of joints) this.#listener.joint?.(joint)
    for (const row of jointEvents) this.#listener.jointEvent?.(row)
    for (const difference of differences) this.#listener.countDifference?.(difference)
  }

  /** The forecasts as they stand, in config order, stamped with `tMs`. */
  forecasts(tMs: number): ForecastRow[] {
    return this.#entries.map((entry) => this.#ask(entry, tMs, (pipeline) => pipeline.forecast(tMs)))
  }

  /** The forecasts with the main numbers of the advice, for the store. */
  storedForecasts(tMs: number): StoredForecast[] {
    return this.#entries.map((entry) =>
      this.#ask(entry, tMs, (pipeline) => ({ ...pipeline.forecast(tMs), ...pipeline.advisor.columns(tMs) })),
    )
  }

  /** What an unwind's advisor says, freshly assessed; undefined where there is no such unwind. */
  advise<T>(unwind: string, tMs: number, question: (advisor: UnwindAdvisor) => T): T | undefined {
    const entry = this.#entries.find(({ pipeline }) => pipeline.config.id === unwind)
    if (entry === undefined) return undefined
    return this.#ask(entry, tMs, (pipeline) => {
      pipeline.forecast(tMs)
      return question(pipeline.advisor)
    })
  }

  /** Where the joints of each line will meet. */
  lines(tMs: number): LineView[] {
    return this.#config.lines.map((line) =>
      lineView(line, tMs, (unwind) => this.advise(unwind, tMs, (advisor) => advisor.lineShare())),
    )
  }

  views(tMs: number): UnwindView[] {
    return this.#entries.map((entry) => this.#ask(entry, tMs, (pipeline) => pipeline.view(tMs)))
  }

  /** What the signals of one unwind read now; empty where there is no such unwind. */
  readings(unwind: string, tMs: number): SignalReading[] {
    const entry = this.#entries.find(({ pipeline }) => pipeline.config.id === unwind)
    return entry === undefined ? [] : this.#ask(entry, tMs, (pipeline) => pipeline.entered(tMs).signals.readings(tMs))
  }

  /** Alarms that would stand, were they not suppressed or shelved. */
  alarmsAside(tMs: number): AlarmView[] {
    return this.#entries.flatMap((entry) => this.#ask(entry, tMs, (pipeline) => pipeline.alarms.aside()))
  }

  /** What people entered about one unwind; undefined where there is no such unwind. */
  entries(unwind: string, tMs: number): EntriesView | undefined {
    const entry = this.#entries.find(({ pipeline }) => pipeline.config.id === unwind)
    return entry && this.#ask(entry, tMs, (pipeline) => entriesView(pipeline.entered(tMs)))
  }

  /** Whether the tags of one unwind agree with each other; undefined where there is no such unwind. */
  consistency(unwind: string, tMs: number): ConsistencyView | undefined {
    const entry = this.#entries.find(({ pipeline }) => pipeline.config.id === unwind)
    if (entry === undefined) return undefined
    return this.#ask(entry, tMs, (pipeline) => pipeline.consistency.view(tMs, this.#options.messages))
  }

  /** Trends of one unwind that stand; undefined where there is no such unwind. */
  trends(unwind: string, tMs: number): TrendView[] | undefined {
    const entry = this.#entries.find(({ pipeline }) => pipeline.config.id === unwind)
    return entry && this.#ask(entry, tMs, (pipeline) => pipeline.trends.view())
  }

  /** Records as they stand when no more samples come. */
  finish(): SpliceView[] {
    return this.#entries.flatMap(({ pipeline }) => pipeline.finish())
  }

  snapshots(): { unwind: string; data: unknown }[] {
    return this.#entries.map((entry) => ({
      unwind: entry.pipeline.config.id,
      data: this.#ask(entry, this.#lastTMs, (pipeline) => pipeline.snapshot()),
    }))
  }

  /** @param isPlantAnew - as of a demo: another roll runs, and a splice between the two would never have been */
  restore(unwind: string, data: unknown, isPlantAnew = false): void {
    const entry = this.#entries.find(({ pipeline }) => pipeline.config.id === unwind)
    if (entry === undefined) return
    entry.pipeline = this.#restored(entry.pipeline.config, data, isPlantAnew)
    entry.kept = isPlantAnew ? entry.pipeline.snapshot() : data
  }

  /** A changed config: unwinds that stayed the same run on untouched, changed ones keep what they know. */
  apply(config: Config, changed: readonly string[]): void {
    const earlier = this.#config
    this.#config = config
    const before = new Map(this.#entries.map((entry) => [entry.pipeline.config.id, entry]))
    this.#entries = config.unwinds.map((unwind) => {
      const entry = before.get(unwind.id)
      if (entry === undefined) return this.#entry(unwind)
      const isTouched =
        changed.includes(unwind.id) || unwind.signals.some(({ tag }) => hasOtherPatience(tag.source, earlier, config))
      if (!isTouched) return entry
      const snapshot = this.#ask(entry, this.#lastTMs, (pipeline) => pipeline.snapshot())
      return { ...this.#entry(unwind), pipeline: this.#restored(unwind, snapshot), kept: snapshot }
    })
    this.#index()
  }
}

/** How long a source may be silent is its own setting, and yet each unwind's to judge. */
const hasOtherPatience = (source: string, before: Config, after: Config): boolean =>
  before.sources[source]?.staleAfterS !== after.sources[source]?.staleAfterS
