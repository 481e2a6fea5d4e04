/**
 * A stand-in for the daemon: three unwinds of the invented plant, moved by a clock that the test owns.
 *
 * - `label_press` goes round every 240 s: counts down, its roll gets ready late, fills, splices, refills.
 * - `laminator_inner` rides full, stands for 45 s in each 300 s, has too little buffer for its speed, and is told by hand that its roll is ready.
 * - `sack_line` is unknown: its source is lost.
 *
 * `tick()` moves everything to the clock's time and tells the subscribers. `override` pins fields of one view.
 */
import { refuseDepth } from '../../edge/advice/flag-depth.ts'
import type {
  AdviceView,
  AlarmFilter,
  AlarmView,
  Command,
  ConsistencyView,
  DaemonPort,
  HealthView,
  LineView,
  Reason,
  SpliceFilter,
  SpliceView,
  StreamEvents,
  TraceView,
  UnwindView,
  WhatIfView,
  WhyView,
} from '../../edge/api/messages.ts'
import type { EntriesView } from '../../edge/api/messages-entries.ts'
import type { HistoryQuery, HistoryView } from '../../edge/api/messages-history.ts'
import type { SpanFilter } from '../../edge/api/messages-joints.ts'
import type { SignalsView } from '../../edge/api/messages-signals.ts'
import { type AlarmId, COLUMN_UNITS, type Priority } from '../../edge/columns.ts'
import type { ReadLabel } from '../../edge/entries.ts'
import { HandoverDesk } from '../../edge/handover-desk.ts'
import type { CountDifference, JointEventRow, JointView } from '../../edge/joint-columns.ts'
import { createMessages } from '../../edge/messages/message.ts'
import { lengthM, type Words } from '../../edge/messages/render.ts'
import { readRollLabel } from '../../edge/sources/roll-label.ts'
import type { SpliceEntry } from '../../edge/splice-review.ts'
import type { TrendsDesk } from '../../edge/trends-desk.ts'
import { spliceOf } from './past-splices.ts'
import { type PastWeeks, pastWeeks } from './past-weeks.ts'
import { standInAdvice, standInLine, standInWhatIf } from './stand-in-advice.ts'
import { StandInAlarms, saying } from './stand-in-alarms.ts'
import { StandInEntries } from './stand-in-entries.ts'
import { standInHistory, standInSignals, withWrongUnit } from './stand-in-history.ts'
import { arrivalsOf, pastJoint } from './stand-in-joints.ts'
import { StandInSplices } from './stand-in-splices.ts'
import {
  isLabelRollReady,
  LABEL_FILL_S,
  LABEL_PERIOD_S,
  LABEL_PREPARATION_S,
  LABEL_SPLICE_AT_S,
  labelPress,
  laminator,
  sackLine,
} from './stand-in-views.ts'

type Listener = <K extends keyof StreamEvents>(event: K, data: StreamEvents[K]) => void

const iso = (tMs: number): string => new Date(tMs).toISOString()
const rounded = (value: number, digits = 1): number => Number(value.toFixed(digits))

const messages = createMessages('en', { strict: true })

export interface StandInOptions {
  nowMs: () => number
  /** Where in its round `label_press` is at the start, s; 200 is the moment of the splice. */
  labelPressAtS?: number
  demo?: boolean
  /** The wall's screen; default 43 inches at 8 m. */
  wall?: HealthView['wall']
  /** The site's; default English. */
  language?: string
}

export class StandInDaemon implements DaemonPort {
  /** Flags that were entered. */
  readonly flags: { depth: number; entered: string; person: string }[] = []
  readonly commands: Command[] = []
  readonly #entries = new StandInEntries()
  readonly #nowMs: () => number
  readonly #startMs: number
  readonly #labelOffsetS: number
  readonly #demo: boolean
  readonly #wall: HealthView['wall']
  readonly #language: string
  readonly #listeners = new Set<Listener>()
  readonly #overrides = new Map<string, Partial<UnwindView>>()
  readonly #splices: StandInSplices
  #weeks: PastWeeks | undefined
  readonly #alarms: StandInAlarms
  #laminatorReady = false
  #labelRound: number
  #ticks = 0

  constructor(options: StandInOptions) {
    this.#nowMs = options.nowMs
    this.#startMs = options.nowMs()
    this.#labelOffsetS = options.labelPressAtS ?? 20
    this.#demo = options.demo ?? true
    this.#language = options.language ?? 'en'
    this.#wall = options.wall ?? { screen_diagonal: 1.09, distance: 8 }
    this.#splices = new StandInSplices(this.#startMs)
    this.#labelRound = this.#label().round
    this.#alarms = new StandInAlarms(this.#startMs, (row) => this.emit('alarm', row))
  }

  get desk(): TrendsDesk {
    return this.#past().desk
  }

  get handover(): HandoverDesk {
    const site = { shifts: ['06:00', '14:00', '22:00'], timeZone: 'Europe/Berlin' }
    return new HandoverDesk({ port: this, store: this.#past().store, site: () => site, nowMs: this.#nowMs })
  }

  #past(): PastWeeks {
    this.#weeks ??= pastWeeks(this.#nowMs, () => this.#splices.list({ limit: 1000 }))
    return this.#weeks
  }

  health(): HealthView {
    const nowMs = this.#nowMs()
    return {
      status: 'degraded',
      version: '0.1.0',
      site: 'Alder Quay Works',
      time_zone: 'Europe/Berlin',
      shifts: ['06:00', '14:00', '22:00'],
      language: this.#language,
      time: iso(nowMs),
      uptime_seconds: rounded((nowMs - this.#startMs) / 1000 + 5400, 0),
      demo: this.#demo,
      finished_rolls: true,
      wall: this.#wall,
      sources: [
        {
          name: 'line_plc',
          kind: 'opcua',
          state: 'connected',
          trouble: null,
          clock_offset_ms: -84,
          tags: 14,
          tags_in_trouble: 0,
        },
        {
          name: 'hall_broker',
          kind: 'mqtt',
          state: 'lost',
          trouble:
            'hall_broker (mqtt://127.0.0.1:1883) does not answer: look whether the broker runs and the cable is in.',
          clock_offset_ms: null,
          tags: 6,
          tags_in_trouble: 6,
        },
      ],
      store: { trouble: null },
      database: { state: 'sending', waiting: 12, sent: 48_211, refused: 0, trouble: undefined },
    }
  }

  consistency(unwind: string): ConsistencyView {
    const apart = { key: 'consistency.apart.percent', parameters: { percent: 1.3 } }
    const words = {
      key: 'consistency.relation.area',
      parameters: { first: lengthM(1187), second: lengthM(1203), apart },
    }
    const text = messages(words.key, words.parameters)
    const relations = [{ id: 'area', ratio: 0.987, sd: 0.004, judged: true, text, words: [words] }]
    const view: ConsistencyView = { unwind, time: iso(this.#nowMs()), verdict: 'few', findings: [], relations }
    return unwind === 'laminator_inner' ? withWrongUnit(view) : view
  }

  /** What the unwinds show, or showed. */
  #shown(tMs: number): UnwindView[] {
    const elapsedS = (tMs - this.#startMs) / 1000
    return [
      labelPress({ tMs, ...this.#label(tMs) }),
      laminator({ tMs, elapsedS, isReady: this.#laminatorReady }),
      sackLine({ tMs, elapsedS }),
    ]
  }

  unwinds(): UnwindView[] {
    return this.#shown(this.#nowMs()).map((view) => ({
      ...this.#entries.shown(view),
      alarms: this.alarms({ unwind: view.unwind, standing: true, limit: 100 }),
      ...this.#overrides.get(view.unwind),
    }))
  }

  advice(unwind: string): AdviceView | undefined {
    const view = this.unwinds().find((one) => one.unwind === unwind)
    return view === undefined ? undefined : standInAdvice(view, this.flags)
  }

  whatIf(unwind: string, speed: number): WhatIfView | undefined {
    const view = this.unwinds().find((one) => one.unwind === unwind)
    return view === undefined ? undefined : standInWhatIf(view, speed)
  }

  entries(unwind: string): EntriesView | undefined {
    const view = this.unwinds().find((one) => one.unwind === unwind)
    return view === undefined ? undefined : this.#entries.entries(view)
  }

  signals(): SignalsView {
    return standInSignals(this.#nowMs(), this.#startMs)
  }

  hasColumn(_unwind: string, name: string): boolean {
    return Object.hasOwn(COLUMN_UNITS, name)
  }

  history(query: HistoryQuery): Promise<HistoryView | undefined> {
    const past = (tMs: number): UnwindView[] => this.#shown(tMs)
    return standInHistory(past, query)
  }

  readLabel(code: string): ReadLabel {
    return readRollLabel(code, undefined)
  }

  lines(): LineView[] {
    return [standInLine(iso(this.#nowMs()))]
  }

  splices(filter: SpliceFilter): SpliceView[] {
    return this.#splices.list(filter)
  }

  splice(id: string): SpliceView | undefined {
    return this.#splices.find(id)
  }

  trace(id: string): TraceView | undefined {
    return this.#splices.trace(id)
  }

  why(id: string): Promise<WhyView | undefined> {
    return this.#splices.why(id)
  }

  reason(id: string): Reason | undefined {
    return this.#splices.reason(id)
  }

  addEntry(id: string, entry: SpliceEntry): SpliceView {
    const view = this.#splices.addEntry(id, entry)
    this.emit('splice', view)
    return view
  }

  addSplice(unwind: string, startedTMs: number, entry: SpliceEntry): SpliceView {
    const view = this.#splices.addSplice(unwind, startedTMs, entry)
    this.emit('splice', view)
    return view
  }

  alarms(filter: AlarmFilter): AlarmView[] {
    return this.#alarms.list(filter)
  }

  alarmsAside(): AlarmView[] {
    return this.#alarms.aside()
  }

  command(command: Command): Words | undefined {
    this.commands.push(command)
    if (command.kind === 'acknowledge' || command.kind === 'shelve') return this.#alarms.command(command, this.#nowMs())
    if (command.kind === 'flag') {
      const refusal = refuseDepth(command.depth, command.roll === 'running' ? 310 : null, command.roll)
      if (refusal !== undefined) return refusal
      this.flags.push({ depth: command.depth, entered: iso(this.#nowMs()), person: command.person })
      return undefined
    }
    const view = this.unwinds().find(({ unwind }) => unwind === command.unwind)
    if (view === undefined) return { key: 'refusal.unwind_gone', parameters: { unwind: command.unwind } }
    if (command.kind === 'joint_out') return undefined
    if (command.kind === 'usual') {
      this.#past().enter(`usual/${command.unwind}/${command.metric}`, command.note, command.person)
      return undefined
    }
    if (command.kind === 'service') {
      const { unwind, item, note, person, tMs } = command
      this.#past().enter(`service/${unwind}/${item}`, note, person, tMs)
      return undefined
    }
    if (command.kind === 'service_taken_back') {
      const { kind, unwind, item, time, person } = command
      this.#past().enter(`${kind}/${unwind}/${item}`, time, person)
      return undefined
    }
    if (command.kind === 'ready' && command.unwind !== 'laminator_inner') {
      return { key: 'refusal.ready_by_plc', parameters: { name: command.unwind } }
    }
    this.#entries.enter(view, command)
    if (command.kind === 'ready') this.#laminatorReady = command.ready
    return undefined
  }

  joints({ unwind, fromTMs = 0, toTMs = Number.POSITIVE_INFINITY }: SpanFilter): JointView[] {
    const isIn = (tMs: number): boolean => tMs >= fromTMs && tMs <= toTMs
    return this.splices({ unwind, limit: 1000 })
      .flatMap((splice) => pastJoint(splice) ?? [])
      .filter(({ made }) => isIn(Date.parse(made)))
  }

  jointEvents(filter: SpanFilter): JointEventRow[] {
    return this.joints(filter).flatMap(arrivalsOf)
  }

  countDifferences(): CountDifference[] {
    return []
  }

  subscribe(listener: Listener): () => void {
    this.#listeners.add(listener)
    return () => this.#listeners.delete(listener)
  }

  /** How many listen now. */
  get listeners(): number {
    return this.#listeners.size
  }

  /** Pins fields of one unwind's view. */
  override(unwind: string, fields: Partial<UnwindView>): void {
    this.#overrides.set(unwind, { ...this.#overrides.get(unwind), ...fields })
  }

  /** Raises an alarm now, as the daemon would. */
  raise(alarm: AlarmId, unwind: string, priority: Priority, text: string): AlarmView {
    return this.#alarms.raise(alarm, unwind, priority, this.#nowMs(), { text })
  }

  /** It is over and nobody has to see it. */
  endAlarm(alarm: AlarmView): void {
    alarm.state = 'normal'
    alarm.cleared = iso(this.#nowMs())
  }

  emit<K extends keyof StreamEvents>(event: K, data: StreamEvents[K]): void {
    for (const listener of this.#listeners) listener(event, data)
  }

  /** Moves to the clock's time: alarms rise and clear, splices happen, subscribers are told. */
  tick(): void {
    const nowMs = this.#nowMs()
    const { atS, round } = this.#label()
    const leftS = LABEL_SPLICE_AT_S - LABEL_FILL_S - atS
    const open = this.#alarms.open('roll_not_ready')
    const isReady = isLabelRollReady(atS)
    if (open === undefined && !isReady && leftS > 0 && leftS < 1.5 * LABEL_PREPARATION_S) {
      this.#alarms.raise('roll_not_ready', 'label_press', 'medium', nowMs, {
        ...saying('alarm.roll_not_ready'),
        value: rounded(leftS, 0),
        limit: 1.5 * LABEL_PREPARATION_S,
      })
    } else if (open !== undefined && open.priority === 'medium' && leftS < LABEL_PREPARATION_S) {
      open.priority = 'high'
      Object.assign(open, saying('alarm.roll_not_ready.due'))
      this.#alarms.tell(open, 'raised', nowMs)
    }
    if (open !== undefined && isReady) this.#alarms.clear(open, nowMs)
    if (round !== this.#labelRound) {
      this.#labelRound = round
      this.#splice(nowMs)
    }
    this.emit('unwinds', { time: iso(nowMs), unwinds: this.unwinds() })
    if (this.#ticks++ % 5 === 0) this.emit('health', this.health())
  }

  #splice(nowMs: number): void {
    const verdicts = [
      { outcome: 'good' },
      { outcome: 'good', flags: 'slow_cycle', motion: { stopS: 1.6 } },
      { outcome: 'failed', cause: 'web_break', motion: { breakAfterS: 6 } },
    ] as const
    const done = spliceOf({ unwind: 'label_press', ...verdicts[this.#labelRound % verdicts.length]! }, nowMs)
    this.#splices.unshift(done)
    this.emit('splice', {
      ...done.view,
      ended: null,
      outcome: null,
      cause: null,
      flags: '',
      closed: false,
      has_trace: false,
    })
    this.emit('splice', done.view)
  }

  /** Where `label_press` is in its round; `round` counts splices begun. */
  #label(tMs = this.#nowMs()): { atS: number; round: number } {
    const totalS = (tMs - this.#startMs) / 1000 + this.#labelOffsetS
    return {
      atS: ((totalS % LABEL_PERIOD_S) + LABEL_PERIOD_S) % LABEL_PERIOD_S,
      round: Math.floor((totalS + LABEL_PERIOD_S - LABEL_SPLICE_AT_S) / LABEL_PERIOD_S),
    }
  }
}
