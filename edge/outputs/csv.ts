/**
 * The contract's three files as CSV text: UTF-8, `\n` line ends, RFC 4180 quoting, empty where nothing is known.
 *
 * Numbers are rounded here, at the edge, to fixed decimals per column: the last bits of a computed number may differ
 * between engines, the files must not.
 */
import { createWriteStream, type WriteStream } from 'node:fs'
import { finished } from 'node:stream/promises'
import {
  ALARM_COLUMNS,
  type AlarmRow,
  FORECAST_COLUMNS,
  type ForecastRow,
  SPLICE_COLUMNS,
  type SpliceRow,
} from '../columns.ts'
import { fileReasonOf, LastwrapError } from '../errors.ts'

export interface CsvRows {
  forecast: ForecastRow
  splices: SpliceRow
  alarms: AlarmRow
}
export type CsvFile = keyof CsvRows

const COLUMNS: { [F in CsvFile]: readonly (keyof CsvRows[F] & string)[] } = {
  forecast: FORECAST_COLUMNS,
  splices: SPLICE_COLUMNS,
  alarms: ALARM_COLUMNS,
}

/** Lengths to the mm; diameters to 0.01 mm, caliper to 0.01 µm, speeds to 0.01 m/min, durations to 0.01 s. */
const DECIMALS: Readonly<Record<string, number>> = {
  diameter: 2,
  caliper: 2,
  metres_to_splice: 3,
  metres_low: 3,
  metres_high: 3,
  seconds_to_splice: 2,
  seconds_low: 2,
  seconds_high: 2,
  buffer_stored: 3,
  buffer_needed: 3,
  buffer_margin: 3,
  safe_speed: 2,
  speed: 2,
  stopped_seconds: 2,
  web_from_buffer: 3,
  buffer_low: 3,
  left_on_roll: 3,
  // Of an alarm: in the unit of what it watches.
  value: 3,
  limit: 3,
}

/** The header, with its line end. */
export const csvHeader = (file: CsvFile): string => `${COLUMNS[file].join(',')}\n`

/** One row, with its line end. */
export function csvLine<F extends CsvFile>(file: F, row: CsvRows[F]): string {
  return `${COLUMNS[file].map((column) => cell(row[column], DECIMALS[column])).join(',')}\n`
}

/** A whole file. */
export function csvText<F extends CsvFile>(file: F, rows: readonly CsvRows[F][]): string {
  return csvHeader(file) + rows.map((row) => csvLine(file, row)).join('')
}

function cell(value: unknown, decimals: number | undefined): string {
  if (value === null || value === undefined) return ''
  if (typeof value === 'number') return fixed(value, decimals ?? 3)
  const text = String(value)
  return /[",\r\n]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text
}

function fixed(value: number, decimals: number): string {
  if (!Number.isFinite(value)) return ''
  const text = value.toFixed(decimals)
  return Number(text) === 0 ? (0).toFixed(decimals) : text
}

const PIECE_CHARACTERS = 64 * 1024

/** Writes one file piece by piece. A writer that can't keep up is waited for, so that memory stays small however long it gets. */
export class CsvWriter<F extends CsvFile> {
  private readonly file: F
  private readonly path: string
  private readonly stream: WriteStream
  private readonly done: Promise<void>
  private piece: string
  private fault: unknown

  constructor(file: F, path: string) {
    this.file = file
    this.path = path
    this.piece = csvHeader(file)
    this.stream = createWriteStream(path, { encoding: 'utf8' })
    this.done = finished(this.stream).catch((thrown: unknown) => {
      this.fault = thrown
    })
  }

  /** @returns false where the caller should await `ready` before it goes on. */
  write(row: CsvRows[F]): boolean {
    this.piece += csvLine(this.file, row)
    return this.piece.length < PIECE_CHARACTERS || this.push()
  }

  /** Resolves when there is room again. @throws LastwrapError where the file can't be written. */
  async ready(): Promise<void> {
    if (this.stream.writableNeedDrain && this.fault === undefined) {
      await Promise.race([new Promise<void>((resolve) => this.stream.once('drain', resolve)), this.done])
    }
    this.throwFault()
  }

  /** Resolves when everything is in the file. @throws LastwrapError where it can't be. */
  async close(): Promise<void> {
    this.push()
    this.stream.end()
    await this.done
    this.throwFault()
  }

  private push(): boolean {
    const piece = this.piece
    this.piece = ''
    // After a fault nothing is kept: `ready` and `close` will say so.
    return this.fault === undefined && !this.stream.destroyed ? this.stream.write(piece) : false
  }

  private throwFault(): void {
    if (this.fault === undefined) return
    const sentence = `${this.path} can't be written (${fileReasonOf(this.fault)}): name a folder that is writable and has room.`
    const code = (this.fault as NodeJS.ErrnoException).code === 'ENOSPC' ? 'store_failing' : 'wrong_input'
    throw new LastwrapError(code, sentence, { cause: this.fault })
  }
}
