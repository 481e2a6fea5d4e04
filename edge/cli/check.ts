/** The verb `check`: is the config right, and what does each source, tag or recording say to it? */
import { systemClock } from '../clock.ts'
import { type Config, type SignalConfig, tagAddress } from '../config/config.ts'
import { loadConfigFile } from '../config/load.ts'
import { keyOfTag, usesOfTags } from '../config/tags.ts'
import { LastwrapError } from '../errors.ts'
import { probeSources, type SourceProbe } from '../probe.ts'
import { readValue } from '../signals/value.ts'
import { checkRecording } from './check-recording.ts'
import { Progress } from './progress.ts'
import { sourcePorts } from './source-ports.ts'
import { table } from './table.ts'

export interface CheckOptions {
  config: string
  data: string
  recording?: string
  json?: boolean
  offline?: boolean
  timeout: number
}

export async function check(options: CheckOptions): Promise<void> {
  const { config, warnings } = loadConfigFile(options.config)
  if (options.json === true) {
    if (options.recording === undefined) {
      throw new LastwrapError('wrong_input', 'The option --json belongs to --recording: add --recording FILE.')
    }
    await checkRecording(config, options.config, options.recording, { isJson: true, warnings })
    return
  }
  const unwinds = config.unwinds.length
  console.log(
    `${options.config} is a valid config: ${config.site.name}, ${plural(Object.keys(config.sources).length, 'source')}, ${plural(unwinds, 'unwind')}.`,
  )
  for (const warning of warnings) console.log(`Note: ${warning}`)
  if (options.recording !== undefined) {
    await checkRecording(config, options.config, options.recording, { isJson: false, warnings })
    return
  }
  if (options.offline === true) return
  await probe(config, options)
}

async function probe(config: Config, options: CheckOptions): Promise<void> {
  const progress = new Progress()
  const probes = await probeSources(config, {
    timeoutMs: options.timeout * 1000,
    ports: await sourcePorts(options.data, 'check'),
    onProgress: (answered, all) => progress.show(`${answered} of ${all} tags answered`, systemClock.nowMs()),
  })
  progress.done()
  const uses = usesOfTags(config)
  for (const source of probes) report(source, uses)
  const silent = probes.flatMap(({ tags }) => tags).filter(({ trouble }) => trouble !== undefined).length
  const away = probes.filter(({ isReachable }) => !isReachable).length
  if (silent + away > 0) {
    console.log(`\n${plural(away, 'source')} not reached, ${plural(silent, 'tag')} in trouble: see above.`)
    process.exitCode = 1
  } else console.log('\nEvery tag answered. Hold the values against what the machine shows before you trust them.')
}

function report(source: SourceProbe, uses: ReturnType<typeof usesOfTags>): void {
  const offset = source.clockOffsetMs ?? 0
  const clock = Math.abs(offset) < 1000 ? '' : `, its clock is ${describeOffset(offset)}`
  console.log(`\n${source.name}: ${source.isReachable ? `connected${clock}` : 'not reached'}`)
  if (source.trouble !== undefined) console.log(`  ${source.trouble}`)
  // One line per signal: a word of status bits feeds several, each with its own meaning.
  const rows = source.tags.flatMap((tag) =>
    (uses.get(keyOfTag(tag.tag)) ?? []).map(({ unwind, signal }) => [
      `${unwind}.${signal.signal}${signal.spindle === undefined ? '' : ` (${signal.spindle})`}`,
      tagAddress(tag.tag),
      tag.value ?? '',
      signal.unit ?? meaningOf(signal, tag.value),
      tag.quality ?? 'no answer',
      tag.trouble ?? '',
    ]),
  )
  if (rows.length > 0) {
    console.log(
      table(
        ['signal', 'address', 'value', 'unit or meaning', 'quality', 'trouble'],
        rows,
        process.stdout.isTTY === true,
      ),
    )
  }
}

/** What a value that is no number means to the monitor: `bit 5: true`, `stopped`. */
function meaningOf(signal: SignalConfig, value: string | undefined): string {
  if (value === undefined) return ''
  const read = readValue(signal, value)
  if (read === undefined) return 'no meaning mapped'
  const bit = signal.bit === undefined ? '' : `bit ${signal.bit}: `
  return bit === '' && String(read) === value ? '' : `${bit}${read}`
}

function describeOffset(offsetMs: number): string {
  const seconds = Math.abs(offsetMs) / 1000
  const text = seconds < 120 ? `${seconds.toFixed(0)} s` : `${(seconds / 60).toFixed(0)} min`
  return `${text} ${offsetMs > 0 ? 'ahead' : 'behind'} (allowed for)`
}

const plural = (count: number, noun: string): string => `${count} ${noun}${count === 1 ? '' : 's'}`
