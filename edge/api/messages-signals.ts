/** Every source and tag as it is read now: shared with the dashboard. */
import type { SourceState } from '../sources/source.ts'

export interface TagUseView {
  unwind: string
  /** What it means there. */
  signal: string
  spindle: string | null
  /** Unit that the config states for the tag; null for truth and text. */
  tag_unit: string | null
  /** What the tag itself says, as the machine's own screen may show it; null where it says nothing. */
  raw: number | boolean | string | null
  /** A number of it after scale and offset, in `tag_unit`; null where neither is configured or it is no number. */
  scaled: number | null
  /** For a bit of a word: which, counted from 0; and whether its meaning is turned round. */
  bit: number | null
  inverted: boolean
  /** In the contract's unit; text and truth as they are; null where it has no value. */
  value: number | boolean | string | null
  unit: string
  /** Nothing that this unwind may reckon with: its source is silent, or it never had a value. */
  stale: boolean
  /** Reports that were no value of it: empty, unparsable, out of range. */
  ignored: number
  /** The newest report was no value, and this is what it said. */
  refused: string | null
}

export interface TagView {
  source: string
  address: string
  /** Unit that the server itself states (OPC UA EngineeringUnits), as it writes it; null where it states none. */
  stated_unit: string | null
  quality: 'good' | 'uncertain' | 'bad' | null
  /** Since the newest report, s; null where none came. */
  age_seconds: number | null
  /** Over the last minute, or since the first one; null in its first ten seconds and where none ever came. */
  reports_per_minute: number | null
  /** Silences since the start, longer than its source may be silent and than five times its usual interval. */
  gaps: number
  longest_gap_seconds: number
  last_gap: string | null
  uses: TagUseView[]
}

export interface SignalsView {
  time: string
  /** Since when rates and gaps are counted. */
  since: string
  sources: {
    name: string
    kind: string
    state: SourceState
    trouble: string | null
    clock_offset_ms: number | null
    /** So long it may be silent before its values count as stale, s. */
    stale_after_seconds: number | null
  }[]
  tags: TagView[]
}

export interface SignalsPort {
  signals(): SignalsView
}
