/** A week of splices of the stand-in's label press, whose stop grows towards its end, and what was set and served meanwhile. */
import type { SpliceFilter, SpliceView } from '../../edge/api/messages.ts'
import type { Config, UnwindConfig } from '../../edge/config/config.ts'
import type { HistoryStore, LogFilter } from '../../edge/history/store.ts'
import { createMessages } from '../../edge/messages/message.ts'
import { UnwindTrends } from '../../edge/pipeline-trends.ts'
import { verdictOf } from '../../edge/splice-review.ts'
import type { LogEntry } from '../../edge/trend-views.ts'
import type { TrendSplice } from '../../edge/trends/metrics.ts'
import { TrendsDesk } from '../../edge/trends-desk.ts'
import { plantSplices } from '../bench/trends-plant.ts'
import { spliceView } from '../history/samples.ts'
import { pastJoint } from './stand-in-joints.ts'

const SPLICES = 420
const EVERY_MS = 24 * 60_000
const DRIFT_FROM = 300
/** Measured at every twentieth splice: the knife gets blunt. */
const GAPS_MM = [
  0.4, 0.5, 0.5, 0.7, 0.8, 0.9, 0.4, 0.4, 0.5, 0.6, 0.6, 0.8, 0.9, 1.0, 1.1, 1.1, 1.2, 1.2, 1.3, 1.4, 1.4,
]
const UNWINDS = ['label_press', 'laminator_inner', 'sack_line']
const NAMES = ['Label press', 'Laminator inner', 'Sack line']

const configOf = (id: string, name: string): UnwindConfig =>
  ({
    id,
    name,
    buffer: { fillStoredM: 27.5, runningStoredM: 7 },
    service: [
      { item: 'knife', name: undefined, every: 400, hasBatch: false },
      { item: 'tape', name: undefined, every: undefined, hasBatch: true },
      { item: 'vacuum_filter', name: undefined, every: 250, hasBatch: false },
    ],
    signals: [{ signal: 'extra.hall_temperature', role: 'hall_temperature', unit: '°C' }],
  }) as unknown as UnwindConfig

/** One plant's splice as a record. */
export function recordOf({ tMs, side, material, speedMps, rollM, values }: TrendSplice, unwind: string): SpliceView {
  const bare = spliceView(tMs)
  return {
    ...bare,
    unwind,
    id: `${unwind}-${tMs}`,
    outcome: 'good',
    closed: true,
    flags: '',
    speed: speedMps! * 60,
    stopped_seconds: values.stop!,
    web_from_buffer: values.web_used!,
    buffer_low: values.low_point!,
    details: {
      ...bare.details,
      new_spindle: side,
      new_material: material,
      new_roll_diameter: rollM! * 1000,
      deceleration: values.deceleration!,
      acceleration: values.acceleration!,
      refill_seconds: values.refill!,
      trigger_offset: values.trigger_offset!,
      preparation_seconds: values.preparation!,
      extra: { hall_temperature: 21 + 6 * Math.sin(tMs / 86_400_000) },
    },
  }
}

const entry = (tMs: number, rest: Pick<LogEntry, 'kind' | 'subject'> & Partial<LogEntry>): LogEntry => ({
  id: `label_press-${rest.kind}-${rest.subject}-${tMs}`,
  unwind: 'label_press',
  time: new Date(tMs).toISOString(),
  side: null,
  from: null,
  to: null,
  unit: '',
  person: null,
  note: '',
  taken_back: null,
  ...rest,
})

/** As the store gives it: a service with who took it back, and nothing taken back that was never entered. */
const withTakenBack = (log: readonly LogEntry[]): LogEntry[] => {
  const isOf = (back: LogEntry, one: LogEntry): boolean =>
    back.kind === 'service_taken_back' &&
    one.kind === 'service' &&
    one.unwind === back.unwind &&
    one.subject === back.subject &&
    one.time === back.from
  return log
    .filter((one) => one.kind !== 'service_taken_back' || log.some((other) => isOf(one, other)))
    .map((one) => {
      const back = log.find((other) => isOf(other, one))
      return back === undefined ? one : { ...one, taken_back: { time: back.time, person: back.person } }
    })
}

export interface PastWeeks {
  desk: TrendsDesk
  store: Pick<HistoryStore, 'log' | 'putLog'>
  /** What a person did, as the source of what people enter tells it. */
  enter: (address: string, value: string, person: string, tMs?: number) => void
}

/** @param extra - the stand-in's own few splices. */
export function pastWeeks(nowMs: () => number, extra: () => SpliceView[]): PastWeeks {
  const endTMs = nowMs() - EVERY_MS
  const atTMs = (i: number): number => endTMs - (SPLICES - 1 - i) * EVERY_MS
  const log: LogEntry[] = [
    entry(atTMs(40), { kind: 'service', subject: 'tape', person: 'Mila', note: 'T-2207' }),
    entry(atTMs(120), { kind: 'service', subject: 'knife', person: 'Jon' }),
    entry(atTMs(210), { kind: 'setting', subject: 'extra.press_time', from: 0.4, to: 0.45, unit: 's' }),
    entry(atTMs(260), { kind: 'service', subject: 'tape', person: 'Mila', note: 'T-2291' }),
    entry(atTMs(302), { kind: 'setting', subject: 'splice_diameter', from: 132, to: 130, unit: 'mm' }),
  ]
  const trends = new UnwindTrends(configOf('label_press', 'Label press'), (one) => log.push(one))
  const drift = { perSplice: 0.001, from: DRIFT_FROM }
  const records = [...plantSplices({ seed: 3, splices: SPLICES, drift })].map((splice, i) => {
    const record = recordOf({ ...splice, tMs: atTMs(i) }, 'label_press')
    if (i % 61 !== 60) return record
    const details = { ...record.details, down_seconds: 400 + i }
    return {
      ...record,
      outcome: 'failed' as const,
      cause: i % 2 === 0 ? ('web_break' as const) : ('cycle_too_slow' as const),
      details,
    }
  })
  for (const record of records) trends.record(record, Date.parse(record.started))
  const all = (): SpliceView[] =>
    [...records, ...extra()].sort((a, b) => Date.parse(b.started) - Date.parse(a.started) || (a.id < b.id ? 1 : -1))
  const matches =
    ({ unwind, outcome, fromTMs, toTMs, before }: Omit<SpliceFilter, 'limit'>) =>
    (view: SpliceView) => {
      const tMs = Date.parse(view.started)
      return (
        (unwind === undefined || view.unwind === unwind) &&
        (outcome === undefined || verdictOf(view).outcome === outcome) &&
        tMs >= (fromTMs ?? Number.NEGATIVE_INFINITY) &&
        tMs <= (toTMs ?? Number.POSITIVE_INFINITY) &&
        (before === undefined || tMs < before.startedTMs)
      )
    }
  const config = { unwinds: UNWINDS.map((id, i) => configOf(id, NAMES[i]!)), materials: {} } as unknown as Config
  const kept = ({ unwind, kind, subject, standing, fromTMs = 0, toTMs = Number.POSITIVE_INFINITY, limit }: LogFilter) =>
    withTakenBack(log)
      .filter(
        (one) =>
          (standing !== true || one.taken_back === null) &&
          (unwind === undefined || one.unwind === unwind) &&
          (kind === undefined || one.kind === kind) &&
          (subject === undefined || one.subject === subject) &&
          Date.parse(one.time) >= fromTMs &&
          Date.parse(one.time) <= toTMs,
      )
      .sort((a, b) => Date.parse(b.time) - Date.parse(a.time))
      .slice(0, limit)
  const desk = new TrendsDesk({
    config: () => config,
    messages: () => createMessages('en', { strict: false }),
    nowMs,
    trends: (unwind) => (unwind === 'label_press' ? trends.view() : UNWINDS.includes(unwind) ? [] : undefined),
    alarms: () => [],
    store: {
      splices: (filter) => all().filter(matches(filter)).slice(0, filter.limit),
      log: kept,
      kept: (_kind, { unwind, limit }) =>
        all()
          .flatMap((splice) => pastJoint(splice) ?? [])
          .filter((joint) => unwind === undefined || joint.unwind === unwind)
          .slice(0, limit)
          .map((joint) => ({
            kind: 'joint',
            id: joint.id,
            unwind: joint.unwind,
            tMs: Date.parse(joint.made),
            view: JSON.stringify(joint),
          })),
      gaps: (unwind, { fromTMs, toTMs }) =>
        unwind === 'label_press'
          ? GAPS_MM.map((mm, i) => ({ tMs: atTMs(20 * i), mm })).filter(({ tMs }) => tMs >= fromTMs && tMs < toTMs)
          : [],
      countSplices: (unwind, span) => {
        const found = all().filter(matches({ unwind, ...span }))
        return { splices: found.length, failures: found.filter(({ outcome }) => outcome === 'failed').length }
      },
    },
  })
  return {
    desk,
    store: { log: kept, putLog: (one) => void log.push(one) },
    enter: (address, value, person, tMs = nowMs()) =>
      trends.accept({ source: 'operator', address, value, quality: 'good', tMs, arrivalTMs: nowMs(), person }),
  }
}
