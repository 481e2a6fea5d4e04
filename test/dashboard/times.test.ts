import * as fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { chooseDisplay } from '../../dashboard/display.ts'
import {
  clockWithZone,
  dateAndTime,
  dateMinutesZone,
  formatSpread,
  formatTimeLeft,
  fromLocalField,
  spanLabels,
  toLocalField,
  toStep,
  zoneOfList,
  zoneOfYear,
} from '../../dashboard/times.ts'

const at = (text: string) => Date.parse(text)

describe('time of day in the site zone', () => {
  // Central European Time is UTC+1, summer time UTC+2 from the last Sunday of March (EU directive 2000/84/EC).
  it('has its zone, in winter and in summer', () => {
    expect(clockWithZone(at('2026-03-02T13:32:05Z'), 'Europe/Berlin')).toBe('14:32:05 CET')
    expect(clockWithZone(at('2026-07-02T12:32:05Z'), 'Europe/Berlin')).toBe('14:32:05 CEST')
    expect(dateAndTime(at('2026-03-01T23:59:59.900Z'), 'Europe/Berlin')).toBe('2026-03-02 00:59:59')
  })

  it('is named alike in every list: once where all times share it, with each time where a clock change lies among them', () => {
    const winter = at('2026-03-02T13:32:05Z')
    const one = zoneOfList([winter, winter - 3_600_000], 'Europe/Berlin')
    expect([one.head, one.time(winter)]).toEqual(['CET', '2026-03-02 14:32:05'])
    // Clocks went back at 01:00 UTC: 02:30 came twice.
    const twice = [at('2026-10-25T01:30:00Z'), at('2026-10-25T00:30:00Z')]
    const both = zoneOfList(twice, 'Europe/Berlin')
    expect([both.head, ...twice.map(both.time)]).toEqual([
      'CEST/CET',
      '2026-10-25 02:30:00 CET',
      '2026-10-25 02:30:00 CEST',
    ])
  })

  it('has both names of a year where any day may be meant', () => {
    expect(zoneOfYear(at('2026-03-02T13:00Z'), 'Europe/Berlin')).toBe('CET/CEST')
    expect(zoneOfYear(at('2026-07-02T13:00Z'), 'Asia/Kolkata')).toBe(
      zoneOfYear(at('2026-01-02T13:00Z'), 'Asia/Kolkata'),
    )
  })

  it('keeps its half of the day where the clock has twelve hours', () => {
    chooseDisplay({ clock: '12' })
    expect(dateMinutesZone(at('2026-03-02T13:32:05Z'), 'Europe/Berlin')).toBe('2026-03-02 2:32 PM CET')
    chooseDisplay({ clock: '24' })
    expect(dateMinutesZone(at('2026-03-02T13:32:05Z'), 'Europe/Berlin')).toBe('2026-03-02 14:32 CET')
  })

  it('is read back from a field as it was written, on both sides of a clock change', () => {
    for (const text of ['2026-03-29T00:59:00Z', '2026-03-29T01:00:00Z', '2026-10-24T23:30:00Z', '2026-10-25T02:00:00Z'])
      expect(fromLocalField(toLocalField(at(text), 'Europe/Berlin'), 'Europe/Berlin')).toBe(at(text))
    expect(fromLocalField('', 'Europe/Berlin')).toBeUndefined()
  })

  it('makes the round trip in any zone at any minute but the doubled hour', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: at('2020-01-01T00:00Z') / 60_000, max: at('2035-01-01T00:00Z') / 60_000 }),
        fc.constantFrom('Europe/Berlin', 'America/New_York', 'Asia/Kolkata', 'UTC', 'Australia/Adelaide'),
        (minutes, zone) => {
          const tMs = minutes * 60_000
          const field = toLocalField(tMs, zone)
          // In the doubled hour of autumn two moments have one name: either is right.
          expect(toLocalField(fromLocalField(field, zone)!, zone)).toBe(field)
        },
      ),
    )
  })
})

it('both ends of a short axis read differently, and one time stands once', () => {
  const tMs = Date.UTC(2026, 2, 2, 13, 37, 5)
  expect(spanLabels(tMs, tMs + 20_000, 'Europe/Berlin')).toEqual(['03-02 14:37:05', '03-02 14:37:25'])
  expect(spanLabels(tMs, tMs + 3_600_000, 'Europe/Berlin')).toEqual(['03-02 14:37', '03-02 15:37'])
  expect(spanLabels(tMs, tMs, 'Europe/Berlin')).toEqual(['03-02 14:37:05', ''])
})

describe('time left', () => {
  it('is in whole minutes from 10 min, in tens of seconds from 2 min, in seconds below; rounded down', () => {
    const text = (seconds: number) => Object.values(formatTimeLeft(toStep(seconds))).join(' ')
    expect([3599, 600, 599.9, 250, 120, 119.9, 61, 9.2, 0].map(text)).toEqual([
      '59 min',
      '10 min',
      '9:50 min',
      '4:10 min',
      '2:00 min',
      '1:59 min',
      '1:01 min',
      '9 s',
      '0 s',
    ])
  })
  it('has a spread in seconds, from two minutes in minutes, never ± 0', () => {
    expect([0.1, 4.4, 119, 180].map(formatSpread)).toEqual(['1 s', '4 s', '119 s', '3 min'])
  })
})
