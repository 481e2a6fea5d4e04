/** A shift counted by hand, services counted by hand, and what was before and after a setting. */
import { describe, expect, it } from 'vitest'
import type { SpliceView } from '../../edge/api/messages.ts'
import { reviewOf } from '../../edge/splice-review.ts'
import type { LogEntry } from '../../edge/trend-views.ts'
import { Counts } from '../../edge/trends/counts.ts'
import { reviewChanges, reviewCharts } from '../../edge/trends/review.ts'
import { serviceUse } from '../../edge/trends/services.ts'
import { plantSplices } from '../bench/trends-plant.ts'
import { entryOf, spliceView } from '../history/samples.ts'
import { pastWeeks, recordOf } from '../support/past-weeks.ts'

const groupOf = ({ details }: SpliceView) => ({ material: { key: details.material ?? '?', unit: '' } })
const splice = (i: number, changes: Partial<SpliceView>, details: Partial<SpliceView['details']> = {}): SpliceView => {
  const view = spliceView(i * 60_000, { flags: '', left_on_roll: 30, ...changes })
  return { ...view, details: { ...view.details, material: 'film', tail: 2, ...details } }
}

describe('a shift', () => {
  const counts = new Counts(groupOf)
  for (let i = 0; i < 20; i += 1) counts.add(splice(i, { outcome: 'good', cause: null }))
  counts.add(splice(20, { outcome: 'failed', cause: 'web_break' }, { down_seconds: 600 }))
  counts.add(splice(21, { outcome: 'missed', cause: 'no_new_roll' }, { down_seconds: 300, tail: null }))
  const noted = splice(22, { outcome: 'failed', cause: 'web_break' }, { down_seconds: 60, material: 'board' })
  const found = entryOf({ note: 'Tape was old', thing: 'tape_did_not_hold' })
  const mended = entryOf({ note: 'New box opened', done: ['tape_changed'] })
  counts.add({ ...noted, review: reviewOf([found, mended]) })
  // A person says that the break had nothing to do with it; an open one has no verdict yet.
  const said = splice(23, { outcome: 'failed', cause: 'unknown' })
  counts.add({ ...said, review: reviewOf([entryOf({ outcome: 'good', cause: null })]) })
  counts.add(splice(24, { outcome: null, cause: null }))
  const view = counts.view()

  it("has its success with Newcombe's interval, its lost time and its waste", () => {
    expect(view.counts).toMatchObject({ splices: 24, good: 21, failed: 2, missed: 1, aborted: 0, lost_seconds: 960 })
    // Wilson's 95 % of 21 in 24, by the closed form.
    expect(view.counts.success!.low).toBeCloseTo(0.69, 2)
    expect(view.counts.success!.high).toBeCloseTo(0.9566, 3)
    expect(view.counts.waste).toBe(24 * 30 + 23 * 2)
    expect([view.waste_kilograms, view.waste_cost]).toEqual([null, null])
  })

  it('has its causes, most frequent first, and how far failures lie apart', () => {
    expect(view.causes.map(({ cause, splices, lost_seconds }) => [cause, splices, lost_seconds])).toEqual([
      ['web_break', 2, 660],
      ['no_new_roll', 1, 300],
    ])
    expect(view.between_failures).toBe(8)
    // All three at the end of 24: (22 − 12) / (24 √(1/36)).
    expect(view.failure_trend).toBeCloseTo(2.5, 6)
    expect(view.bad.map(({ outcome }) => outcome)).toEqual(['failed', 'missed', 'failed'])
    expect(view.bad.map(({ notes }) => notes)).toEqual([['Tape was old', 'New box opened'], [], []])
    expect(view.bad.map(({ thing, done }) => [thing, done])).toEqual([
      ['tape_did_not_hold', ['tape_changed']],
      [null, []],
      [null, []],
    ])
    const saidOf = ({ bad: listed }: typeof view) => listed.map((one) => [one.is_outcome_said, one.is_cause_said])
    expect(saidOf(view)).toEqual(Array(3).fill([false, false]))
    // One of whose cause alone people spoke, and one whose outcome they changed.
    const other = new Counts(groupOf)
    const failed = splice(0, { outcome: 'failed', cause: 'unknown' })
    for (const entry of [{ cause: 'web_break' } as const, { outcome: 'missed', cause: 'unknown' } as const]) {
      other.add({ ...failed, review: reviewOf([entryOf({ outcome: 'failed', ...entry })]) })
    }
    expect(saidOf(other.view())).toEqual([
      [true, false],
      [false, true],
    ])
  })

  it('is counted by material', () => {
    expect(view.groups).toHaveLength(1)
    expect(view.groups[0]!.rows.map(({ key, splices, good }) => [key, splices, good])).toEqual([
      ['board', 1, 0],
      ['film', 23, 21],
    ])
  })
})

describe('the time lost', () => {
  const handEntered = (i: number) => {
    const bare = splice(i, { outcome: null, cause: null })
    return { ...bare, review: reviewOf([entryOf({ outcome: 'failed', cause: 'web_break', by_hand: true })]) }
  }

  it('to a failure that nobody measured is not known, and splices without a verdict are told of', () => {
    const counts = new Counts(groupOf)
    counts.add(handEntered(0))
    counts.add(splice(1, { outcome: null, cause: null }))
    expect([counts.view().counts.lost_seconds, counts.view().causes[0]!.lost_seconds, counts.view().open]).toEqual([
      null,
      null,
      1,
    ])
    counts.add(splice(2, { outcome: 'failed', cause: 'web_break' }, { down_seconds: 60 }))
    expect(counts.view().counts.lost_seconds).toBe(60)
  })

  it('a cause that nobody said and one that no rule knows are one line', () => {
    const counts = new Counts(groupOf)
    counts.add(splice(0, { outcome: 'failed', cause: 'unknown' }))
    counts.add(splice(1, { outcome: 'failed', cause: null }))
    expect(counts.view().causes.map(({ cause, splices }) => [cause, splices])).toEqual([['unknown', 2]])
  })

  it('is none where every splice was good', () => {
    const counts = new Counts(groupOf)
    counts.add(splice(0, { outcome: 'good', cause: null }))
    expect(counts.view().counts.lost_seconds).toBe(0)
  })
})

describe('a service', () => {
  const span = (early: number, late: number, failed = 0) => ({
    early: { splices: early, failures: 0 },
    late: { splices: late, failures: failed },
  })
  it('is due by the configured count, else by what people have done three times', () => {
    const now = { splices: 900, failures: 2 }
    expect(serviceUse([], now, undefined)).toMatchObject({ limit: null, is_due: false, failures_early: null })
    expect(serviceUse([], now, 900)).toMatchObject({ limit: 900, limit_by: 'config', is_due: true })
    const habit = [span(400, 400), span(450, 430), span(500, 500)]
    expect(serviceUse(habit, now, undefined)).toMatchObject({ limit: 880, limit_by: 'habit', is_due: true })
    expect(serviceUse(habit, { splices: 879, failures: 0 }, undefined).is_due).toBe(false)
  })
  it('is set against failures in either half of the time between two', () => {
    const { failures_early, failures_late } = serviceUse(
      [span(100, 100, 8), span(100, 100, 7)],
      { splices: 1, failures: 0 },
      5,
    )
    expect(failures_early!.share).toBe(0)
    // Newcombe's 15 in 148 is near; 15 in 200 lies around 0.075.
    expect(failures_late!.low).toBeGreaterThan(failures_early!.high)
  })
})

it('the charts show before and after a setting, at the usual speed and roll', () => {
  const records = [...plantSplices({ seed: 81, splices: 200 })].map((one) => {
    const record = recordOf(one, 'press')
    return one.tMs < 100 * 24 * 60_000 ? record : { ...record, stopped_seconds: record.stopped_seconds! * 1.1 }
  })
  const charts = reviewCharts(records, 27.5)
  expect(charts.map(({ metric }) => metric)).toContain('low_point')
  const stop = charts.find(({ metric }) => metric === 'stop')!
  expect(stop.points).toHaveLength(200)
  expect(stop.low!).toBeLessThan(stop.usual!)
  const at = { time: records[100]!.started, taken_back: null }
  const entry = { id: 'e', kind: 'setting', subject: 'extra.press_time', ...at } as LogEntry
  const change = reviewChanges(charts, [entry, { ...entry, id: 't', kind: 'trend' }]).find(
    ({ metric }) => metric === 'stop',
  )!
  expect([change.entry, change.before.splices, change.after.splices]).toEqual(['e', 30, 30])
  expect(change.after.middle / change.before.middle).toBeCloseTo(1.1, 1)
  expect(change.before.spread / change.before.middle).toBeCloseTo(0.05, 1)
  expect(reviewChanges(charts, [{ ...entry, time: records[2]!.started }])).toEqual([])
  const taken_back = { time: records[150]!.started, person: 'Ada' }
  expect(reviewChanges(charts, [{ ...entry, kind: 'service', taken_back }])).toEqual([])
})

describe('a missed splice', () => {
  it('is never counted to the side that the old roll ran off', async () => {
    const nowMs = Date.parse('2026-03-02T06:00:00Z')
    const bare = spliceView(nowMs - 60_000, { unwind: 'label_press', outcome: 'missed', cause: 'no_new_roll' })
    const missed = { ...bare, id: 'missed', details: { ...bare.details, spindle: 'B', new_spindle: null } }
    const missesOf = async (extra: SpliceView[]) => {
      const report = await pastWeeks(
        () => nowMs,
        () => extra,
      ).desk.report({ fromTMs: nowMs - 86_400_000, toTMs: nowMs }, undefined)
      const rows = report.groups.find(({ by }) => by === 'side')!.rows
      return [report.counts.splices, ...rows.map(({ splices }) => splices)]
    }
    const [none, ...sides] = await missesOf([])
    const [one, ...same] = await missesOf([missed])
    expect(one).toBe(none! + 1)
    expect(same).toEqual(sides)
    // One that failed before the new roll took over counts to where that roll waited.
    const failed = { ...missed, outcome: 'failed' as const, details: { ...missed.details, waiting_spindle: 'A' } }
    const [, ...counted] = await missesOf([failed])
    expect(counted.reduce((sum, splices) => sum + splices, 0)).toBe(
      sides.reduce((sum, splices) => sum + splices, 0) + 1,
    )
  })
})
