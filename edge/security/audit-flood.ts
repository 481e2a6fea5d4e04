/**
 * Keeps a flood of refusals from filling the disk: whoever is not signed in can ask as often as the network lets them. Beyond some
 * refusals a minute the others are counted, and the count is one entry. What people who are signed in do is always told whole.
 */
import type { AuditEntry, AuditSink } from './audit.ts'

/** More than a crew mistypes in a minute; for ever it is some 5 MB a day. */
const MOST_A_MINUTE = 30
const MINUTE_MS = 60_000

export class AuditFlood implements AuditSink {
  readonly #sink: AuditSink
  readonly #summary: (count: number) => string
  #minute = 0
  #told = 0
  #counted = 0
  #last: AuditEntry | undefined

  /** @param summary the detail of the entry that stands for `count` others */
  constructor(sink: AuditSink, summary: (count: number) => string) {
    this.#sink = sink
    this.#summary = summary
  }

  record(entry: AuditEntry): void {
    this.settle(entry.tMs)
    const isStranger = entry.result === 'refused' && entry.person === ''
    if (isStranger && ++this.#told > MOST_A_MINUTE) {
      this.#counted++
      this.#last = entry
    } else this.#sink.record(entry)
  }

  /** Tells what was counted in a minute that is over. */
  settle(nowTMs: number): void {
    const minute = Math.floor(nowTMs / MINUTE_MS)
    if (minute === this.#minute) return
    this.#minute = minute
    if (this.#last !== undefined) {
      this.#sink.record({ ...this.#last, person: '', subject: '', detail: this.#summary(this.#counted) })
    }
    this.#told = 0
    this.#counted = 0
    this.#last = undefined
  }
}
