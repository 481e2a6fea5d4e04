/** A source's state as others see it: told to the listener when it changes, and only then. */
import type { Clock } from '../clock.ts'
import type { SourceLog } from './ports.ts'
import type { SourceHealth, SourceListener, SourceState } from './source.ts'
import type { TagBook, TagEntry } from './tag-book.ts'

const TELL_TAG_AGAIN_MS = 60_000

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
  readonly #troubleToldMs = new Map<TagEntry, number>()

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
    this.#tell()
  }

  /** A tag came into trouble. One that comes and goes is told once a minute. */
  tagTrouble(entry: TagEntry): void {
    const nowMs = this.#clock.nowMs()
    const toldMs = this.#troubleToldMs.get(entry)
    if (toldMs !== undefined && Math.abs(nowMs - toldMs) < TELL_TAG_AGAIN_MS) return
    this.#troubleToldMs.set(entry, nowMs)
    this.#log.warn(entry.trouble ?? `${entry.address} is in trouble.`)
    this.#tell()
  }

  #tell(): void {
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
