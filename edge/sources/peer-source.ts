/** What every source is made of that lives with a peer: its tags, state, clock offset and watchdog, and how it starts and ends. */
import type { TagRef } from '../config/config.ts'
import { Attempts } from './attempts.ts'
import { ClockOffset } from './clock-offset.ts'
import type { SourcePorts } from './ports.ts'
import type { Source, SourceHealth, SourceListener } from './source.ts'
import { SourceStatus } from './status.ts'
import { TagBook } from './tag-book.ts'
import { Watchdog } from './watchdog.ts'

export interface PeerConfig {
  readonly name: string
  readonly kind: SourceHealth['kind']
  readonly keepAliveS: number
}

export abstract class PeerSource<Config extends PeerConfig> implements Source {
  readonly name: string
  protected readonly config: Config
  protected readonly ports: SourcePorts
  protected readonly tags: TagBook
  protected readonly status: SourceStatus
  protected readonly offset = new ClockOffset()
  protected readonly watchdog: Watchdog
  protected readonly attempts = new Attempts()
  readonly #mostStopMs: number
  #listener: SourceListener | undefined

  /** @param mostStopMs - how long a stop waits for the present connection to be closed. */
  constructor(config: Config, tags: readonly TagRef[], ports: SourcePorts, mostStopMs: number) {
    const { name, kind, keepAliveS } = config
    const { clock, log } = ports
    this.name = name
    this.config = config
    this.ports = ports
    this.#mostStopMs = mostStopMs
    this.tags = new TagBook(name, tags, (sample) => this.#listener?.sample(sample))
    this.status = new SourceStatus({
      name,
      kind,
      clock,
      log,
      tags: this.tags,
      offsetMs: () => this.offset.offsetMs,
    })
    this.tags.onTrouble((entry) => this.status.tagTrouble(entry))
    this.watchdog = new Watchdog(clock, keepAliveS, () => this.onSilent())
  }

  /** One connection, from its making to its end. */
  protected abstract connect(): Promise<void>
  /** It ended, or was never made. */
  protected abstract onFailed(code: string, trouble: string): void
  /** The peer said nothing for longer than its keep-alive allows. */
  protected abstract onSilent(): void

  async start(listener: SourceListener): Promise<void> {
    this.#listener = listener
    this.status.listener = listener
    this.status.set('connecting')
    this.watchdog.start()
    this.attempts.start({
      once: () => this.connect(),
      failed: (code, trouble) => this.onFailed(code, trouble),
    })
  }

  health(): SourceHealth {
    return this.status.health()
  }

  /** The peer lives. */
  protected alive(nowMs: number): void {
    this.#listener?.alive(this.name, nowMs)
  }

  async stop(): Promise<void> {
    if (this.attempts.isStopped) return
    this.watchdog.stop()
    await this.attempts.stop(this.#mostStopMs)
    this.status.set('stopped')
  }
}
