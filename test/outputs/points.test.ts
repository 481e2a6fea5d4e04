import { describe, expect, it } from 'vitest'
import { ALARM_EVENTS, ALARM_IDS, type AlarmRow } from '../../edge/columns.ts'
import type { JointEventRow } from '../../edge/joint-columns.ts'
import { lineOf } from '../../edge/outputs/line-protocol.ts'
import { alarmPoint, forecastPoint, jointPoint, signalPoints, splicePoint } from '../../edge/outputs/points.ts'
import { forecastRow, START_MS, spliceView } from '../history/store-for-tests.ts'

const SITE = 'Alder Quay Works'
const alarm = (changes: Partial<AlarmRow> = {}): AlarmRow => ({
  time: new Date(START_MS).toISOString(),
  unwind: 'label_press',
  alarm: 'buffer_short',
  event: 'raised',
  priority: 'high',
  value: -3,
  limit: null,
  text: 'Slow the line.',
  ...changes,
})

it('a forecast has the contract columns as fields, without what is unknown', () => {
  const point = forecastPoint(SITE, forecastRow(START_MS, { metres_low: null }))
  expect(point?.tags).toEqual({ site: SITE, unwind: 'label_press' })
  expect(point?.tMs).toBe(START_MS)
  expect(point?.fields).toMatchObject({ state: 'running', diameter: 400.5, seconds_to_splice: 226.7 })
  expect(Object.keys(point?.fields ?? {})).not.toContain('metres_low')
  expect(Object.keys(point?.fields ?? {})).not.toContain('time')
})

it('signals of one moment are fields of one point, without those that have no value', () => {
  const at = (signal: string, value: number | null, tMs = START_MS, unwind = 'label_press') => ({
    unwind,
    signal,
    tMs,
    value,
  })
  const points = signalPoints(SITE, [
    at('line_speed', 300),
    at('roll_diameter', 401.5),
    at('line_speed', 299, START_MS + 100),
    at('line_speed', 100, START_MS, 'coater'),
    at('tension', null),
    at('tension', null, START_MS + 200),
  ])
  expect(points.map(({ tags, tMs, fields }) => [tags.unwind, tMs - START_MS, fields])).toEqual([
    ['label_press', 0, { line_speed: 300, roll_diameter: 401.5 }],
    ['label_press', 100, { line_speed: 299 }],
    ['coater', 0, { line_speed: 100 }],
  ])
})

describe('a splice', () => {
  it('carries outcome, cause and id as fields; time is its start', () => {
    const point = splicePoint(SITE, spliceView(START_MS, { outcome: 'failed', cause: 'web_break', closed: true }))
    expect(point?.tMs).toBe(START_MS)
    expect(point?.tags).toEqual({ site: SITE, unwind: 'label_press' })
    expect(point?.fields).toMatchObject({ outcome: 'failed', cause: 'web_break', id: `label_press-${START_MS}` })
  })

  it('takes a cause back when it is revised: the field is empty, not absent', () => {
    const point = splicePoint(SITE, spliceView(START_MS, { outcome: 'good' }))
    expect(point?.fields['cause']).toBe('')
    expect(lineOf(point!)).toContain('cause=""')
  })
})

describe('an alarm', () => {
  it('is its event, with the site alone where it is site-wide', () => {
    expect(alarmPoint(SITE, alarm())?.fields).toEqual({
      alarm: 'buffer_short',
      event: 'raised',
      priority: 'high',
      value: -3,
      text: 'Slow the line.',
    })
    expect(alarmPoint(SITE, alarm({ unwind: '' }))?.tags).toEqual({ site: SITE })
  })

  it('of another kind in the same millisecond has a time of its own, always the same', () => {
    const times = ALARM_IDS.flatMap((id) =>
      ALARM_EVENTS.map((event) =>
        lineOf(alarmPoint(SITE, alarm({ alarm: id, event }))!)
          ?.split(' ')
          .at(-1),
      ),
    )
    expect(new Set(times).size).toBe(ALARM_IDS.length * ALARM_EVENTS.length)
    expect(times.every((time) => Math.floor(Number(time) / 1000) === START_MS)).toBe(true)
  })
})

describe('what happened to a joint', () => {
  const event: JointEventRow = {
    time: new Date(START_MS).toISOString(),
    unwind: 'label_press',
    joint: 'label_press-1',
    station: 'Die cutter',
    event: 'arrived',
    takes_out: true,
    metres: 0,
    person: null,
    finished_roll: null,
    finished_roll_metres: null,
  }

  it('is tagged with its station, for there are few of them', () => {
    const point = jointPoint(SITE, event)
    expect(point?.tags).toEqual({ site: SITE, unwind: 'label_press', station: 'Die cutter' })
    expect(point?.fields).toEqual({ joint: 'label_press-1', event: 'arrived', takes_out: true, metres: 0 })
  })

  it('arrived and seen in one millisecond do not overwrite each other', () => {
    const timeOf = (row: JointEventRow) => lineOf(jointPoint(SITE, row)!)?.split(' ').at(-1)
    expect(timeOf(event)).not.toBe(timeOf({ ...event, event: 'seen' }))
  })
})
