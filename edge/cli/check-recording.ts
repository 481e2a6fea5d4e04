/**
 * What a recording holds of each tag that a config maps: how often, from where to where, what could not be read; and
 * whether the tags agree with each other, by the same replay that gives the forecast.
 */
import type { ConsistencyView } from '../api/messages.ts'
import { systemClock } from '../clock.ts'
import type { Config } from '../config/config.ts'
import { nameOfUse, recordingTags, type TagUse, usesOfTags } from '../config/tags.ts'
import { siteMessages } from '../languages.ts'
import type { Messages } from '../messages/message.ts'
import { Replay } from '../replay.ts'
import { tagKey } from '../sample.ts'
import { isEmptyText, readValue } from '../signals/value.ts'
import { newReport, readRecording } from '../sources/recording.ts'
import { nothingRead } from './nothing-read.ts'
import { Progress } from './progress.ts'
import { plural, table } from './table.ts'

interface Seen {
  rows: number
  bad: number
  unreadable: number
  /** Of those: a text that is empty. */
  empty: number
  low: number
  high: number
}

/** Forecasts are not asked for: only the tags are judged. */
const NO_ROWS_S = 86_400

interface TagReport {
  signals: string[]
  tag: string
  rows: number
  /** In the tag's own unit; null where there is none. */
  low: number | null
  high: number | null
  unit: string | null
  trouble: string
}

/** What `--json` prints. */
interface RecordingCheck {
  recording: string
  rows: number
  from: string | null
  to: string | null
  tags: TagReport[]
  malformed: { rows: number; first: { line: number; reason: string }[] }
  unmapped: number
  cut_short: string | null
  warnings: string[]
  unwinds: ConsistencyView[]
}

export interface RecordingCheckOptions {
  isJson: boolean
  warnings: readonly string[]
}

export async function checkRecording(
  config: Config,
  configFile: string,
  path: string,
  { isJson, warnings }: RecordingCheckOptions,
): Promise<void> {
  const tags = recordingTags(config)
  const uses = usesOfTags(config)
  const report = newReport()
  const seen = new Map<string, Seen>()
  const progress = new Progress()
  const replay = new Replay(config, { forecast: ignore, alarm: ignore, splice: ignore }, NO_ROWS_S)
  let firstMs: number | undefined
  let lastMs = 0
  for await (const samples of readRecording(path, tags, report)) {
    for (const sample of samples) {
      firstMs ??= sample.tMs
      lastMs = sample.tMs
      const key = tagKey(sample.source, sample.address)
      const entry = seen.get(key) ?? { rows: 0, bad: 0, unreadable: 0, empty: 0, low: Infinity, high: -Infinity }
      seen.set(key, entry)
      note(entry, sample.quality === 'bad', sample.value, uses.get(key)?.[0])
    }
    replay.take(samples)
    progress.show(`${report.rows} rows read`, systemClock.nowMs())
  }
  replay.finish()
  progress.done()
  if (report.cutShort !== undefined) process.exitCode = 1
  const check: RecordingCheck = {
    recording: path,
    rows: report.rows,
    from: firstMs === undefined ? null : new Date(firstMs).toISOString(),
    to: firstMs === undefined ? null : new Date(lastMs).toISOString(),
    tags: tags.mapped.map(({ key, text }) => tagReport(text, seen.get(key), uses.get(key) ?? [])),
    malformed: { rows: report.malformed, first: report.faults.map(({ line, reason }) => ({ line, reason })) },
    unmapped: report.unmapped,
    cut_short: report.cutShort ?? null,
    warnings: [...warnings],
    unwinds: config.unwinds.flatMap(({ id }) => replay.unwinds.consistency(id, replay.lastTMs) ?? []),
  }
  if (check.unwinds.some(({ findings }) => findings.some(({ severity }) => severity === 'wrong'))) process.exitCode = 1
  const silent = check.tags.filter((_, index) => isSilent(seen.get(tags.mapped[index]?.key ?? '')))
  // Replay goes on without such a tag; whoever asks whether the mapping is right has to notice.
  if (silent.length > 0) process.exitCode = 1
  if (isJson) console.log(JSON.stringify(check, undefined, 2))
  else print(check, silent, configFile, siteMessages(config.site.language))
  if (seen.size === 0) throw nothingRead(path, configFile, report)
}

const ignore = (): void => undefined

function tagReport(tag: string, entry: Seen | undefined, uses: readonly TagUse[]): TagReport {
  const isEmpty = entry === undefined || entry.low > entry.high
  return {
    signals: uses.map(nameOfUse),
    tag,
    rows: entry?.rows ?? 0,
    low: isEmpty ? null : entry.low,
    high: isEmpty ? null : entry.high,
    unit: uses[0]?.signal.unit ?? null,
    trouble: entry === undefined ? 'not in the recording' : troubleOf(entry),
  }
}

function print(check: RecordingCheck, silent: readonly TagReport[], configFile: string, messages: Messages): void {
  const rows = check.tags.map(({ signals, tag, rows: count, low, high, unit, trouble }) => [
    signals.join(', '),
    tag,
    String(count),
    low === null || high === null ? '' : `${short(low)} … ${short(high)}`,
    unit ?? '',
    trouble,
  ])
  const span = check.from === null ? '' : ` from ${check.from} to ${check.to}`
  console.log(`\n${check.recording}: ${plural(check.rows, 'row')}${span}`)
  console.log(table(['signal', 'tag', 'rows', 'range', 'unit', 'trouble'], rows, process.stdout.isTTY === true))
  if (check.malformed.rows > 0) {
    const told = check.malformed.first.map(({ line, reason }) => `line ${line}: ${reason}`).join('; ')
    console.log(
      `${plural(check.malformed.rows, 'row')} ${check.malformed.rows === 1 ? 'is' : 'are'} malformed (${told}).`,
    )
  }
  if (check.unmapped > 0) {
    const verb = check.unmapped === 1 ? 'belongs' : 'belong'
    console.log(`${plural(check.unmapped, 'row')} ${verb} to tags that ${configFile} does not map.`)
  }
  if (check.cut_short !== null) console.log(check.cut_short)
  if (check.from !== null) for (const unwind of check.unwinds) printConsistency(unwind, messages)
  if (check.from !== null && silent.length > 0) {
    const named = silent.map(({ signals, tag }) => `${signals.join(', ')} (${tag})`).join('; ')
    console.log(
      `\nWithout a usable value in the recording: ${named}. Compare address, unit and map with the machine, or record anew.`,
    )
  }
}

function printConsistency({ unwind, verdict, findings, relations }: ConsistencyView, messages: Messages): void {
  console.log(`\n${unwind}:`)
  for (const { text } of findings) console.log(`  ! ${text}`)
  for (const { text } of relations) console.log(`  ${text}`)
  if (verdict !== 'disagree') console.log(`  ${messages(`consistency.verdict.${verdict}`)}`)
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
  if (read === undefined && use !== undefined && isEmptyText(use.signal, value)) entry.empty += 1
  if (typeof read === 'number' && use !== undefined) {
    const inUnit = read / use.signal.toSi
    entry.low = Math.min(entry.low, inUnit)
    entry.high = Math.max(entry.high, inUnit)
  }
}

/** Not in the recording, or never a value that the signal can have; a text is empty where there is nothing to say. */
const isSilent = (entry: Seen | undefined): boolean =>
  entry === undefined || entry.bad + entry.unreadable - entry.empty === entry.rows

function troubleOf({ rows, bad, unreadable }: Seen): string {
  const parts = []
  if (bad > 0) parts.push(`${bad} bad`)
  if (unreadable > 0) parts.push(`${unreadable} of ${rows} empty, unreadable or out of range`)
  return parts.join(', ')
}

const short = (value: number): string => String(Number(value.toPrecision(5)))
