/**
 * Writes a recording: each sample a row, with pipeline time and the shortest clear name of its tag (recording contract).
 * A row of quality `bad` without a value marks a tag that has none from there on.
 */
import { createWriteStream, type WriteStream } from 'node:fs'
import { rm } from 'node:fs/promises'
import type { Writable } from 'node:stream'
import { finished } from 'node:stream/promises'
import { constants, createGzip, type Gzip } from 'node:zlib'
import type { Config } from './config/config.ts'
import { recordingTags } from './config/tags.ts'
import { fileReasonOf, LastwrapError } from './errors.ts'
import { type Sample, tagKey } from './sample.ts'

/** A disk that can't keep up must not fill the memory: beyond this rows are dropped and counted, bytes. */
const MOST_WAITING = 64 * 1024 * 1024

export class RecordingWriter {
  rows = 0
  dropped = 0
  /** Pipeline time of the earliest and the latest row, ms. */
  firstTMs = Number.POSITIVE_INFINITY
  lastTMs = Number.NEGATIVE_INFINITY
  readonly #path: string
  readonly #file: WriteStream
  readonly #gzip: Gzip | undefined
  readonly #sink: Writable
  readonly #hasPersons: boolean
  readonly #nameOf: (key: string) => string
  readonly #done: Promise<void>
  #failure: unknown
  #tellFailure: () => void = () => undefined

  /** @param hasPersons - entries of people may come: who made them has a column. */
  constructor(path: string, config: Config, hasPersons = false) {
    if (!/\.csv(\.gz)?$/.test(path)) {
      throw new LastwrapError(
        'wrong_input',
        `A recording is a CSV file, ${path} would be none: name a file that ends in .csv or .csv.gz.`,
      )
    }
    this.#path = path
    const tags = recordingTags(config)
    const names = new Map<string, string>()
    this.#nameOf = (key) => {
      const known = names.get(key)
      if (known !== undefined) return known
      const name = cell(tags.textOf(key) ?? key)
      names.set(key, name)
      return name
    }
    this.#file = createWriteStream(path, { flags: 'wx' })
    this.#gzip = path.endsWith('.gz') ? createGzip() : undefined
    this.#gzip?.pipe(this.#file)
    this.#sink = this.#gzip ?? this.#file
    this.#done = finished(this.#file).catch((thrown: unknown) => {
      this.#failure = thrown
      this.#tellFailure()
    })
    this.#hasPersons = hasPersons
    this.#sink.write(`time,tag,value,quality${hasPersons ? ',person' : ''}\n`)
  }

  /** Resolves when the file is there. @throws LastwrapError where it can't be made. */
  async opened(): Promise<void> {
    if (this.#file.pending && this.#failure === undefined) {
      await Promise.race([new Promise<void>((resolve) => this.#file.once('open', () => resolve())), this.#done])
    }
    this.#throwFailure()
  }

  onFailure(tell: () => void): void {
    this.#tellFailure = tell
  }

  write(sample: Sample): void {
    if (this.#failure !== undefined) return
    if (this.#sink.writableLength + this.#file.writableLength > MOST_WAITING) {
      this.dropped += 1
      return
    }
    const name = this.#nameOf(tagKey(sample.source, sample.address))
    const value = sample.value === undefined ? '' : cell(String(sample.value))
    const person = this.#hasPersons ? `,${cell(sample.person ?? '')}` : ''
    this.#sink.write(`${new Date(sample.tMs).toISOString()},${name},${value},${sample.quality}${person}\n`)
    this.rows += 1
    this.firstTMs = Math.min(this.firstTMs, sample.tMs)
    this.lastTMs = Math.max(this.lastTMs, sample.tMs)
  }

  /** The compressor holds minutes of rows back; what was flushed outlives a killed process. */
  flush(): void {
    if (this.#failure === undefined) this.#gzip?.flush(constants.Z_SYNC_FLUSH)
  }

  async close(): Promise<void> {
    this.#sink.end()
    await this.#done
    this.#throwFailure()
    // A header alone is no recording.
    if (this.rows === 0) await rm(this.#path, { force: true })
    if (this.dropped > 0) {
      throw new LastwrapError(
        'store_failing',
        `${this.dropped} rows were not written to ${this.#path}, for the disk was too slow: record to another one.`,
      )
    }
  }

  #throwFailure(): void {
    if (this.#failure === undefined) return
    const exists = (this.#failure as NodeJS.ErrnoException).code === 'EEXIST'
    throw new LastwrapError(
      'wrong_input',
      exists
        ? `The file ${this.#path} exists already: name another one, a recording is never overwritten.`
        : `The recording ${this.#path} can't be written (${fileReasonOf(this.#failure)}): name a file in a folder that is there and writable.`,
      { cause: this.#failure },
    )
  }
}

const cell = (text: string): string => (/[",\r\n]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text)
