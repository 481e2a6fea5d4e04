/** What a recording holds of each tag that a config maps: how often, from where to where, and what could not be read. */
import { systemClock } from '../clock.ts'
import type { Config } from '../config/config.ts'
import { recordingTags, type TagUse, usesOfTags } from '../config/tags.ts'
import { LastwrapError } from '../errors.ts'
import { tagKey } from '../sample.ts'
import { readValue } from '../signals/value.ts'
import { newReport, readRecording } from '../sources/recording.ts'
import { Progress } from './progress.ts'
import { table } from './table.ts'

interface Seen {
  rows: number
  bad: number
  unreadable: number
  low: number
  high: number
}

export async function checkRecording(config: Config, configFile: string, path: string): Promise<void> {
  const tags = recordingTags(config)
  const uses = usesOfTags(config)
  const report = newReport()
  const seen = new Map<string, Seen>()
  const progress = new Progress()
  let firstMs: number | undefined
  let lastMs = 0
  for await (const samples of readRecording(path, tags, report)) {
    for (const sample of samples) {
      firstMs ??= sample.tMs
      lastMs = sample.tMs
      const key = tagKey(sample.source, sample.address)
      const entry = seen.get(key) ?? { rows: 0, bad: 0, unreadable: 0, low: Infinity, high: -Infinity }
      seen.set(key, entry)
      note(entry, sample.quality === 'bad', sample.value, uses.get(key)?.[0])
    }
    progress.show(`${report.rows} rows read`, systemClock.nowMs())
  }
  progress.done()
  const rows = tags.mapped.map(({ key, text }) => {
    const entry = seen.get(key)
    const use = uses.get(key) ?? []
    return [
      use.map(({ unwind, signal }) => `${unwind}.${signal.signal}`).join(', '),
      text,
      String(entry?.rows ?? 0),
      entry === undefined || entry.low > entry.high ? '' : `${short(entry.low)} … ${short(entry.high)}`,
      use[0]?.signal.unit ?? '',
      entry === undefined ? 'not in the recording' : troubleOf(entry),
    ]
  })
  const from =
    firstMs === undefined ? '' : ` from ${new Date(firstMs).toISOString()} to ${new Date(lastMs).toISOString()}`
  console.log(`\n${path}: ${report.rows} rows${from}`)
  console.log(table(['signal', 'tag', 'rows', 'range', 'unit', 'trouble'], rows, process.stdout.isTTY === true))
  if (report.malformed > 0) {
    const told = report.faults.map(({ line, reason }) => `line ${line}: ${reason}`).join('; ')
    console.log(`${report.malformed} rows are malformed (${told}).`)
  }
  if (report.unmapped > 0) console.log(`${report.unmapped} rows belong to tags that ${configFile} does not map.`)
  if (report.cutShort !== undefined) {
    console.log(report.cutShort)
    process.exitCode = 1
  }
  if (seen.size === 0) {
    throw new LastwrapError(
      'wrong_input',
      `The recording ${path} holds none of the tags that ${configFile} maps: compare its column tag with the addresses in the config.`,
    )
  }
}

/** Ranges are shown in the tag's own unit: what the person knows from the machine. */
function note(
  entry: Seen,
  isBad: boolean,
  value: string | number | boolean | undefined,
  use: TagUse | undefined,
): void {
  entry.rows += 1
  if (isBad) {
    entry.bad += 1
    return
  }
  const read = use === undefined || value === undefined ? undefined : readValue(use.signal, value)
  if (read === undefined) entry.unreadable += 1
  if (typeof read === 'number' && use !== undefined) {
    const inUnit = read / use.signal.toSi
    entry.low = Math.min(entry.low, inUnit)
    entry.high = Math.max(entry.high, inUnit)
  }
}

function troubleOf({ rows, bad, unreadable }: Seen): string {
  const parts = []
  if (bad > 0) parts.push(`${bad} bad`)
  if (unreadable > 0) parts.push(`${unreadable} of ${rows} empty, unreadable or out of range`)
  return parts.join(', ')
}

const short = (value: number): string => String(Number(value.toPrecision(5)))
