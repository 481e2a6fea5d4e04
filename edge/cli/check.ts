/** The verb `check`: is the config right, and what does each source, tag or recording say to it? */
import { systemClock } from '../clock.ts'
import { type Config, type SignalConfig, tagAddress } from '../config/config.ts'
import { loadConfigFile } from '../config/load.ts'
import { keyOfTag, nameOfUse, usesOfTags } from '../config/tags.ts'
import { LastwrapError, reasonOf } from '../errors.ts'
import { probeSources, type SourceProbe } from '../probe.ts'
import { contradictionOf } from '../signals/stated-unit.ts'
import { isEmptyText, readValue } from '../signals/value.ts'
import type { SourcePorts } from '../sources/ports.ts'
import { withoutRetry } from '../sources/tried-again.ts'
import { checkRecording } from './check-recording.ts'
import { missingSecrets } from './check-secrets.ts'
import { Progress } from './progress.ts'
import { sourcePorts } from './source-ports.ts'
import { plural, table } from './table.ts'

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
  const missing = await missingSecrets(config)
  for (const sentence of missing) console.log(`Missing: ${sentence}`)
  if (missing.length > 0) process.exitCode = 1
  if (options.offline === true) return
  await probe(config, options, missing)
}

async function probe(config: Config, options: CheckOptions, missing: readonly string[]): Promise<void> {
  const progress = new Progress()
  const ports = await sourcePorts(options.data, 'check')
  const probes = await probeSources(config, {
    timeoutMs: options.timeout * 1000,
    ports,
    onProgress: (answered, all) => progress.show(`${answered} of ${all} tags answered`, systemClock.nowMs()),
  })
  progress.done()
  const uses = usesOfTags(config)
  const units = await statedUnits(config, probes, ports)
  const found = probes.map((source) => report(source, uses, units.get(source.name) ?? new Map(), missing))
  const doubts = found.reduce((sum, one) => sum + one.doubts, 0)
  const silent = found.reduce((sum, one) => sum + one.inTrouble, 0)
  const away = probes.filter(({ isReachable }) => !isReachable).length
  const problems = [
    away > 0 ? `${plural(away, 'source')} not reached` : '',
    silent > 0 ? `${plural(silent, 'tag')} in trouble` : '',
    doubts > 0 ? `${plural(doubts, 'unit')} in doubt` : '',
  ].filter((each) => each !== '')
  if (problems.length > 0) {
    console.log(`\n${problems.join(', ')}: see above.`)
    process.exitCode = 1
  } else console.log('\nEvery tag answered. Hold the values against what the machine shows before you trust them.')
}

/** Units that OPC UA servers state, by source and address. Only where the source answered: what is wrong else was said. */
async function statedUnits(
  config: Config,
  probes: readonly SourceProbe[],
  ports: SourcePorts,
): Promise<Map<string, Map<string, string>>> {
  const stated = new Map<string, Map<string, string>>()
  for (const { name, isReachable, tags } of probes) {
    const source = config.sources[name]
    if (!isReachable || source?.kind !== 'opcua') continue
    const answered = tags.filter(({ quality }) => quality !== undefined).map(({ tag }) => tag.address)
    const { readUnits } = await import('../sources/opcua-units.ts')
    try {
      stated.set(name, await readUnits(source, [...new Set(answered)], ports))
    } catch (thrown) {
      console.log(`Note: the units that ${name} states can't be read (${reasonOf(thrown)}): compare them by hand.`)
    }
  }
  return stated
}

interface Found {
  /** Signals with a unit that the server contradicts. */
  doubts: number
  /** Tags without an answer, or with one that their signal can't have. */
  inTrouble: number
}

function report(
  source: SourceProbe,
  uses: ReturnType<typeof usesOfTags>,
  units: Map<string, string>,
  missing: readonly string[],
): Found {
  const found: Found = { doubts: 0, inTrouble: 0 }
  const offset = source.clockOffsetMs ?? 0
  const clock = Math.abs(offset) < 1000 ? '' : `, its clock is ${describeOffset(offset)}`
  console.log(`\n${source.name}: ${source.isReachable ? `connected${clock}` : 'not reached'}`)
  const { trouble } = source
  if (trouble !== undefined && !missing.some((sentence) => sentence.endsWith(trouble))) {
    console.log(`  ${withoutRetry(trouble)}`)
  }
  // One line per signal: a word of status bits feeds several, each with its own meaning.
  const rows = source.tags.flatMap((tag) => {
    const signals = uses.get(keyOfTag(tag.tag)) ?? []
    if (tag.trouble !== undefined || signals.some(({ signal }) => misfit(signal, tag.value) !== undefined)) {
      found.inTrouble += 1
    }
    return signals.map((use) => {
      const { signal } = use
      const doubt = unitDoubt(signal, tag.tag.valuePath === undefined ? units.get(tag.tag.address) : undefined)
      if (doubt !== undefined) found.doubts += 1
      return [
        nameOfUse(use),
        tagAddress(tag.tag),
        tag.value ?? '',
        meaningOf(signal, tag.value),
        tag.quality ?? 'no answer',
        tag.trouble ?? misfit(signal, tag.value) ?? doubt ?? '',
      ]
    })
  })
  if (rows.length > 0) {
    console.log(
      table(['signal', 'address', 'tag says', 'read as', 'quality', 'trouble'], rows, process.stdout.isTTY === true),
    )
  }
  return found
}

/** The rest of a sentence: what a tag says that its signal can't have. */
export function misfit(signal: SignalConfig, value: string | undefined): string | undefined {
  if (value === undefined || isEmptyText(signal, value) || readValue(signal, value) !== undefined) return undefined
  return `what it says can't be a value of ${signal.signal}: check address, range and map in the config`
}

/** The rest of a sentence. */
function unitDoubt(signal: SignalConfig, stated: string | undefined): string | undefined {
  const found = contradictionOf(signal, stated)
  return (
    found &&
    `the server states ${found.stated}, the config ${found.configured}: compare with the machine's panel, one of them is wrong`
  )
}

/**
 * What it means to the monitor: a number in the unit that the config states, after scale and offset (`212 N`); a bit of a
 * word (`bit 5: true`); a word of the config (`stopped`).
 */
export function meaningOf(signal: SignalConfig, value: string | undefined): string {
  if (value === undefined) return ''
  const read = readValue(signal, value)
  if (read === undefined) return signal.unit === undefined ? 'no meaning mapped' : `no possible value in ${signal.unit}`
  if (typeof read === 'number') return `${Number((read / signal.toSi).toPrecision(6))} ${signal.unit ?? ''}`.trimEnd()
  return `${signal.bit === undefined ? '' : `bit ${signal.bit}: `}${read}`
}

function describeOffset(offsetMs: number): string {
  const seconds = Math.abs(offsetMs) / 1000
  const text = seconds < 120 ? `${seconds.toFixed(0)} s` : `${(seconds / 60).toFixed(0)} min`
  return `${text} ${offsetMs > 0 ? 'ahead' : 'behind'} (allowed for)`
}
