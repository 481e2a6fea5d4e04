/**
 * Puts samples that come nearly in order of time into order: a sample waits until nothing older can come. Pure.
 */
import type { Sample } from '../sample.ts'

export class SampleOrder {
  readonly #disorderMs: number
  /** Ascending; samples of one time stay in the order in which they came. */
  #waiting: Sample[] = []
  #head = 0
  #newestMs = Number.NEGATIVE_INFINITY
  #releasedMs = Number.NEGATIVE_INFINITY

  /** @param disorderMs - how much older than the newest a sample may be. */
  constructor(disorderMs: number) {
    this.#disorderMs = disorderMs
  }

  /** Takes a sample and gives out those that are due. @returns false for one that comes too late and is left out. */
  push(sample: Sample, into: Sample[]): boolean {
    if (sample.tMs < this.#newestMs - this.#disorderMs || sample.tMs < this.#releasedMs) return false
    const waiting = this.#waiting
    let at = waiting.length
    while (at > this.#head && waiting[at - 1]!.tMs > sample.tMs) at -= 1
    if (at === waiting.length) waiting.push(sample)
    else waiting.splice(at, 0, sample)
    if (sample.tMs > this.#newestMs) {
      this.#newestMs = sample.tMs
      this.#release(sample.tMs - this.#disorderMs, into)
    }
    return true
  }

  #release(upToMs: number, into: Sample[]): void {
    const waiting = this.#waiting
    while (this.#head < waiting.length && waiting[this.#head]!.tMs <= upToMs) {
      into.push(waiting[this.#head]!)
      this.#head += 1
    }
    if (this.#head === 0) return
    this.#releasedMs = waiting[this.#head - 1]!.tMs
    if (this.#head > 4096 || this.#head === waiting.length) {
      this.#waiting = waiting.slice(this.#head)
      this.#head = 0
    }
  }

  /** Gives out everything that waits. */
  flush(into: Sample[]): void {
    this.#release(Number.POSITIVE_INFINITY, into)
  }
}
