/** Splices as the API sends them: shared with the dashboard. Field names and units are the contract's columns. */
import type { Phase, PhaseSpan, SpliceRow } from '../columns.ts'
import type { Words } from '../messages/render.ts'
import type { ColumnKind } from '../signals/column-kind.ts'
import type { SpliceDetails } from '../splice-details.ts'
import type { SpliceReview } from '../splice-review.ts'

export interface SpliceView extends SpliceRow {
  phases: PhaseSpan[]
  /** When the new web took over; null where it did not or is not known. */
  transfer: string | null
  /** The verdict is final. */
  closed: boolean
  has_trace: boolean
  details: SpliceDetails
  /** What people added; null where nobody did. */
  review: SpliceReview | null
}

/** One splice second by second: one time axis, one column per signal, null where it had no value. */
export interface TraceView {
  id: string
  unwind: string
  /** ms since 1970 UTC, ascending. */
  time: number[]
  columns: ({ signal: string; values: (number | null)[] } & ColumnKind)[]
  phases: PhaseSpan[]
  started: string
  transfer: string | null
}

/** Why a splice went as it did, from evidence alone. */
export interface WhyView {
  id: string
  /** Ids of the good splices that it is compared with: same unwind, side and speed class, newest first. */
  compared: string[]
  side: string | null
  /** Of those, m/min. */
  speed_low: number | null
  speed_high: number | null
  /** A few sentences. */
  text: string
  /** The same, for a browser that renders it in its reader's language and units. */
  words: Words[]
  /** In the order of the cycle, then of the whole; `spreads` is how many of its usual spreads a value is off. */
  departures: {
    measure: string
    phase: Phase | null
    unit: string
    value: number
    usual: number
    spread: number
    spreads: number
  }[]
  /** Median and central 80 % of the good ones, moved to this splice's transfer; null where there are too few. */
  band: {
    splices: number
    /** ms since 1970 UTC, ascending. */
    time: number[]
    columns: {
      signal: string
      unit: string
      low: (number | null)[]
      median: (number | null)[]
      high: (number | null)[]
    }[]
  } | null
}

/** Why, in words alone. */
export type Reason = Pick<WhyView, 'text' | 'words'>

export interface SpliceFilter {
  /** What caused it or was done, as `splice-words.ts` writes it: any of them will do in place of the words of `text`. */
  said?: readonly string[] | undefined
  unwind?: string
  /** By a person's word first, as `cause`. */
  outcome?: string
  cause?: string
  /** Words of rolls, materials and notes: each has to be there, from four letters on its beginning will do. */
  text?: string
  /** ms since 1970 UTC, by `started`. */
  fromTMs?: number
  toTMs?: number
  /** Only what comes after this one in the list: to read on. */
  before?: { startedTMs: number; id: string }
  limit: number
}
