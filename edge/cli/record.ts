/** The verb `record`: what the tags of a config do, as a recording. */
import { existsSync } from 'node:fs'
import { join } from 'node:path'
import { systemClock } from '../clock.ts'
import { tagAddress } from '../config/config.ts'
import { loadConfigFile } from '../config/load.ts'
import { EnteredReader } from '../history/entered-reader.ts'
import { LiveSources } from '../live-sources.ts'
import { isoTime } from '../outcome/record.ts'
import { RecordingWriter } from '../record.ts'
import type { SourceHealth } from '../sources/source.ts'
import { withoutRetry } from '../sources/tried-again.ts'
import { Progress } from './progress.ts'
import { sourcePorts } from './source-ports.ts'
import { plural } from './table.ts'

export interface RecordOptions {
  config: string
  out: string
  data: string
  seconds?: number
}

/** What a power cut may cost of a compressed recording, ms. */
const FLUSH_EVERY_MS = 2000
/** How often what people entered at the running monitor is asked for, ms: well within the disorder that a recording may have. */
const ENTERED_EVERY_MS = 1000

export async function recordVerb(options: RecordOptions): Promise<void> {
  const { config, warnings } = loadConfigFile(options.config)
  for (const warning of warnings) console.error(`Note: ${warning}`)
  const entered = new EnteredReader(join(options.data, 'history.sqlite'), systemClock.nowMs())
  const writer = new RecordingWriter(options.out, config, existsSync(join(options.data, 'history.sqlite')))
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
  const stopReading = systemClock.every(ENTERED_EVERY_MS, () => {
    for (const sample of entered.read()) writer.write(sample)
    if (entered.trouble !== undefined && told.get('entered') !== entered.trouble) {
      told.set('entered', entered.trouble)
      console.error(entered.trouble)
    }
  })
  const stopFlushing = systemClock.every(FLUSH_EVERY_MS, () => writer.flush())
  await untilDone(options.seconds, writer)
  stopReading()
  for (const sample of entered.read()) writer.write(sample)
  entered.close()
  stopFlushing()
  stopProgress()
  progress.done()
  const silent = silentTags(sources.health(), told)
  await sources.stop()
  await writer.close()
  for (const line of silent) console.error(line)
  // A recording that lacks a tag is found out now and not when it is needed.
  if (silent.length > 0) process.exitCode = 1
  if (writer.rows === 0) {
    process.exitCode = 1
    console.error(`Nothing was recorded: ${options.out} was not written.`)
  } else {
    const span = `from ${isoTime(writer.firstTMs)} to ${isoTime(writer.lastTMs)}`
    console.log(`${plural(writer.rows, 'row')} ${span} written to ${options.out}.`)
  }
}

/**
 * One sentence for each tag that gave no value, and one for all that a source's own trouble kept silent.
 * @param told - what was said of each source before: it is not said again.
 */
export const silentTags = (health: readonly SourceHealth[], told: ReadonlyMap<string, string> = new Map()): string[] =>
  health.flatMap(({ name, trouble, tags }) => {
    const silent = tags.filter(({ lastValue }) => lastValue === undefined)
    const ofSource = trouble === undefined ? [] : silent.filter((tag) => tag.trouble === undefined)
    const own = silent.filter((tag) => !ofSource.includes(tag))
    const sentences = own.map((tag) => {
      const why = tag.trouble ?? 'It changed nothing and said nothing: check its address with browse.'
      return `The recording holds no value of ${tagAddress(tag.tag)} of ${name}. ${withoutRetry(why)}`
    })
    if (trouble === undefined || ofSource.length === 0) return sentences
    const why = told.get(name) === trouble ? 'Why is said above.' : withoutRetry(trouble)
    const list = ofSource.map(({ tag }) => tagAddress(tag)).join(', ')
    return [`The recording holds no value of ${list} of ${name}. ${why}`, ...sentences]
  })

function tellOnce(told: Map<string, string>, source: string, health: SourceHealth): void {
  const line = health.trouble ?? health.state
  if (told.get(source) === line) return
  told.set(source, line)
  if (health.trouble !== undefined) console.error(`${source}: ${withoutRetry(health.trouble)}`)
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
