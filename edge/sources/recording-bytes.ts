/**
 * The bytes of a recording, unpacked where it is gzip. A file that breaks gives whole lines up to there: a stream that fails
 * throws away what it has not handed on yet, so the failure is noted and the stream ends.
 */
import { once } from 'node:events'
import { createReadStream } from 'node:fs'
import { open, stat } from 'node:fs/promises'
import { createGunzip, type Gunzip } from 'node:zlib'

/** Small: what one piece unpacks to is held in memory, a thousand times of it at most. */
const PIECE_BYTES = 16 * 1024
const NEWLINE = 0x0a

export class RecordingBytes {
  readonly size: number
  /** Why the file ended too early; undefined while it did not. */
  broke: unknown
  readonly #path: string
  readonly #isGzip: boolean
  #bytesRead = 0

  private constructor(path: string, size: number, isGzip: boolean) {
    this.#path = path
    this.size = size
    this.#isGzip = isGzip
  }

  /** @throws the system's own error where there is no such file or it can't be read. */
  static async open(path: string): Promise<RecordingBytes> {
    const { size } = await stat(path)
    const file = await open(path)
    const magic = Buffer.alloc(2)
    await file.read(magic, 0, 2, 0)
    await file.close()
    // The content decides, not the name: exports are often misnamed.
    return new RecordingBytes(path, size, magic[0] === 0x1f && magic[1] === 0x8b)
  }

  /** Of the file as it lies on the disk. */
  get bytesRead(): number {
    return this.#bytesRead
  }

  /** Whole lines in each piece; half a line at the break is left out, for half a number is another number. */
  async *lines(longest: number): AsyncGenerator<Buffer> {
    let rest: Buffer = Buffer.alloc(0)
    try {
      for await (const piece of this.#isGzip ? this.#unpacked() : this.#raw()) {
        const bytes = rest.length === 0 ? piece : Buffer.concat([rest, piece])
        const end = bytes.lastIndexOf(NEWLINE) + 1
        rest = bytes.length - end > longest ? Buffer.alloc(0) : bytes.subarray(end)
        const whole = bytes.subarray(0, bytes.length - rest.length)
        if (whole.length > 0) yield whole
      }
    } catch (thrown) {
      this.broke = thrown
      return
    }
    if (rest.length > 0) yield rest
  }

  async *#raw(): AsyncGenerator<Buffer> {
    const stream = createReadStream(this.#path, { highWaterMark: PIECE_BYTES })
    for await (const piece of stream as AsyncIterable<Buffer>) {
      this.#bytesRead = stream.bytesRead
      yield piece
    }
  }

  async *#unpacked(): AsyncGenerator<Buffer> {
    const gunzip = createGunzip()
    const unpacked: Buffer[] = []
    let failure: unknown
    gunzip.on('data', (piece: Buffer) => unpacked.push(piece))
    gunzip.on('error', (error) => {
      failure = error
    })
    try {
      for await (const piece of this.#raw()) {
        await written(gunzip, piece)
        yield* unpacked.splice(0)
        if (failure !== undefined) throw failure
      }
      gunzip.end()
      if (!gunzip.readableEnded) await once(gunzip, 'end').catch((error: unknown) => (failure ??= error))
      // What came before the break first.
      yield* unpacked.splice(0)
      if (failure !== undefined) throw failure
    } finally {
      gunzip.destroy()
    }
  }
}

/** Resolves when all of a piece is unpacked, or it failed: then its own callback may never be called. */
const written = (gunzip: Gunzip, piece: Buffer): Promise<void> =>
  new Promise((resolve) => {
    const done = (): void => {
      gunzip.off('close', done)
      setImmediate(resolve)
    }
    gunzip.once('close', done)
    gunzip.write(piece, done)
  })
