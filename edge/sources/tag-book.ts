/**
 * The tags of one source: what each delivered last, what was ignored and why; and the two moments when all of them speak
 * at once, the loss of the peer and its return.
 */
import { type TagRef, tagAddress } from '../config/config.ts'
import type { Quality, RawValue, Sample } from '../sample.ts'
import type { TagHealth } from './source.ts'

export interface TagEntry {
  readonly tag: TagRef
  /** As a sample names it. */
  readonly address: string
  /** The last value that the peer gave; undefined while it gives none. */
  last: { value: RawValue; quality: 'good' | 'uncertain' } | undefined
  /** Pipeline time of the peer's last word, value or not. */
  peerTMs: number | undefined
  peerQuality: Quality | undefined
  /** Newest pipeline time that was delivered, the loss of the peer included. */
  lastTMs: number | undefined
  /** The peer was lost and this tag has not spoken since. */
  isLost: boolean
  trouble: string | undefined
  samples: number
  ignored: number
  statedUnit?: string
}

export class TagBook {
  readonly entries: readonly TagEntry[]
  readonly #source: string
  readonly #emit: (sample: Sample) => void
  #ignoredFirst: ((entry: TagEntry) => void) | undefined

  constructor(source: string, tags: readonly TagRef[], emit: (sample: Sample) => void) {
    this.#source = source
    this.#emit = emit
    const byAddress = new Map<string, TagEntry>()
    for (const tag of tags) {
      const address = tagAddress(tag)
      if (tag.source !== source || byAddress.has(address)) continue
      byAddress.set(address, {
        tag,
        address,
        last: undefined,
        peerTMs: undefined,
        peerQuality: undefined,
        lastTMs: undefined,
        isLost: false,
        trouble: undefined,
        samples: 0,
        ignored: 0,
      })
    }
    this.entries = [...byAddress.values()]
  }

  /** Called when a tag comes into trouble for the first time since it was well. */
  onTrouble(run: (entry: TagEntry) => void): void {
    this.#ignoredFirst = run
  }

  /** A value from the peer. */
  deliver(entry: TagEntry, value: RawValue, quality: 'good' | 'uncertain', tMs: number, arrivalTMs: number): void {
    // What comes late doesn't replace a newer word.
    if (entry.peerTMs === undefined || tMs >= entry.peerTMs || entry.last === undefined) entry.last = { value, quality }
    entry.trouble = undefined
    this.#fromPeer(entry, value, quality, tMs, arrivalTMs)
  }

  /** The peer says that the tag has no value now. */
  deliverBad(entry: TagEntry, tMs: number, arrivalTMs: number, trouble: string): void {
    entry.last = undefined
    this.#fromPeer(entry, undefined, 'bad', tMs, arrivalTMs)
    this.say(entry, trouble)
  }

  /** Something came that is no value: counted, and the tag keeps what it had. */
  ignore(entry: TagEntry, trouble: string): void {
    entry.ignored += 1
    this.say(entry, trouble)
  }

  /** Notes why a tag gives nothing. */
  say(entry: TagEntry, trouble: string): void {
    const wasWell = entry.trouble === undefined
    entry.trouble = trouble
    if (wasWell) this.#ignoredFirst?.(entry)
  }

  /** The peer is gone: one bad sample for every tag. */
  loseAll(nowMs: number): void {
    for (const entry of this.entries) {
      entry.isLost = true
      this.#send(entry, undefined, 'bad', nowMs, nowMs)
    }
  }

  /** The peer is back: what it said last holds again from now on, for every tag that has not spoken since. */
  redeliver(nowMs: number): void {
    for (const entry of this.entries) {
      if (!entry.isLost) continue
      entry.isLost = false
      if (entry.last === undefined) continue
      this.#send(entry, entry.last.value, entry.last.quality, nowMs, nowMs)
    }
  }

  health(): TagHealth[] {
    return this.entries.map((entry) => ({
      tag: entry.tag,
      quality: entry.isLost ? 'bad' : entry.peerQuality,
      trouble: entry.trouble,
      lastValue: entry.last === undefined ? undefined : String(entry.last.value),
      lastTMs: entry.peerTMs,
      samples: entry.samples,
      ignored: entry.ignored,
      ...(entry.statedUnit !== undefined && { statedUnit: entry.statedUnit }),
    }))
  }

  #fromPeer(entry: TagEntry, value: RawValue | undefined, quality: Quality, tMs: number, arrivalTMs: number): void {
    const changesTrust = entry.peerQuality !== undefined && (quality === 'bad') !== (entry.peerQuality === 'bad')
    // A server may stamp the loss or the return of a value with the value's old time; it happens now all the same.
    const isStampedBack = entry.peerTMs !== undefined && tMs <= entry.peerTMs
    const when = changesTrust && isStampedBack ? arrivalTMs : tMs
    // What comes late from before the loss is history and does not end it.
    if (entry.lastTMs === undefined || when > entry.lastTMs) entry.isLost = false
    entry.peerQuality = quality
    entry.peerTMs = entry.peerTMs === undefined ? when : Math.max(entry.peerTMs, when)
    this.#send(entry, value, quality, when, arrivalTMs)
  }

  #send(entry: TagEntry, value: RawValue | undefined, quality: Quality, tMs: number, arrivalTMs: number): void {
    entry.samples += 1
    entry.lastTMs = entry.lastTMs === undefined ? tMs : Math.max(entry.lastTMs, tMs)
    this.#emit({ source: this.#source, address: entry.address, value, quality, tMs, arrivalTMs })
  }
}
