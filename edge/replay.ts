/**
 * A recording through the very same pipeline that runs live. No clock: every result is stamped with pipeline time, so the
 * same recording and config always give the same output.
 */
import type { SpliceView } from './api/messages.ts'
import type { AlarmRow, ForecastRow } from './columns.ts'
import type { Config } from './config/config.ts'
import { recordingTags } from './config/tags.ts'
import type { CountDifference, JointEventRow, JointView } from './joint-columns.ts'
import { siteMessages } from './languages.ts'
import { STEP_MS } from './pipeline.ts'
import type { Sample } from './sample.ts'
import { newReport, type RecordingReport, readRecording } from './sources/recording.ts'
import { Unwinds } from './unwinds.ts'

export interface ReplaySink {
  forecast(row: ForecastRow): void
  alarm(row: AlarmRow): void
  /** Called at the end, ordered by `started`. */
  splice(row: SpliceView): void
  /** Something is new of a joint on its way. */
  joint?(joint: JointView): void
  /** Something happened to a joint at a station. */
  jointEvent?(row: JointEventRow): void
  /** The PLC's own count of splices and the list differ. */
  countDifference?(difference: CountDifference): void
  fault?(unwind: string, reason: string): void
}

/** Steps through samples on the pipeline's grid: a step sees every sample with a time up to its own. */
export class Replay {
  readonly unwinds: Unwinds
  readonly #sink: ReplaySink
  readonly #everyMs: number
  readonly #splices = new Map<string, SpliceView>()
  readonly #order: Map<string, number>
  #nextMs: number | undefined
  #lastMs = 0

  /** @param everyS - time between two rows of the forecast, s. */
  constructor(config: Config, sink: ReplaySink, everyS = 1) {
    this.#sink = sink
    this.#everyMs = Math.round(everyS * 1000)
    this.#order = new Map(config.unwinds.map(({ id }, index) => [id, index]))
    this.unwinds = new Unwinds(config, siteMessages(config.site.language), {
      splice: (splice) => this.#splices.set(splice.id, splice),
      alarm: (row) => sink.alarm(row),
      joint: (joint) => sink.joint?.(joint),
      jointEvent: (row) => sink.jointEvent?.(row),
      countDifference: (difference) => sink.countDifference?.(difference),
      fault: (unwind, reason) => sink.fault?.(unwind, reason),
    })
  }

  /** Samples in order of time. */
  take(samples: readonly Sample[]): void {
    for (const sample of samples) {
      this.#nextMs ??= Math.ceil(sample.tMs / STEP_MS) * STEP_MS
      if (sample.tMs > this.#nextMs) this.#stepTo(sample.tMs - 1)
      this.unwinds.accept(sample)
      this.#lastMs = sample.tMs
    }
  }

  #stepTo(tMs: number): void {
    let next = this.#nextMs!
    for (; next <= tMs; next += STEP_MS) {
      this.unwinds.step(next)
      if (next % this.#everyMs === 0) for (const row of this.unwinds.forecasts(next)) this.#sink.forecast(row)
    }
    this.#nextMs = next
  }

  /** No more samples come. */
  finish(): void {
    if (this.#nextMs === undefined) return
    this.#stepTo(this.#lastMs)
    for (const splice of this.unwinds.finish()) this.#splices.set(splice.id, splice)
    const order = (splice: SpliceView): number => this.#order.get(splice.unwind) ?? 0
    const splices = [...this.#splices.values()].sort((a, b) =>
      a.started < b.started ? -1 : a.started > b.started ? 1 : order(a) - order(b),
    )
    for (const splice of splices) this.#sink.splice(splice)
  }

  get lastTMs(): number {
    return this.#lastMs
  }
}

export interface ReplayOptions {
  everyS?: number
  /** Called now and then, with the share of the file that was read. */
  onProgress?: (share: number, tMs: number) => void
  /** Called between pieces: lets a writer catch up. */
  pause?: () => Promise<void>
}

/** Replays a file. @throws LastwrapError where the file can't be read at all. */
export async function replayFile(
  config: Config,
  path: string,
  sink: ReplaySink,
  options: ReplayOptions = {},
): Promise<RecordingReport> {
  const report = newReport()
  const tags = recordingTags(config)
  const replay = new Replay(config, sink, options.everyS)
  for await (const samples of readRecording(path, tags, report)) {
    replay.take(samples)
    await options.pause?.()
    options.onProgress?.(report.bytesTotal === 0 ? 1 : report.bytesRead / report.bytesTotal, replay.lastTMs)
  }
  replay.finish()
  return report
}
