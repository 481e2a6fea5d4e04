/** The verb `record`: what the tags of a config do, as a recording. */
import { systemClock } from '../clock.ts'
import { loadConfigFile } from '../config/load.ts'
import { LiveSources } from '../live-sources.ts'
import { RecordingWriter } from '../record.ts'
import type { SourceHealth } from '../sources/source.ts'
import { Progress } from './progress.ts'
import { sourcePorts } from './source-ports.ts'

export interface RecordOptions {
  config: string
  out: string
  data: string
  seconds?: number
}

/** What a power cut may cost of a compressed recording, ms. */
const FLUSH_EVERY_MS = 2000

export async function recordVerb(options: RecordOptions): Promise<void> {
  const { config, warnings } = loadConfigFile(options.config)
  for (const warning of warnings) console.error(`Note: ${warning}`)
  const writer = new RecordingWriter(options.out, config)
  await writer.opened()
  const progress = new Progress()
  const told = new Map<string, string>()
  const sources = new LiveSources(await sourcePorts(options.data, 'record'), {
    sample: (sample) => writer.write(sample),
    alive: () => undefined,
    state: (source, health) => tellOnce(told, source, health),
  })
  await sources.start(config)
  const stopProgress = systemClock.every(500, () =>
    progress.show(`${writer.rows} rows written, Ctrl+C ends the recording`, systemClock.nowMs()),
  )
  const stopFlushing = systemClock.every(FLUSH_EVERY_MS, () => writer.flush())
  await untilDone(options.seconds, writer)
  stopFlushing()
  stopProgress()
  progress.done()
  await sources.stop()
  await writer.close()
  if (process.stdout.isTTY === true) console.log(`${writer.rows} rows written to ${options.out}.`)
}

function tellOnce(told: Map<string, string>, source: string, health: SourceHealth): void {
  const line = health.trouble ?? health.state
  if (told.get(source) === line) return
  told.set(source, line)
  if (health.trouble !== undefined) console.error(`${source}: ${health.trouble}`)
}

function untilDone(seconds: number | undefined, writer: RecordingWriter): Promise<void> {
  return new Promise((resolve) => {
    for (const signal of ['SIGTERM', 'SIGINT'] as const) process.once(signal, () => resolve())
    writer.onFailure(() => resolve())
    if (seconds !== undefined) {
      const stop = systemClock.every(seconds * 1000, () => {
        stop()
        resolve()
      })
    }
  })
}
