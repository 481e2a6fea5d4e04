/** The monitor as the process that a person starts: `node edge/main.ts start …`, to be killed, ended and listened to. */
import { type ChildProcess, spawn } from 'node:child_process'
import { once } from 'node:events'
import { join } from 'node:path'
import { createInterface } from 'node:readline'
import { setTimeout as delay } from 'node:timers/promises'
import type { HealthView, SpliceView, StreamEvents, UnwindView } from '../../edge/api/messages.ts'

const MAIN = join(import.meta.dirname, '../../edge/main.ts')
const READY_MS = 60_000

export interface DaemonProcess {
  readonly url: string
  readonly process: ChildProcess
  /** What it logged, one message a line. */
  readonly lines: string[]
  get<T>(path: string): Promise<T>
  health(): Promise<HealthView>
  unwind(id: string): Promise<UnwindView>
  splices(unwind: string): Promise<SpliceView[]>
  /** Every frame of the live stream from now on. */
  watch(): Promise<Watch>
  /** Ends it and waits until it is gone. */
  end(signal: NodeJS.Signals): Promise<{ status: number | null; signal: NodeJS.Signals | null; afterMs: number }>
}

export type Frame = { [K in keyof StreamEvents]: { event: K; data: StreamEvents[K]; atMs: number } }[keyof StreamEvents]

/** Starts it and waits until it serves. */
export async function startDaemonProcess(configFile: string, dataDir: string): Promise<DaemonProcess> {
  const child = spawn(process.execPath, [MAIN, 'start', '--config', configFile, '--data', dataDir, '--port', '0'], {
    stdio: ['ignore', 'pipe', 'pipe'],
  })
  const lines: string[] = []
  const ready = Promise.withResolvers<string>()
  child.once('exit', (status, signal) =>
    ready.reject(new Error(`it ended (${signal ?? status}): ${lines.join(' | ')}`)),
  )
  createInterface({ input: child.stderr }).on('line', (line) => lines.push(messageOf(line)))
  createInterface({ input: child.stdout }).on('line', (line) => {
    const url = /Dashboard: (https?:\S+)/.exec(line)?.[1]
    if (url !== undefined) ready.resolve(url)
  })
  const timer = setTimeout(() => {
    ready.reject(new Error(`it was not ready in time: ${lines.join(' | ')}`))
    child.kill('SIGKILL')
  }, READY_MS)
  const url = await ready.promise.finally(() => clearTimeout(timer))
  const get = async <T>(path: string): Promise<T> => (await (await fetch(url + path)).json()) as T
  return {
    url,
    process: child,
    lines,
    get,
    health: () => get('/api/health'),
    unwind: (id) => get(`/api/unwinds/${id}`),
    splices: (unwind) => get(`/api/splices?unwind=${unwind}`),
    watch: () => Watch.open(url),
    async end(signal) {
      const sentMs = performance.now()
      if (child.exitCode === null && child.signalCode === null) {
        const gone = once(child, 'exit')
        child.kill(signal)
        await gone
      }
      return { status: child.exitCode, signal: child.signalCode, afterMs: performance.now() - sentMs }
    },
  }
}

/** A log line is JSON in a pipe; what is none was written past the log. */
function messageOf(line: string): string {
  try {
    return (JSON.parse(line) as { msg?: string }).msg ?? line
  } catch {
    return line
  }
}

/** A screen that keeps everything that it was sent. */
export class Watch {
  readonly frames: Frame[] = []
  readonly #abort = new AbortController()

  static async open(url: string): Promise<Watch> {
    const watch = new Watch()
    const answer = await fetch(`${url}/api/stream`, { signal: watch.#abort.signal })
    if (answer.body === null) throw new Error('the stream has no body')
    void watch.#read(answer.body)
    return watch
  }

  async #read(body: ReadableStream<Uint8Array>): Promise<void> {
    let text = ''
    try {
      const decoder = new TextDecoder()
      for await (const piece of body) {
        text += decoder.decode(piece, { stream: true })
        const parts = text.split('\n\n')
        text = parts.pop() ?? ''
        for (const part of parts) {
          const [, event, data] = /event: (\w+)\ndata: (.*)/.exec(part) ?? []
          if (event !== undefined && data !== undefined) {
            this.frames.push({ event, data: JSON.parse(data), atMs: performance.now() } as Frame)
          }
        }
      }
    } catch (thrown) {
      // Its daemon was killed, or the watch was closed: either ends the stream.
      this.endedBecause = thrown
    }
  }

  endedBecause: unknown

  /** What one unwind was shown as, frame by frame. */
  of(unwind: string): { tMs: number; atMs: number; view: UnwindView }[] {
    return this.frames.flatMap((frame) => {
      if (frame.event !== 'unwinds') return []
      const view = frame.data.unwinds.find((each) => each.unwind === unwind)
      return view === undefined ? [] : [{ tMs: Date.parse(frame.data.time), atMs: frame.atMs, view }]
    })
  }

  close(): void {
    this.#abort.abort()
  }
}

/** Asks again and again until there is something; fails with `what` and what was seen last. */
export async function until<T>(
  what: string,
  withinMs: number,
  look: () => T | undefined | false | Promise<T | undefined | false>,
  state: () => unknown = () => '',
): Promise<T> {
  const deadline = performance.now() + withinMs
  for (;;) {
    const found = await look()
    if (found !== undefined && found !== false) return found
    if (performance.now() > deadline) {
      throw new Error(`not within ${withinMs} ms: ${what}. ${JSON.stringify(await state())}`)
    }
    await delay(50)
  }
}
