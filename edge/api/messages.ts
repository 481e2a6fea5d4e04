/** What the API sends: shared with the dashboard. Field names and units are the contract's columns. */
import type { AlarmId, AlarmRow, ForecastRow, PhaseSpan, Priority, SpliceRow } from '../columns.ts'
import type { OutputHealth } from '../outputs/output.ts'
import type { SourceState } from '../sources/source.ts'

/** One unwind now: its forecast and what a screen needs around it. */
export interface UnwindView extends ForecastRow {
  name: string
  /** Speed of the line now, m/min. */
  line_speed: number | null
  /** Null where not mapped or without a value. */
  new_roll_ready: boolean | null
  /** True where the operator may tap "ready" because no tag says it. */
  ready_by_hand: boolean
  splicer_auto: boolean | null
  active_spindle: string | null
  /** Time that preparing the next roll takes, s. */
  preparation_seconds: number
  /** Time before the splice at which the fill begins, s: the roll must be ready by then. */
  fill_lead_seconds: number
  splice_diameter: number | null
  core_diameter: number
  nominal_caliper: number
  buffer: {
    capacity: number
    running: number
    fill: number
    trip: number
    reserve: number
    mode: 'fill_before' | 'rides_full'
  } | null
  /** Signals that have no value now, with the age of the last one in s. */
  stale: { signal: string; source: string; seconds: number }[]
  /** Why the state is `unknown`, one sentence; else null. */
  reason: string | null
  alarms: AlarmView[]
}

export type AlarmState = 'unacknowledged' | 'acknowledged' | 'returned_unacknowledged' | 'normal'

/** One alarm from its raising on. */
export interface AlarmView {
  /** `<unwind>-<alarm>-<raised in UTC ms>`. */
  id: string
  unwind: string
  alarm: AlarmId
  priority: Priority
  state: AlarmState
  raised: string
  cleared: string | null
  acknowledged: string | null
  acknowledged_by: string | null
  comment: string | null
  value: number | null
  limit: number | null
  /** What is wrong and what to do. */
  text: string
  /** For the wall: what is wrong in at most two lines of 30 characters, and what to do. */
  short?: string
  action?: string
}

export interface SpliceView extends SpliceRow {
  phases: PhaseSpan[]
  /** When the new web took over; null where it did not or is not known. */
  transfer: string | null
  /** The verdict is final. */
  closed: boolean
  has_trace: boolean
}

/** One splice second by second: one time axis, one column per signal, null where it had no value. */
export interface TraceView {
  id: string
  unwind: string
  /** ms since 1970 UTC, ascending. */
  time: number[]
  columns: { signal: string; unit: string; values: (number | null)[] }[]
  phases: PhaseSpan[]
  started: string
  transfer: string | null
}

export interface HealthView {
  status: 'ok' | 'degraded'
  version: string
  site: string
  time_zone: string
  language: string
  /** Now, by this machine. */
  time: string
  uptime_seconds: number
  /** True where the plant is the built-in demo. */
  demo: boolean
  wall: { screen_diagonal: number; distance: number }
  sources: {
    name: string
    kind: string
    state: SourceState
    trouble: string | null
    clock_offset_ms: number | null
    tags: number
    tags_in_trouble: number
  }[]
  store: { trouble: string | null }
  database: OutputHealth | null
}

/** Server-sent events of `GET /api/stream`: event name → data. `unwinds` comes at least once a second: its absence means the connection is gone. */
export interface StreamEvents {
  unwinds: { time: string; unwinds: UnwindView[] }
  splice: SpliceView
  alarm: AlarmRow
  health: HealthView
}

/** What a person does, with who did it. */
export type Command =
  | { kind: 'acknowledge'; unwind: string; alarm: AlarmId; person: string; comment: string }
  | { kind: 'ready'; unwind: string; ready: boolean; person: string }

/** What the API needs from the daemon; the tests give it a small stand-in. */
export interface DaemonPort {
  health(): HealthView
  unwinds(): UnwindView[]
  splices(filter: SpliceFilter): SpliceView[]
  splice(id: string): SpliceView | undefined
  trace(id: string): TraceView | undefined
  alarms(filter: AlarmFilter): AlarmView[]
  /** Returns undefined, or one sentence that says why it can't be done. */
  command(command: Command): string | undefined
  /** Calls back on every change until the returned function is called. */
  subscribe(listener: <K extends keyof StreamEvents>(event: K, data: StreamEvents[K]) => void): () => void
}

export interface SpliceFilter {
  unwind?: string
  outcome?: string
  /** ms since 1970 UTC, by `started`. */
  fromTMs?: number
  toTMs?: number
  limit: number
}

export interface AlarmFilter {
  unwind?: string
  /** Only what stands or is unacknowledged. */
  standing?: boolean
  limit: number
}
