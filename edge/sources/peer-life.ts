/** What every source is made of that lives with a peer: its tags, state, clock offset and watchdog, and how it starts and ends. */
import { Attempts } from './attempts.ts'
import { ClockOffset } from './clock-offset.ts'
import type { SourcePorts } from './ports.ts'
import type { SourceHealth, SourceListener } from './source.ts'
import { SourceStatus } from './status.ts'
import { TagBook } from './tag-book.ts'
import { Watchdog } from './watchdog.ts'

export class PeerLife {
  readonly tags: TagBook
  readonly status: SourceStatus
  readonly offset = new ClockOffset()
  readonly watchdog: Watchdog
  readonly attempts = new Attempts()
  readonly #name: string
  #listener: SourceListener | undefined

  /** @param onSilent - the peer said nothing for longer than its keep-alive allows. */
  constructor(
    config: { name: string; kind: SourceHealth['kind']; keepAliveS: number },
    tags: ConstructorParameters<typeof TagBook>[1],
    { clock, log }: SourcePorts,
    onSilent: () => void,
  ) {
    const { name, kind, keepAliveS } = config
    this.#name = name
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
    this.watchdog = new Watchdog(clock, keepAliveS, onSilent)
  }

  start(listener: SourceListener, attempt: Parameters<Attempts['start']>[0]): void {
    this.#listener = listener
    this.status.listener = listener
    this.status.set('connecting')
    this.watchdog.start()
    this.attempts.start(attempt)
  }

  /** The peer lives. */
  alive(nowMs: number): void {
    this.#listener?.alive(this.#name, nowMs)
  }

  /** Resolves when the present connection is closed, or after `mostMs`. */
  async stop(mostMs: number): Promise<void> {
    if (this.attempts.isStopped) return
    this.watchdog.stop()
    await this.attempts.stop(mostMs)
    this.status.set('stopped')
  }
}
