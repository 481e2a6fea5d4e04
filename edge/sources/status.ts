/** A source's state as others see it: told to the listener when it changes, and only then. */
import type { Clock } from '../clock.ts'
import type { SourceLog } from './ports.ts'
import type { SourceHealth, SourceListener, SourceState } from './source.ts'
import type { TagBook } from './tag-book.ts'

export class SourceStatus {
  state: SourceState = 'stopped'
  #trouble: string | undefined
  #sinceTMs: number
  listener: SourceListener | undefined
  readonly #name: string
  readonly #kind: SourceHealth['kind']
  readonly #clock: Clock
  readonly #log: SourceLog
  readonly #tags: TagBook
  readonly #offsetMs: () => number | undefined

  constructor(parts: {
    name: string
    kind: SourceHealth['kind']
    clock: Clock
    log: SourceLog
    tags: TagBook
    offsetMs: () => number | undefined
  }) {
    this.#name = parts.name
    this.#kind = parts.kind
    this.#clock = parts.clock
    this.#log = parts.log
    this.#tags = parts.tags
    this.#offsetMs = parts.offsetMs
    this.#sinceTMs = parts.clock.nowMs()
  }

  get trouble(): string | undefined {
    return this.#trouble
  }

  set(state: SourceState, trouble?: string): void {
    if (state === this.state && trouble === this.#trouble) return
    if (state !== this.state) this.#sinceTMs = this.#clock.nowMs()
    this.state = state
    this.#trouble = trouble
    const line = `Source ${this.#name} is ${state}${trouble === undefined ? '.' : `: ${trouble}`}`
    if (state === 'lost' || state === 'refused' || trouble !== undefined) this.#log.warn(line)
    else this.#log.info(line)
    this.tell()
  }

  /** The tags' health changed in a way worth showing. */
  tell(): void {
    this.listener?.state(this.#name, this.health())
  }

  health(): SourceHealth {
    return {
      name: this.#name,
      kind: this.#kind,
      state: this.state,
      trouble: this.#trouble,
      sinceTMs: this.#sinceTMs,
      clockOffsetMs: this.#offsetMs(),
      tags: this.#tags.health(),
    }
  }
}
