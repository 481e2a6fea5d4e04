/**
 * How often each tag reports, and where it fell silent: for a person who asks whether what is read is true. Pure, O(1) per report.
 */
import { type Sample, tagKey } from './sample.ts'

/** The rate is counted over so many pieces of so many ms. */
const PIECES = 6
const PIECE_MS = 10_000
/** Before so long has been counted a rate would be chance, ms. */
const RATE_AFTER_MS = 10_000
/** One in so many reports moves the usual interval: a change of rate is learned within a minute at one report a second. */
const SMOOTHING = 0.1
/** A silence is a gap where it is so many times the usual interval (and longer than the source may be silent). */
const GAP_TIMES = 5
/** Reports after which the usual interval is known. */
const KNOWN_AFTER = 10

/** For a source that has just left the configuration, s. */
const USUAL_STALE_S = 10

interface TagState {
  /** Of the first report, from which on is counted. */
  firstTMs: number
  counts: number[]
  piece: number
  reports: number
  lastTMs: number
  intervalMs: number | undefined
  gaps: number
  longestGapMs: number
  lastGapTMs: number | undefined
}

interface SourceState {
  lastTMs: number
  /** When its newest silence ended. */
  quietUntilTMs: number
}

/** What its configuration says of a source. */
export interface SourceHabits {
  readonly kind: string
  readonly staleAfterS: number
}

export interface TagRate {
  /** Over the last minute, or as long as it is counted; undefined in the first ten seconds. */
  reportsPerMinute: number | undefined
  gaps: number
  longestGapMs: number
  /** When the newest gap ended. */
  lastGapTMs: number | undefined
}

export class TagRates {
  readonly #tags = new Map<string, TagState>()
  readonly #sources = new Map<string, SourceState>()
  readonly #sourceOf: (source: string) => SourceHabits | undefined

  constructor(sourceOf: (source: string) => SourceHabits | undefined) {
    this.#sourceOf = sourceOf
  }

  #staleAfterMs(source: string): number {
    return 1000 * (this.#sourceOf(source)?.staleAfterS ?? USUAL_STALE_S)
  }

  /** A tag of such a source says nothing while it stays the same: only the source's own silence is a gap. */
  #tellsChangesOnly(source: string): boolean {
    return this.#sourceOf(source)?.kind === 'opcua'
  }

  /** At its arrival here. */
  report({ source, address, arrivalTMs: tMs }: Sample): void {
    const key = tagKey(source, address)
    this.#noteSource(source, tMs)
    const known = this.#tags.get(key)
    if (known === undefined) {
      // The first report opens the time that is counted and belongs to what was before it.
      this.#tags.set(key, {
        firstTMs: tMs,
        counts: [0],
        piece: Math.floor(tMs / PIECE_MS),
        reports: 1,
        lastTMs: tMs,
        intervalMs: undefined,
        gaps: 0,
        longestGapMs: 0,
        lastGapTMs: undefined,
      })
      return
    }
    this.#noteInterval(known, source, tMs)
    turn(known, tMs)
    known.counts[0]! += 1
    known.reports += 1
    known.lastTMs = tMs
  }

  #noteSource(source: string, tMs: number): void {
    const known = this.#sources.get(source)
    if (known === undefined) this.#sources.set(source, { lastTMs: tMs, quietUntilTMs: Number.NEGATIVE_INFINITY })
    else {
      if (tMs - known.lastTMs > this.#staleAfterMs(source)) known.quietUntilTMs = tMs
      known.lastTMs = Math.max(known.lastTMs, tMs)
    }
  }

  /** Whether the source as a whole was silent since then. */
  #wasQuiet(source: string, sinceTMs: number): boolean {
    return (this.#sources.get(source)?.quietUntilTMs ?? Number.NEGATIVE_INFINITY) > sinceTMs
  }

  #noteInterval(tag: TagState, source: string, tMs: number): void {
    const intervalMs = Math.max(0, tMs - tag.lastTMs)
    const { intervalMs: usualMs, reports } = tag
    const isGap =
      usualMs !== undefined &&
      reports >= KNOWN_AFTER &&
      intervalMs > this.#staleAfterMs(source) &&
      intervalMs > GAP_TIMES * usualMs &&
      (!this.#tellsChangesOnly(source) || this.#wasQuiet(source, tag.lastTMs))
    if (isGap) {
      tag.gaps += 1
      tag.longestGapMs = Math.max(tag.longestGapMs, intervalMs)
      tag.lastGapTMs = tMs
    } else tag.intervalMs = usualMs === undefined ? intervalMs : usualMs + SMOOTHING * (intervalMs - usualMs)
  }

  /** @returns undefined for a tag that has never reported. */
  of(key: string, nowMs: number): TagRate | undefined {
    const tag = this.#tags.get(key)
    if (tag === undefined) return undefined
    turn(tag, nowMs)
    const { gaps, longestGapMs, lastGapTMs } = tag
    return { reportsPerMinute: perMinute(tag, nowMs), gaps, longestGapMs, lastGapTMs }
  }
}

/** Divided by the time that the counts really cover: the piece that goes on is not over yet. */
function perMinute({ firstTMs, counts, piece }: TagState, nowMs: number): number | undefined {
  const coveredMs = nowMs - Math.max(firstTMs, (piece - PIECES + 1) * PIECE_MS)
  if (coveredMs < RATE_AFTER_MS) return undefined
  return (60_000 * counts.reduce((sum, n) => sum + n, 0)) / coveredMs
}

/** Lets what is older than a minute go. */
function turn(tag: TagState, tMs: number): void {
  const piece = Math.floor(tMs / PIECE_MS)
  const steps = Math.min(PIECES, piece - tag.piece)
  if (steps <= 0) return
  for (let i = 0; i < steps; i += 1) tag.counts.unshift(0)
  tag.counts.length = Math.min(tag.counts.length, PIECES)
  tag.piece = piece
}
