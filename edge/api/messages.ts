/** What the API sends: shared with the dashboard. Field names and units are the contract's columns. */
import type { AlarmId, AlarmRow, ForecastRow, Priority, TrendMetric } from '../columns.ts'
import type { JointEventRow, JointView } from '../joint-columns.ts'
import type { Words } from '../messages/render.ts'
import type { OutputHealth } from '../outputs/output.ts'
import type { LINE_STATES } from '../signals/catalogue.ts'
import type { SourceState } from '../sources/source.ts'
import type { SpliceEntry } from '../splice-review.ts'
import type { TrendsPort } from '../trend-views.ts'
import type { AdviceView, LineView, WhatIfView } from './messages-advice.ts'
import type { EntriesPort, EntryCommand, PreparationView, WaitingRollView } from './messages-entries.ts'
import type { HandoverPort } from './messages-handover.ts'
import type { HistoryPort } from './messages-history.ts'
import type { JointCommand, JointsPort } from './messages-joints.ts'
import type { SignalsPort } from './messages-signals.ts'
import type { Reason, SpliceFilter, SpliceView, TraceView, WhyView } from './messages-splice.ts'

export type * from './messages-advice.ts'
export type { Reason, SpliceFilter, SpliceView, TraceView, WhyView }

export type LineState = (typeof LINE_STATES)[number]

/** One unwind now: its forecast and what a screen needs around it. */
export interface UnwindView extends ForecastRow {
  name: string
  /** Speed of the line now, m/min. */
  line_speed: number | null
  /** Null where not mapped or without a value. */
  line_state: LineState | null
  /** Null where not mapped or without a value. */
  new_roll_ready: boolean | null
  /** True where the operator may tap "ready" because no tag says it. */
  ready_by_hand: boolean
  splicer_auto: boolean | null
  active_spindle: string | null
  /** Time that preparing the next roll takes, s. */
  preparation_seconds: number
  preparation: PreparationView
  /** Null where nothing says that a roll waits. */
  waiting_roll: WaitingRollView | null
  /** Time before the splice at which the fill begins, s: the roll must be ready by then. */
  fill_lead_seconds: number
  splice_diameter: number | null
  core_diameter: number
  /** Of a full roll as it usually is here, else of the running one when it was loaded, mm: a drawing's scale. */
  full_diameter: number
  nominal_caliper: number
  buffer: {
    capacity: number
    running: number
    fill: number
    trip: number
    reserve: number
    mode: 'fill_before' | 'rides_full'
  } | null
  /**
   * The splices after the next one, within 2 hours: how long after it they and the ends of their 80 % intervals come, s. So
   * they hardly change while the roll runs. Empty while the line stands.
   */
  next_splices: { after: number; after_low: number; after_high: number }[]
  /** Of a roll whose splice is overdue: web until its core is bare, and how long it lasts at this speed, s; null otherwise. */
  left_to_core: { metres: number; seconds: number | null } | null
  /** The next mark (flaw or joint) inside the running roll that comes before its splice, within the hour; null where there is none. */
  next_flag: { metres: number; seconds: number } | null
  /**
   * The job ends before the next splice, beyond doubt: no further roll is asked for. Web that it still needs, m, and how long that
   * takes, s (null while the line stands); null where a roll is needed, or may be.
   */
  job_end: { metres: number; seconds: number | null } | null
  /** Signals that have no value now, with their tag and the age of the last one in s. */
  stale: { signal: string; source: string; address: string; seconds: number }[]
  /** Why the state is `unknown`, one sentence in the site's language; else null. */
  reason: string | null
  /** The same for a browser, which renders it in its reader's language. */
  reason_words: Words | null
  /** Joints on their way through the line, and those that nobody confirmed. */
  joints: JointView[]
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
  /** It means nothing at present (the line stands, threads or jogs) and is not told. */
  suppressed: boolean
  /** A person put it aside until then; null where it is not. */
  shelved_until: string | null
  shelved_by: string | null
  value: number | null
  limit: number | null
  /** What is wrong and what to do. */
  text: string
  /**
   * The same for a browser, which renders it in its reader's language and units: the texts `<key>.short`, `.what` and
   * `.action` of edge/messages. A record of an older version lacks it.
   */
  words?: Words
  /** For the wall: what is wrong in at most two lines of 30 characters, and what to do. */
  short?: string
  action?: string
  /**
   * What it said when it came, and each time that it came to say something else, oldest first; left out where that is what it
   * says now.
   */
  told?: { time: string; priority: Priority; text: string; words: Words; short: string }[]
}

/** One tag (or both speeds) that may read wrong; or two mix-ups that would have to go wrong at once. */
export interface SuspectedTag extends SuspectedPart {
  /** Each of the two with its own factor, then `factor` above is null; empty where it is one. */
  together: SuspectedPart[]
}

export interface SuspectedPart {
  signals: string[]
  /** One per signal; empty where the config states the value itself. */
  addresses: string[]
  /** What it reads over what is true; below 0 it moves the wrong way; null where it isn't a matter of scale. */
  factor: number | null
  /** Standard deviation of the factor, as a share. */
  sd: number | null
  /** A usual mix-up that has this factor: `ft/min as m/min`, `radius`, `2 strands for 1`. */
  looks_like: string | null
}

/** Whether the tags of an unwind agree with each other. */
export interface ConsistencyView {
  unwind: string
  time: string
  /** `few`: what was compared agrees, and is too little to say so of the tags; `nothing`: nothing was compared yet. */
  verdict: 'disagree' | 'agree' | 'few' | 'nothing'
  findings: (SuspectedTag & {
    /** `<signal>.<kind>`. */
    id: string
    severity: 'wrong' | 'doubtful'
    /** What the signals cannot tell it from. */
    alternatives: SuspectedTag[]
    /** Ids of the relations that disagree. */
    evidence: string[]
    /** Tag, factor, unit and remedy in words. */
    text: string
    words: Words[]
  })[]
  /** Everything that was compared, with numbers. */
  relations: { id: string; ratio: number; sd: number; judged: boolean; text: string; words: Words[] }[]
}

export interface HealthView {
  status: 'ok' | 'degraded'
  version: string
  site: string
  time_zone: string
  /** When shifts begin, local time `HH:MM`; empty where the config says nothing of them. */
  shifts: string[]
  language: string
  /** Now, by this machine. */
  time: string
  uptime_seconds: number
  /** True where the plant is the built-in demo. */
  demo: boolean
  /** Some line tells which finished roll is being wound: joints can be listed by it. */
  finished_rolls: boolean
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
  joint: JointEventRow
  health: HealthView
}

/** What a person does, with who did it. */
export type Command =
  | { kind: 'acknowledge'; unwind: string; alarm: AlarmId; person: string; comment: string }
  | { kind: 'ready'; unwind: string; ready: boolean; person: string }
  /** A joint or defect inside a roll: mm below the outside at loading; 0 takes back all of that roll. */
  | { kind: 'flag'; unwind: string; roll: 'running' | 'waiting'; depth: number; person: string }
  /** Something was changed or cleaned at the splicer; `tMs` where it is told by another entry, of that time. */
  | { kind: 'service'; unwind: string; item: string; note: string; person: string; tMs?: number }
  /** The service that was entered at `time` (ISO 8601) was none. */
  | { kind: 'service_taken_back'; unwind: string; item: string; time: string; person: string }
  /** The present level of a metric is the usual one from now on. */
  | { kind: 'usual'; unwind: string; metric: TrendMetric; note: string; person: string }
  | EntryCommand
  | JointCommand

/** What the API needs from the daemon; the tests give it a small stand-in. */
export interface DaemonPort extends EntriesPort, HistoryPort, JointsPort, SignalsPort {
  health(): HealthView
  unwinds(): UnwindView[]
  /** Undefined where there is no such unwind. */
  consistency(unwind: string): ConsistencyView | undefined
  /** Undefined where there is no such unwind. */
  advice(unwind: string): AdviceView | undefined
  /** @param speed - m/min. */
  whatIf(unwind: string, speed: number): WhatIfView | undefined
  lines(): LineView[]
  splices(filter: SpliceFilter): SpliceView[]
  splice(id: string): SpliceView | undefined
  trace(id: string): TraceView | undefined
  /** Undefined where there is no such splice. */
  why(id: string): Promise<WhyView | undefined>
  /** Its text alone. */
  reason(id: string): Reason | undefined
  /** A person adds to a splice that is there. @returns it as it stands now. */
  addEntry(id: string, entry: SpliceEntry): SpliceView
  /** A person enters a splice that no signal saw. */
  addSplice(unwind: string, startedTMs: number, entry: SpliceEntry): SpliceView
  alarms(filter: AlarmFilter): AlarmView[]
  readonly desk: TrendsPort
  readonly handover: HandoverPort
  /** What would stand now, were it not suppressed by design or shelved by a person. */
  alarmsAside(): AlarmView[]
  /** Returns undefined, or in words why it can't be done. */
  command(command: Command): Words | undefined
  /** Calls back on every change until the returned function is called. */
  subscribe(listener: <K extends keyof StreamEvents>(event: K, data: StreamEvents[K]) => void): () => void
}

export interface AlarmFilter {
  unwind?: string
  /** Only what stands or is unacknowledged. */
  standing?: boolean
  limit: number
}
