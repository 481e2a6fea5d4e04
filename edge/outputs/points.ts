/**
 * Results as points for a time-series database. Pure.
 *
 * Measurements `forecast`, `signal`, `splice`, `alarm`, `joint`; tags `site`, `unwind` and a joint's `station` only: whatever grows without bound (ids,
 * texts) or is revised later (outcome, cause) is a field. The same result gives the same series and time, so that sending
 * it again overwrites itself.
 */
import type { SpliceView } from '../api/messages.ts'
import { ALARM_EVENTS, ALARM_IDS, type AlarmRow, type StoredForecast } from '../columns.ts'
import type { SignalPoint } from '../history/store.ts'
import { JOINT_EVENTS, type JointEventRow } from '../joint-columns.ts'
import type { Point } from './output.ts'

type Fields = Point['fields']

/** @returns undefined where the point would have no field. */
const pointOf = (
  measurement: Point['measurement'],
  site: string,
  unwind: string,
  tMs: number,
  fields: Fields,
): Point | undefined => {
  if (Object.keys(fields).length === 0 || !Number.isFinite(tMs)) return undefined
  return { measurement, tags: unwind === '' ? { site } : { site, unwind }, fields, tMs }
}

export function forecastPoint(site: string, row: StoredForecast): Point | undefined {
  const { time, unwind, ...columns } = row
  return pointOf('forecast', site, unwind, Date.parse(time), knownFields(columns))
}

/** One point per unwind and time: signals of the same moment are its fields. Those without a value are left out. */
export function signalPoints(site: string, points: readonly SignalPoint[]): Point[] {
  const moments = Map.groupBy(points, ({ unwind, tMs }) => `${tMs}|${unwind}`)
  return [...moments.values()].flatMap((signals) => {
    const { unwind, tMs } = signals[0]!
    const columns = Object.fromEntries(signals.map(({ signal, value }) => [signal, value]))
    return pointOf('signal', site, unwind, tMs, knownFields(columns)) ?? []
  })
}

/**
 * Time is `started`. Text that is unknown is written as empty text: a revision must be able to take back a cause, and a
 * field that is left out keeps its earlier value.
 */
export function splicePoint(site: string, splice: SpliceView): Point | undefined {
  const { unwind, started, ended, outcome, cause, transfer, phases, has_trace, details, review, ...rest } = splice
  const texts = { ended: ended ?? '', outcome: outcome ?? '', cause: cause ?? '', transfer: transfer ?? '' }
  const said = { reviewed_outcome: review?.outcome ?? '', reviewed_cause: review?.cause ?? '' }
  return pointOf('splice', site, unwind, Date.parse(started), {
    ...numbersOf(details),
    ...knownFields(rest),
    ...texts,
    ...(review !== null && said),
  })
}

/**
 * Two alarms of one unwind may be raised in the same millisecond, and would overwrite each other. So each kind of alarm
 * and event has its own microsecond behind that millisecond, always the same one.
 */
export function alarmPoint(site: string, row: AlarmRow): Point | undefined {
  const { time, unwind, ...columns } = row
  const kind = ALARM_IDS.indexOf(row.alarm) * ALARM_EVENTS.length + ALARM_EVENTS.indexOf(row.event)
  return pointOf('alarm', site, unwind, Date.parse(time) + kind / 1000, knownFields(columns))
}

/** Tagged with its station. A sensor says `arrived` and `seen` in one millisecond: each kind has its own microsecond behind it. */
export function jointPoint(site: string, row: JointEventRow): Point | undefined {
  const { time, unwind, station, ...columns } = row
  const tMs = Date.parse(time) + JOINT_EVENTS.indexOf(row.event) / 1000
  const point = pointOf('joint', site, unwind, tMs, knownFields({ ...columns }))
  return point && { ...point, tags: { ...point.tags, station } }
}

/** The record's figures; names, lists and times stay in the history here. */
function numbersOf(details: SpliceView['details']): Fields {
  const numbers = Object.entries(details).filter(([, value]) => typeof value === 'number')
  return knownFields(Object.fromEntries(numbers) as Record<string, number>)
}

/** Without what is unknown or can't be written. */
function knownFields(columns: Readonly<Record<string, number | boolean | string | null>>): Fields {
  const fields: Fields = {}
  for (const [name, value] of Object.entries(columns)) {
    if (value !== null && (typeof value !== 'number' || Number.isFinite(value))) fields[name] = value
  }
  return fields
}
