/**
 * Records splices at full rate, for one unwind: the 60 s before a splice from memory, then every point until 60 s after its
 * end. Points go straight to the store, which commits them each second.
 *
 * Assumes points nearly in order of time (late ones are taken while their splice is still recorded). Splices may overlap:
 * each gets its own trace. No clock: time is the points' own.
 */
import type { SignalPoint, Store } from './store.ts'

export interface TraceOptions {
  /** How much before `started` and after the end belongs to a trace, ms. */
  aroundMs: number
  /** A splice is recognised later than it started; the memory reaches so much further back, ms. */
  slackMs: number
  /** A trace whose splice never ends stops itself, ms after `started`. */
  longestMs: number
  /** Points in memory at most; beyond it the oldest go and are counted. 300 signals at 10 Hz for 60 s are 180,000. */
  mostPoints: number
}

const DEFAULTS: TraceOptions = { aroundMs: 60_000, slackMs: 60_000, longestMs: 1_800_000, mostPoints: 200_000 }
/** The front of the memory is cut off by the piece: cutting moves everything behind it. */
const CUT_AT = 4096

/** A trace that is still being written; plain data, for a snapshot. */
export interface OpenTrace {
  spliceId: string
  startedTMs: number
  /** Undefined while the splice lasts. */
  endedTMs: number | undefined
}

export class TraceRecorder {
  /** Points that no longer fitted into memory before their time was over. */
  dropped = 0
  private readonly store: Pick<Store, 'addTrace'>
  private readonly options: TraceOptions
  private memory: SignalPoint[] = []
  private forgotten = 0
  private newestTMs = Number.NEGATIVE_INFINITY
  /** What each signal held when it left the memory: a slow tag may say nothing for minutes. */
  private readonly heldBefore = new Map<string, SignalPoint>()
  private readonly open = new Map<string, OpenTrace>()

  constructor(store: Pick<Store, 'addTrace'>, options: Partial<TraceOptions> = {}) {
    this.store = store
    this.options = { ...DEFAULTS, ...options }
  }

  push(point: SignalPoint): void {
    this.memory.push(point)
    if (point.tMs > this.newestTMs) this.newestTMs = point.tMs
    this.forget()
    for (const trace of this.open.values()) {
      if (point.tMs >= this.firstTMs(trace) && point.tMs <= this.lastTMs(trace)) {
        this.store.addTrace(trace.spliceId, [point])
      } else if (this.newestTMs > this.lastTMs(trace) + this.options.slackMs) {
        this.open.delete(trace.spliceId)
      }
    }
  }

  /** A splice was recognised. Writes what memory has of it; a second call for the same splice changes nothing. */
  begin(spliceId: string, startedTMs: number): void {
    if (this.open.has(spliceId)) return
    const trace: OpenTrace = { spliceId, startedTMs, endedTMs: undefined }
    this.open.set(spliceId, trace)
    const fromTMs = this.firstTMs(trace)
    const held = new Map(this.heldBefore)
    const points: SignalPoint[] = []
    const reported = new Set<string>()
    for (const point of this.inMemory()) {
      if (point.tMs === fromTMs) reported.add(point.signal)
      if (point.tMs >= fromTMs) points.push(point)
      else if (point.tMs >= (held.get(point.signal)?.tMs ?? Number.NEGATIVE_INFINITY)) held.set(point.signal, point)
    }
    const atStart = [...held.values()]
      .filter(({ signal, value }) => value !== null && !reported.has(signal))
      .map((point): SignalPoint => ({ ...point, tMs: fromTMs }))
    points.sort((a, b) => a.tMs - b.tMs)
    this.store.addTrace(spliceId, [...atStart, ...points])
  }

  /** The splice is over (or its transfer was, where that is the last that is known); a later call moves the end. */
  end(spliceId: string, endedTMs: number): void {
    const trace = this.open.get(spliceId)
    if (trace !== undefined) trace.endedTMs = endedTMs
  }

  /** What to hand to `resume` after a restart. */
  snapshot(): OpenTrace[] {
    return [...this.open.values()].map((trace) => ({ ...trace }))
  }

  /**
   * Goes on with a trace after a restart. The gap is marked: every signal ends its last value right after the last point
   * that was written, so that no chart draws a line through a time that nobody saw.
   */
  resume(trace: OpenTrace, written: readonly SignalPoint[]): void {
    const newest = new Map<string, SignalPoint>()
    for (const point of written) {
      if (point.tMs >= (newest.get(point.signal)?.tMs ?? Number.NEGATIVE_INFINITY)) newest.set(point.signal, point)
    }
    const gapTMs = Math.max(...[...newest.values()].map(({ tMs }) => tMs)) + 1
    const ends = [...newest.values()]
      .filter(({ value }) => value !== null)
      .map((point): SignalPoint => ({ ...point, tMs: gapTMs, value: null }))
    if (ends.length > 0) this.store.addTrace(trace.spliceId, ends)
    this.open.set(trace.spliceId, { ...trace })
  }

  private firstTMs(trace: OpenTrace): number {
    return trace.startedTMs - this.options.aroundMs
  }

  private lastTMs(trace: OpenTrace): number {
    const longest = trace.startedTMs + this.options.longestMs
    return trace.endedTMs === undefined ? longest : Math.min(longest, trace.endedTMs + this.options.aroundMs)
  }

  private inMemory(): SignalPoint[] {
    return this.forgotten === 0 ? this.memory : this.memory.slice(this.forgotten)
  }

  private forget(): void {
    const oldestTMs = this.newestTMs - this.options.aroundMs - this.options.slackMs
    for (;;) {
      const point = this.memory[this.forgotten]
      if (point === undefined) break
      const isTooMuch = this.memory.length - this.forgotten > this.options.mostPoints
      if (point.tMs >= oldestTMs && !isTooMuch) break
      if (point.tMs >= oldestTMs) this.dropped += 1
      const held = this.heldBefore.get(point.signal)
      if (held === undefined || point.tMs >= held.tMs) this.heldBefore.set(point.signal, point)
      this.forgotten += 1
    }
    if (this.forgotten >= CUT_AT && this.forgotten * 2 >= this.memory.length) {
      this.memory = this.memory.slice(this.forgotten)
      this.forgotten = 0
    }
  }
}
