/**
 * The live stream: one subscription to the daemon, fanned out to every screen as server-sent events (HTML standard 9.2).
 *
 * - An event becomes text once, for all clients.
 * - A client that does not read costs at most `MOST_UNREAD_BYTES`: beyond it, `unwinds` and `health` frames are dropped, for the
 *   next one replaces them. A `splice`, `alarm` or `joint` comes only once: a client that would miss one is cut off, connects
 *   again and asks afresh. So is one that has not read for `LONGEST_FROZEN_MS`.
 * - Screens take `changes` in the place of whole `unwinds`; one that missed a frame gets a whole one next.
 */
import type { ServerResponse } from 'node:http'
import type { Clock } from '../clock.ts'
import { reasonOf } from '../errors.ts'
import type { ApiLog } from './app.ts'
import type { DaemonPort, StreamEvents } from './messages.ts'
import type { ScreenEvents } from './messages-screen.ts'
import { forScreen, ViewChanges } from './view-changes.ts'

/** A frozen reader was measured to hold 102 MB without a limit. */
export const MOST_UNREAD_BYTES = 256 * 1024
const LONGEST_FROZEN_MS = 30_000
/** Screens, phones and a few programs; each costs a socket. */
const MOST_CLIENTS = 100
/** `unwinds` comes at least once a second: asked for here where the daemon did not send it. */
const BEAT_MS = 500
const LONGEST_SILENCE_MS = 900
const COMMENT_EVERY_MS = 10_000
/** How long a browser waits before it connects again, ms. */
const RETRY_MS = 1_000

interface Client {
  response: ServerResponse
  /** Since when frames are dropped for it, ms; undefined while it reads. */
  frozenSinceMs: number | undefined
  /** Takes `changes`. */
  takesChanges: boolean
  /** It missed a frame, so changes alone would leave it wrong. */
  needsAll: boolean
  /** False once its session has ended, where looking needs one. */
  mayLook: () => boolean
}

export interface StreamHubOptions {
  daemon: DaemonPort
  clock: Clock
  log: ApiLog
  mostClients?: number
  /** Names of the dashboard's files as they are served; null where it is not built. */
  build?: string | null
}

const frameOf = <K extends keyof ScreenEvents>(event: K, data: ScreenEvents[K]): string =>
  `event: ${event}\ndata: ${JSON.stringify(data)}\n\n`

export class StreamHub {
  readonly #daemon: DaemonPort
  readonly #clock: Clock
  readonly #log: ApiLog
  readonly #mostClients: number
  readonly #build: string | null
  readonly #changes = new ViewChanges()
  readonly #clients = new Set<Client>()
  #stops: (() => void)[] = []
  #lastUnwindsMs = Number.NEGATIVE_INFINITY
  #lastCommentMs = Number.NEGATIVE_INFINITY
  #daemonFails = false
  /** Frames that a slow reader did not get, and clients that were cut off for it. */
  dropped = 0
  cutOff = 0

  constructor(options: StreamHubOptions) {
    this.#daemon = options.daemon
    this.#clock = options.clock
    this.#log = options.log
    this.#mostClients = options.mostClients ?? MOST_CLIENTS
    this.#build = options.build ?? null
  }

  get clients(): number {
    return this.#clients.size
  }

  get isFull(): boolean {
    return this.#clients.size >= this.#mostClients
  }

  /** What the slowest reader has still to take, bytes. */
  mostUnreadBytes(): number {
    return Math.max(0, ...[...this.#clients].map(({ response }) => response.writableLength))
  }

  /** Begins to listen to the daemon. */
  start(): void {
    if (this.#stops.length > 0) return
    this.#stops = [
      this.#daemon.subscribe((event, data) => this.#send(event, data)),
      this.#clock.every(BEAT_MS, () => this.#beat()),
    ]
  }

  /** Ends every stream and the subscription. */
  stop(): void {
    for (const stop of this.#stops) stop()
    this.#stops = []
    for (const client of [...this.#clients]) {
      // A reader that is behind would hold the end of its stream back for ever.
      if (client.response.writableLength > 0) client.response.destroy()
      else client.response.end()
      this.#clients.delete(client)
    }
  }

  /** Takes over a response whose head is written: greets it with everything as it is now. */
  add(response: ServerResponse, takesChanges = false, mayLook = (): boolean => true): void {
    // Changes are told from the newest frame on, which this one has not seen: it gets a whole one next.
    const client: Client = { response, frozenSinceMs: undefined, takesChanges, needsAll: true, mayLook }
    const forget = (): void => {
      this.#clients.delete(client)
    }
    response.on('close', forget)
    // A peer that went away in the middle of a write; 'close' follows.
    response.on('error', forget)
    response.socket?.setNoDelay(true)
    this.#clients.add(client)
    response.write(`retry: ${RETRY_MS}\n\n`)
    if (takesChanges) response.write(frameOf('hello', { build: this.#build }))
    response.write(frameOf('health', this.#daemon.health()))
    const { time, unwinds } = this.#unwindsNow()
    response.write(frameOf('unwinds', { time, unwinds: takesChanges ? unwinds.map(forScreen) : unwinds }))
  }

  #unwindsNow(): StreamEvents['unwinds'] {
    return { time: new Date(this.#clock.nowMs()).toISOString(), unwinds: this.#daemon.unwinds() }
  }

  #beat(): void {
    const nowMs = this.#clock.nowMs()
    for (const client of [...this.#clients]) {
      if (client.frozenSinceMs !== undefined && nowMs - client.frozenSinceMs > LONGEST_FROZEN_MS) this.#cut(client)
      else if (!client.mayLook()) {
        this.#clients.delete(client)
        client.response.end()
      }
    }
    if (this.#clients.size === 0) return
    if (nowMs - this.#lastCommentMs >= COMMENT_EVERY_MS) {
      this.#lastCommentMs = nowMs
      this.#write(() => ': alive\n\n', true)
    }
    if (nowMs - this.#lastUnwindsMs < LONGEST_SILENCE_MS) return
    try {
      this.#send('unwinds', this.#unwindsNow())
      this.#daemonFails = false
    } catch (thrown) {
      // Silence is what tells the screens; one line in the log, not two a second.
      if (!this.#daemonFails) this.#log.error({ reason: reasonOf(thrown) }, 'the stream got no figures from the daemon')
      this.#daemonFails = true
    }
  }

  #send(event: keyof StreamEvents, data: StreamEvents[keyof StreamEvents]): void {
    if (event === 'unwinds') this.#lastUnwindsMs = this.#clock.nowMs()
    if (this.#clients.size === 0) return
    if (event === 'unwinds') {
      this.#sendUnwinds(data as StreamEvents['unwinds'])
      return
    }
    const frame = frameOf(event, data as StreamEvents[typeof event])
    this.#write(() => frame, event === 'health')
  }

  /** Each kind of frame becomes text once, and only where somebody takes it. */
  #sendUnwinds(data: StreamEvents['unwinds']): void {
    const { time, unwinds } = data
    const frames = new Map<string, string>()
    const once = (kind: string, make: () => string): string => {
      const frame = frames.get(kind) ?? make()
      frames.set(kind, frame)
      return frame
    }
    const hasScreens = [...this.#clients].some(({ takesChanges }) => takesChanges)
    const changes = hasScreens ? this.#changes.next(time, unwinds) : undefined
    this.#write((client) => {
      if (!client.takesChanges) return once('all', () => frameOf('unwinds', data))
      if (client.needsAll || changes === undefined)
        return once('screen', () => frameOf('unwinds', { time, unwinds: unwinds.map(forScreen) }))
      return once('changes', () => frameOf('changes', changes))
    }, true)
    for (const client of this.#clients) client.needsAll = client.frozenSinceMs !== undefined
  }

  #write(frameFor: (client: Client) => string, mayDrop: boolean): void {
    for (const client of [...this.#clients]) {
      if (client.response.writableLength <= MOST_UNREAD_BYTES) {
        client.frozenSinceMs = undefined
        client.response.write(frameFor(client))
        continue
      }
      this.dropped++
      client.frozenSinceMs ??= this.#clock.nowMs()
      if (!mayDrop) this.#cut(client)
    }
  }

  #cut(client: Client): void {
    this.cutOff++
    this.#clients.delete(client)
    client.response.destroy()
    this.#log.warn({ clients: this.#clients.size }, 'a screen that did not read its stream was cut off')
  }
}
