/**
 * A recording as a source: CSV (or gzip of it) in, samples in order of time out. Format: recording contract.
 *
 * Rows may be up to 5 s out of order. A malformed row is counted with its line number and skipped; a file that ends too
 * early gives what it holds. Assumes one row per line.
 */
import { Readable } from 'node:stream'
import { parse } from 'csv-parse'
import type { RecordingTags } from '../config/tags.ts'
import { fileReasonOf, LastwrapError, reasonOf } from '../errors.ts'
import type { Quality, Sample } from '../sample.ts'
import { RecordingBytes } from './recording-bytes.ts'
import { SampleOrder } from './sample-order.ts'

export interface RecordingReport {
  rows: number
  /** Rows that are none, with the first few reasons. */
  malformed: number
  faults: { line: number; reason: string }[]
  /** Rows of tags that the config does not map. */
  unmapped: number
  /** Keys of the mapped tags that were seen. */
  seen: Set<string>
  /** The file ended before its end. */
  cutShort: string | undefined
  bytesRead: number
  bytesTotal: number
  /** Pipeline time of the first and the last sample, ms; undefined where there is none. */
  firstTMs: number | undefined
  lastTMs: number | undefined
}

/** So many faults are told with line and reason. */
const FAULTS_TOLD = 5
const DISORDER_MS = 5000
const LONGEST_ROW = 64 * 1024
const COLUMNS = ['time', 'tag', 'value'] as const
/** Years 1970 to 2200: outside is no time of a machine. */
const LATEST_MS = 7_258_118_400_000

export const newReport = (): RecordingReport => ({
  rows: 0,
  malformed: 0,
  faults: [],
  unmapped: 0,
  seen: new Set(),
  cutShort: undefined,
  bytesRead: 0,
  bytesTotal: 0,
  firstTMs: undefined,
  lastTMs: undefined,
})

/**
 * Samples of a recording, in pieces, ordered by time within 5 s of disorder.
 * @throws LastwrapError `wrong_input` where the file can't be read as a recording at all.
 */
export async function* readRecording(
  path: string,
  tags: RecordingTags,
  report: RecordingReport,
): AsyncGenerator<Sample[]> {
  const bytes = await opened(path)
  report.bytesTotal = bytes.size
  const rows = new RowReader(path, tags, report)
  const parser = Readable.from(bytes.lines(LONGEST_ROW)).pipe(
    parse({ bom: true, relax_column_count: true, relax_quotes: true, max_record_size: LONGEST_ROW }),
  )
  let piece: Sample[] = []
  let failure: unknown
  try {
    for await (const cells of parser as AsyncIterable<string[]>) {
      rows.take(cells, piece)
      if (piece.length >= 4096) {
        report.bytesRead = bytes.bytesRead
        noteSpan(report, piece)
        yield piece
        piece = []
      }
    }
  } catch (thrown) {
    failure = thrown
  }
  failure ??= bytes.broke
  if (failure === undefined) rows.end(piece)
  else rows.broken(failure, piece)
  noteSpan(report, piece)
  yield piece
}

function noteSpan(report: RecordingReport, piece: readonly Sample[]): void {
  report.firstTMs ??= piece[0]?.tMs
  report.lastTMs = piece.at(-1)?.tMs ?? report.lastTMs
}

async function opened(path: string): Promise<RecordingBytes> {
  try {
    return await RecordingBytes.open(path)
  } catch (thrown) {
    throw new LastwrapError(
      'wrong_input',
      `The recording ${path} can't be read (${fileReasonOf(thrown)}): name a CSV file with the columns time, tag, value and optionally quality.`,
      { cause: thrown },
    )
  }
}

/** Where each column stands; −1 where it is left out. */
interface Columns {
  time: number
  tag: number
  value: number
  quality: number
  /** Who entered it. */
  person: number
}

class RowReader {
  readonly #path: string
  readonly #tags: RecordingTags
  readonly #report: RecordingReport
  readonly #order = new SampleOrder(DISORDER_MS)
  readonly #known = new Map<string, { source: string; address: string; key: string } | null>()
  #columns: Columns | undefined
  #line = 0

  constructor(path: string, tags: RecordingTags, report: RecordingReport) {
    this.#path = path
    this.#tags = tags
    this.#report = report
  }

  take(cells: string[], into: Sample[]): void {
    this.#line += 1
    if (this.#columns === undefined) {
      this.#columns = this.#header(cells)
      return
    }
    if (cells.length === 1 && cells[0] === '') return
    const sample = this.#sample(cells, this.#columns)
    if (sample === undefined) return
    if (!this.#order.push(sample, into)) {
      this.#fault('its time is more than 5 s before rows above it')
    }
  }

  #header(cells: string[]): Columns {
    const names = cells.map((cell) => cell.trim().toLowerCase())
    const missing = COLUMNS.find((column) => !names.includes(column))
    if (missing !== undefined) {
      throw new LastwrapError(
        'wrong_input',
        `The recording ${this.#path} lacks the column "${missing}" in line 1: its header has to name time, tag and value (and may name quality)${names.length === 1 && /[;\t]/.test(names[0] ?? '') ? ', separated by commas' : ''}.`,
      )
    }
    const at = (name: string): number => names.indexOf(name)
    return { time: at('time'), tag: at('tag'), value: at('value'), quality: at('quality'), person: at('person') }
  }

  #sample(cells: string[], columns: Columns): Sample | undefined {
    this.#report.rows += 1
    const time = cells[columns.time]
    const tag = cells[columns.tag]
    const value = cells[columns.value]
    if (time === undefined || tag === undefined || value === undefined) {
      return this.#fault(`it has ${cells.length} of the header's columns`)
    }
    const tMs = timeOf(time)
    if (tMs === undefined) {
      return this.#fault(
        `"${shortened(time)}" is no time: write ISO 8601 with a zone or integer milliseconds since 1970`,
      )
    }
    const quality = qualityOf(columns.quality < 0 ? undefined : cells[columns.quality])
    if (quality === undefined)
      return this.#fault(`"${shortened(cells[columns.quality]!)}" is no quality: write good, uncertain or bad`)
    const known = this.#tag(tag)
    if (known === null) {
      this.#report.unmapped += 1
      return undefined
    }
    this.#report.seen.add(known.key)
    const person = columns.person < 0 ? '' : (cells[columns.person] ?? '')
    const sample = { source: known.source, address: known.address, value, quality, tMs, arrivalTMs: tMs }
    return person === '' ? sample : { ...sample, person }
  }

  #tag(text: string): { source: string; address: string; key: string } | null {
    const before = this.#known.get(text)
    if (before !== undefined) return before
    const found = this.#tags.find(text)
    if (found.kind === 'ambiguous') {
      throw new LastwrapError('wrong_input', `${this.#path}, line ${this.#line}, column tag: ${found.sentence}`)
    }
    const known = found.kind === 'tag' ? { source: found.source, address: found.address, key: found.key } : null
    // A file of nothing but different names must not fill the memory.
    if (this.#known.size < 100_000) this.#known.set(text, known)
    return known
  }

  #fault(reason: string): undefined {
    this.#report.malformed += 1
    if (this.#report.faults.length < FAULTS_TOLD) this.#report.faults.push({ line: this.#line, reason })
    return undefined
  }

  end(into: Sample[]): void {
    if (this.#columns === undefined) {
      throw new LastwrapError(
        'wrong_input',
        `The recording ${this.#path} is empty: it needs a header with time, tag and value, and rows.`,
      )
    }
    this.#order.flush(into)
  }

  /** The stream broke: what was read so far counts where there is any. */
  broken(thrown: unknown, into: Sample[]): void {
    if (thrown instanceof LastwrapError) throw thrown
    if (this.#columns === undefined || this.#report.rows === this.#report.malformed) {
      throw new LastwrapError(
        'wrong_input',
        `The recording ${this.#path} can't be read as CSV (${reasonOf(thrown)}): export it as UTF-8 text with the columns time, tag and value.`,
        { cause: thrown },
      )
    }
    this.#report.cutShort = `The recording ${this.#path} ends too early (${reasonOf(thrown)}) after line ${this.#line}: the results reach up to there.`
    this.#order.flush(into)
  }
}

const ISO = /^\d{4}-\d{2}-\d{2}[T ]\d{2}:\d{2}(:\d{2}([.,]\d+)?)?(Z|[+-]\d{2}:?\d{2})$/i

/** @returns ms since 1970 UTC; undefined for anything else, also for a time without a zone. */
export function timeOf(text: string): number | undefined {
  const trimmed = text.trim()
  if (trimmed === '') return undefined
  const plain = Number(trimmed)
  const tMs = Number.isNaN(plain)
    ? ISO.test(trimmed)
      ? Date.parse(trimmed.replace(' ', 'T').replace(',', '.'))
      : Number.NaN
    : plain
  return Number.isInteger(tMs) && tMs >= 0 && tMs < LATEST_MS ? tMs : undefined
}

function qualityOf(text: string | undefined): Quality | undefined {
  const word = text === undefined ? '' : text.trim().toLowerCase()
  if (word === '') return 'good'
  return word === 'good' || word === 'uncertain' || word === 'bad' ? word : undefined
}

const shortened = (text: string): string => (text.length > 40 ? `${text.slice(0, 40)}…` : text)
