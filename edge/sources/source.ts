/**
 * What a source promises. A source turns one peer (PLC, broker) into samples; it never decides what they mean.
 *
 * - `start` resolves at once and connects in the background, again and again for ever; a peer that is away at start is no error.
 * - Samples arrive in order of arrival; within one notification they are sorted by time.
 * - When the peer dies (no proof of life for 1.5 × keepAliveS) every tag gets one sample of quality `bad` with the
 *   present time, so that a recording holds the loss too. When the peer is back, the current or last known value
 *   of every tag is delivered again.
 * - `alive` is called on every proof of life (keep-alive or notification), at least every keepAliveS while the peer lives.
 * - A bad tag or message is counted in `health`, never thrown.
 */
import type { TagRef } from '../config/config.ts'
import type { Sample } from '../sample.ts'

export interface SourceListener {
  sample(sample: Sample): void
  /** The peer proved at `tMs` (this machine's time less nothing: pipeline time) that it lives. */
  alive(source: string, tMs: number): void
  /** A change of state worth a log line and worth showing. */
  state(source: string, health: SourceHealth): void
}

export type SourceState = 'connecting' | 'connected' | 'lost' | 'refused' | 'stopped'

export interface TagHealth {
  tag: TagRef
  /** Undefined until the tag answered. */
  quality: 'good' | 'uncertain' | 'bad' | undefined
  /** Why it gives nothing, one sentence; undefined where all is well. */
  trouble: string | undefined
  lastValue: string | undefined
  lastTMs: number | undefined
  samples: number
  /** Empty, unparsable, NaN or out of range: counted and ignored. */
  ignored: number
  /** The unit that the peer itself states, as it writes it; left out where it states none. */
  statedUnit?: string
}

export interface SourceHealth {
  name: string
  kind: 'opcua' | 'mqtt' | 'recording' | 'operator'
  state: SourceState
  /** One sentence: what is wrong and what to do; undefined while connected and well. */
  trouble: string | undefined
  sinceTMs: number
  /** Source clock less this machine's clock, ms; undefined until known. */
  clockOffsetMs: number | undefined
  tags: TagHealth[]
}

export interface Source {
  readonly name: string
  start(listener: SourceListener): Promise<void>
  health(): SourceHealth
  /** Closes the session properly; resolves when it is closed or after at most 5 s. */
  stop(): Promise<void>
}
