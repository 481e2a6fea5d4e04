import { copyFileSync, readdirSync, readFileSync, statSync, truncateSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { DatabaseSync } from 'node:sqlite'
import { describe, expect, it } from 'vitest'
import type { AlarmView } from '../../edge/api/messages.ts'
import { LastwrapError } from '../../edge/errors.ts'
import { ownMigrations } from '../../edge/history/migrations/migrate.ts'
import { DEFAULT_KEEP } from '../../edge/history/sqlite-store.ts'
import type { HistoryStore, SignalPoint } from '../../edge/history/store.ts'
import type { Point } from '../../edge/outputs/output.ts'
import { alarmView } from '../support/alarm-view.ts'
import {
  entryOf,
  forecastRow,
  START_MS,
  spliceView,
  standingClock,
  storeAt,
  temporaryFolder,
} from './store-for-tests.ts'

const ALL = { fromTMs: 0, toTMs: Number.MAX_SAFE_INTEGER }
const newPath = (): string => join(temporaryFolder(), 'history.db')
const point = (tMs: number, value: number | null, signal = 'line_speed'): SignalPoint => ({
  unwind: 'label_press',
  signal,
  tMs,
  value,
})
const signalPoint = (tMs: number): Point => ({
  measurement: 'signal',
  tags: { site: 'Alder Quay Works', unwind: 'label_press' },
  fields: { line_speed: tMs % 1000 },
  tMs,
})
const keptAlarm = (changes: Partial<AlarmView> = {}): AlarmView =>
  alarmView({ raised: new Date(START_MS).toISOString(), priority: 'medium', value: 90, limit: 360, ...changes })

describe('what is kept', () => {
  it('gives samples and forecasts back as they came, packed or not, over a restart', () => {
    const path = newPath()
    const clock = standingClock()
    const store = storeAt(path, { clock })
    const points = Array.from({ length: 200 }, (_, i) => point(START_MS + i * 1000, i === 50 ? null : 300 + i / 7))
    const rows = points.map(({ tMs }) => forecastRow(tMs))
    store.addSignals(points)
    store.addForecasts(rows)
    store.flush()
    expect(store.signals('label_press', 'line_speed', ALL)).toEqual(points)
    clock.tMs = START_MS + 3_600_000
    store.flush()
    expect(store.signals('label_press', 'line_speed', ALL)).toEqual(points)
    expect(store.forecasts('label_press', ALL)).toEqual(rows)
    store.close()
    const again = storeAt(path)
    expect(again.signals('label_press', 'line_speed', ALL)).toEqual(points)
    const span = { fromTMs: START_MS + 30_000, toTMs: START_MS + 90_000 }
    expect(again.signals('label_press', 'line_speed', span)).toEqual(points.slice(30, 90))
    expect(again.forecasts('label_press', span)).toEqual(rows.slice(30, 90))
  })

  it('rolls samples up by minute and hour, late ones included', () => {
    const clock = standingClock(START_MS + 3_600_000)
    const store = storeAt(newPath(), { clock })
    store.addSignals([point(START_MS, 1), point(START_MS + 1000, 3), point(START_MS + 2000, null)])
    store.flush()
    store.addSignals([point(START_MS + 500, 8), point(START_MS + 61_000, 20)])
    store.flush()
    expect(store.signalRollups('label_press', 'line_speed', 'minute', ALL)).toEqual([
      { tMs: START_MS, n: 3, low: 1, high: 8, mean: 4 },
      { tMs: START_MS + 60_000, n: 1, low: 20, high: 20, mean: 20 },
    ])
    expect(store.signalRollups('label_press', 'line_speed', 'hour', ALL)).toEqual([
      { tMs: START_MS, n: 4, low: 1, high: 20, mean: 8 },
    ])
    expect(store.signals('label_press', 'line_speed', ALL).map(({ tMs }) => tMs - START_MS)).toEqual([
      0, 500, 1000, 2000, 61_000,
    ])
  })

  it('revises a splice and keeps every earlier revision', () => {
    const path = newPath()
    const store = storeAt(path)
    const first = spliceView(START_MS)
    store.putSplice(first)
    store.putSplice(first)
    store.putSplice({ ...first, outcome: 'failed', cause: 'web_break', closed: true })
    store.putSplice({ ...first, outcome: 'good', closed: true })
    const outcomes = store.spliceRevisions(first.id).map(({ outcome }) => outcome)
    expect(outcomes).toEqual([null, 'failed', 'good'])
    expect(store.splice(first.id)).toEqual({ ...first, outcome: 'good', closed: true })
  })

  it('keeps what people add beside the machine’s record, whole through later revisions, and finds it by their verdict', () => {
    const store = storeAt(newPath())
    const first = spliceView(START_MS, { outcome: 'good' })
    store.putSplice(first)
    store.putSpliceEntry(first.id, entryOf({ outcome: 'failed', cause: 'web_break' }))
    store.putSpliceEntry(first.id, entryOf({ note: 'joint opened at the oven', person: 'Crew B' }))
    store.putSplice({ ...first, flags: 'slow_cycle' })
    const kept = store.splice(first.id)!
    expect([kept.outcome, kept.flags, kept.review?.outcome]).toEqual(['good', 'slow_cycle', 'failed'])
    expect(kept.review?.entries.map(({ person, note }) => [person, note])).toEqual([
      ['Crew A', null],
      ['Crew B', 'joint opened at the oven'],
    ])
    expect(store.spliceRevisions(first.id)).toHaveLength(2)
    expect(store.splices({ limit: 5, outcome: 'failed' })).toEqual([kept])
    expect(store.splices({ limit: 5, outcome: 'good' })).toEqual([])
  })

  it('finds a splice by what it was before, once what was said of it is taken back; also after a restart', () => {
    const path = newPath()
    const store = storeAt(path)
    const first = spliceView(START_MS, { outcome: 'failed', cause: 'unknown' })
    const at = (s: number): string => new Date(START_MS + s * 1000).toISOString()
    store.putSplice(first)
    store.putSpliceEntry(first.id, entryOf({ time: at(1), outcome: 'failed', cause: 'web_break' }))
    store.putSpliceEntry(first.id, entryOf({ time: at(2), outcome: 'good', note: 'wrongwood', gap: 0.5 }))
    expect(store.splices({ limit: 5, outcome: 'good' })).toHaveLength(1)
    store.putSpliceEntry(first.id, entryOf({ time: at(3), takes_back: at(2) }))
    const found = (from: HistoryStore) => [
      from.splices({ limit: 5, outcome: 'good' }).length,
      from.splices({ limit: 5, outcome: 'failed', cause: 'web_break' }).length,
      from.splices({ limit: 5, text: 'wrongwood' }).length,
      from.gaps('label_press', { fromTMs: 0, toTMs: START_MS + 1 }).length,
      from.countSplices('label_press', { fromTMs: 0, toTMs: START_MS + 1 }).failures,
    ]
    expect(found(store)).toEqual([0, 1, 0, 0, 1])
    store.putSpliceEntry(first.id, entryOf({ time: at(4), takes_back: at(1) }))
    expect(store.splices({ limit: 5, cause: 'unknown' })).toHaveLength(1)
    expect(store.splice(first.id)?.review?.entries.map(({ taken_back }) => taken_back?.time ?? null)).toEqual([
      ...[at(4), at(3)],
      ...[null, null],
    ])
    store.close()
    expect(storeAt(path).splices({ limit: 5, outcome: 'failed' })[0]?.review?.outcome).toBeNull()
  })

  it('has a splice on disk before putSplice returns', () => {
    const path = newPath()
    const store = storeAt(path)
    store.putSplice(spliceView(START_MS))
    const other = new DatabaseSync(path, { readOnly: true })
    expect(other.prepare('SELECT id FROM splices').all()).toEqual([{ id: `label_press-${START_MS}` }])
    other.close()
  })

  it('lists splices newest first by unwind, outcome and time', () => {
    const store = storeAt(newPath())
    for (let i = 0; i < 5; i += 1) {
      const unwind = i === 4 ? 'coater' : 'label_press'
      store.putSplice(spliceView(START_MS + i * 1000, { outcome: i % 2 ? 'failed' : 'good', unwind }))
    }
    const starts = (filter: object) =>
      store.splices({ limit: 10, ...filter }).map(({ started }) => Date.parse(started) - START_MS)
    expect(starts({})).toEqual([4000, 3000, 2000, 1000, 0])
    expect(starts({ limit: 2 })).toEqual([4000, 3000])
    expect(starts({ unwind: 'label_press', outcome: 'good' })).toEqual([2000, 0])
    expect(starts({ fromTMs: START_MS + 1000, toTMs: START_MS + 3000 })).toEqual([3000, 2000, 1000])
    // Read on behind one; two of the same millisecond are told apart by their ids.
    store.putSplice(spliceView(START_MS + 2000, { id: 'a', unwind: 'coater' }))
    const behind = (id: string) => ({ before: { startedTMs: START_MS + 2000, id } })
    expect(starts(behind(`label_press-${START_MS + 2000}`))).toEqual([2000, 1000, 0])
    expect(starts(behind('a'))).toEqual([1000, 0])
  })

  it('keeps traces in pieces and says which splice has one', () => {
    const store = storeAt(newPath())
    store.putSplice(spliceView(START_MS))
    store.putSplice(spliceView(START_MS + 1000))
    const id = `label_press-${START_MS}`
    expect(store.splice(id)?.has_trace).toBe(false)
    store.addTrace(id, [point(START_MS + 100, 1), point(START_MS, 2.5)])
    store.flush()
    store.addTrace(id, [point(START_MS + 200, null, 'roll_diameter')])
    expect(store.tracePoints(id)).toHaveLength(3)
    store.flush()
    const expected = [point(START_MS, 2.5), point(START_MS + 100, 1), point(START_MS + 200, null, 'roll_diameter')]
    expect(store.tracePoints(id)).toEqual(expected)
    expect(store.splices({ limit: 5 }).map(({ has_trace }) => has_trace)).toEqual([false, true])
  })

  it('revises alarms by id and lists what stands', () => {
    const store = storeAt(newPath())
    store.putAlarm(keptAlarm())
    store.putAlarm(keptAlarm({ id: 'coater-web_break-1', unwind: 'coater', alarm: 'web_break' }))
    store.putAlarm(keptAlarm({ state: 'normal', acknowledged_by: 'N. Example' }))
    expect(store.alarms({ limit: 5, standing: true }).map(({ alarm }) => alarm)).toEqual(['web_break'])
    expect(store.alarms({ limit: 5, unwind: 'label_press' })[0]?.acknowledged_by).toBe('N. Example')
  })

  it('keeps one snapshot per key, at once readable and over a restart', () => {
    const path = newPath()
    const store = storeAt(path)
    store.putSnapshot('label_press', START_MS, { areaM2: 0.5 })
    store.putSnapshot('label_press', START_MS + 1000.4, { areaM2: 0.25, learned: [1, 2] })
    const newest = { tMs: START_MS + 1000, data: { areaM2: 0.25, learned: [1, 2] } }
    expect(store.snapshot('label_press')).toEqual(newest)
    store.close()
    expect(storeAt(path).snapshot('label_press')).toEqual(newest)
    expect(storeAt(path).snapshot('coater')).toBeUndefined()
  })

  it('deletes what is older than the config keeps: traces of good splices first, splices never', () => {
    const clock = standingClock()
    const keep = { keepSamplesS: 3600, keepTracesS: 7200, keepBadTracesS: 86_400 }
    const store = storeAt(newPath(), { clock, keep })
    store.putSplice(spliceView(START_MS, { outcome: 'good' }))
    store.putSplice(spliceView(START_MS + 1, { outcome: 'failed' }))
    for (const id of [START_MS, START_MS + 1]) store.addTrace(`label_press-${id}`, [point(START_MS, 1)])
    store.addSignals([point(START_MS, 1)])
    store.addForecasts([forecastRow(START_MS)])
    store.flush()
    clock.tMs = START_MS + 3 * 3_600_000
    store.flush()
    store.prune(clock.tMs)
    expect(store.signals('label_press', 'line_speed', ALL)).toEqual([])
    expect(store.forecasts('label_press', ALL)).toEqual([])
    expect(store.signalRollups('label_press', 'line_speed', 'hour', ALL)).toHaveLength(1)
    expect(store.splices({ limit: 5 }).map(({ has_trace }) => has_trace)).toEqual([true, false])
    store.prune(START_MS + 30 * 3_600_000)
    expect(store.splices({ limit: 5 }).map(({ has_trace }) => has_trace)).toEqual([false, false])
  })
})

it('finds the gaps that people measured, the newest word of each joint, by unwind and span', () => {
  const store = storeAt(newPath())
  const ids = [0, 1, 2].map((n) => {
    const splice = spliceView(START_MS + n * 1000)
    store.putSplice(splice)
    return splice.id
  })
  store.putSpliceEntry(ids[0]!, entryOf({ gap: 0.6 }))
  store.putSpliceEntry(ids[0]!, entryOf({ gap: 0.8 }))
  store.putSpliceEntry(ids[0]!, entryOf({ note: 'measured twice' }))
  store.putSpliceEntry(ids[2]!, entryOf({ gap: -1.5 }))
  const of = (unwind: string, fromTMs: number) => store.gaps(unwind, { fromTMs, toTMs: START_MS + 3000 })
  expect(of('label_press', START_MS)).toEqual([
    { tMs: START_MS, mm: 0.8 },
    { tMs: START_MS + 2000, mm: -1.5 },
  ])
  expect(of('label_press', START_MS + 1)).toHaveLength(1)
  expect(of('coater', START_MS)).toEqual([])
  expect(store.splice(ids[0]!)?.review?.gap).toBe(0.8)
})

it('deletes what a record said before it was complete with the traces of good splices, the record never', () => {
  const clock = standingClock()
  const store = storeAt(newPath(), { clock, keep: { keepSamplesS: 60, keepTracesS: 3600, keepBadTracesS: 7200 } })
  const first = spliceView(START_MS, { outcome: 'failed' })
  for (let n = 0; n < 3; n++) store.putSplice({ ...first, speed: n })
  clock.tMs = START_MS + 1_800_000
  store.putSplice({ ...first, speed: 3 })
  const speeds = () => store.spliceRevisions(first.id).map(({ speed }) => speed)
  store.prune(START_MS + 3_600_000)
  expect(speeds()).toEqual([0, 1, 2, 3])
  store.prune(START_MS + 3_600_001)
  expect(speeds()).toEqual([3])
  store.prune(START_MS + 9e9)
  expect(speeds()).toEqual([3])
})

it('of joints their events go with the samples, for the joint itself says when it was where', () => {
  const store = storeAt(newPath(), { keep: { keepSamplesS: 3600, keepTracesS: 7200, keepBadTracesS: 7200 } })
  const one = { id: 'a', unwind: 'label_press', tMs: START_MS, view: '{}' }
  store.putKept({ ...one, kind: 'joint' })
  store.putKept({ ...one, kind: 'joint_event' })
  store.putKept({ ...one, kind: 'joint_event', id: 'b', tMs: START_MS + 3_600_000 })
  store.flush()
  store.prune(START_MS + 3_600_001)
  expect(store.kept('joint_event', { limit: 9 }).map(({ id }) => id)).toEqual(['b'])
  expect(store.kept('joint', { limit: 9 })).toHaveLength(1)
})

describe('the spool', () => {
  it('gives points back in order, removes by id, and keeps what was refused', () => {
    const path = newPath()
    const store = storeAt(path)
    store.spool([0, 1, 2, 3].map((i) => signalPoint(START_MS + i)))
    expect(store.spooled(10)).toEqual([])
    expect(store.spoolSize()).toBe(4)
    store.flush()
    const head = store.spooled(3)
    expect(head.map(({ point }) => point)).toEqual([0, 1, 2].map((i) => signalPoint(START_MS + i)))
    store.addDeadLetter(head[1]!.point, 'type conflict')
    store.removeSpooled(head.map(({ id }) => id))
    store.close()
    const again = storeAt(path)
    expect(again.spooled(10).map(({ point }) => point.tMs - START_MS)).toEqual([3])
    expect(again.deadLetters()).toEqual([{ point: signalPoint(START_MS + 1), reason: 'type conflict' }])
  })

  it('drops the oldest beyond its limit, counts them and says so until there is room', () => {
    const path = newPath()
    const store = storeAt(path, { mostSpooled: 100 })
    store.spool(Array.from({ length: 130 }, (_, i) => signalPoint(START_MS + i)))
    store.flush()
    expect(store.spoolSize()).toBe(100)
    expect(store.spooled(1)[0]?.point.tMs).toBe(START_MS + 30)
    expect(store.dropped()).toEqual({ spool: 30 })
    expect(store.trouble()).toMatch(/queue .* full.*30 so far/)
    store.removeSpooled(store.spooled(50).map(({ id }) => id))
    expect(store.trouble()).toBeUndefined()
    store.close()
    expect(storeAt(path).dropped()).toEqual({ spool: 30 })
  })
})

describe('a disk in trouble', () => {
  it('keeps the group while another program holds the file, says so, and commits it later', () => {
    const path = newPath()
    const store = storeAt(path)
    const other = new DatabaseSync(path)
    other.exec('BEGIN IMMEDIATE')
    store.putSplice(spliceView(START_MS))
    store.putAlarm(keptAlarm())
    store.addSignals([point(START_MS, 1)])
    expect(store.trouble()).toMatch(/can't be written \(another program holds it\)/)
    expect(store.splice(`label_press-${START_MS}`)?.speed).toBe(300)
    expect(store.splices({ limit: 1 })).toHaveLength(1)
    expect(store.alarms({ limit: 1, standing: true })).toHaveLength(1)
    other.exec('ROLLBACK')
    other.close()
    store.flush()
    expect(store.trouble()).toBeUndefined()
    expect(store.signals('label_press', 'line_speed', ALL)).toHaveLength(1)
    store.close()
    expect(storeAt(path).splices({ limit: 5 })).toHaveLength(1)
  })

  it('goes on in memory when there is no room left, bounded, and counts what it had to drop', () => {
    const store = storeAt(newPath(), { maxBytes: 220_000 })
    const noise = (i: number) => point(START_MS + i, Math.sin(i) * 1e3, `extra.s${i % 50}`)
    for (let i = 0; i < 20; i += 1) {
      store.addSignals(Array.from({ length: 20_000 }, (_, k) => noise(i * 20_000 + k)))
      store.flush()
    }
    expect(store.trouble()).toMatch(/no room left/)
    expect(store.dropped()['signals']).toBeGreaterThanOrEqual(190_000)
    expect(store.dropped()['signals']).toBeLessThan(400_000)
  })
})

describe('a file that can not be used', () => {
  it('is moved aside when damaged, with a sentence, and a new one begun', () => {
    const path = newPath()
    writeFileSync(path, 'this was a database once'.repeat(500))
    const store = storeAt(path)
    expect(store.notices()[0]).toMatch(/damaged .* was moved to .*history\.db\.damaged-2026-03-02T06-00-00-000Z/)
    store.putSplice(spliceView(START_MS))
    expect(store.splices({ limit: 1 })).toHaveLength(1)
    const aside = readdirSync(join(path, '..')).find((name) => name.includes('damaged'))
    expect(readFileSync(join(path, '..', aside!), 'utf8')).toMatch(/^this was a database once/)
  })

  it('is found damaged by its pages too, when bytes in the middle were lost', () => {
    const path = newPath()
    const store = storeAt(path)
    for (let i = 0; i < 300; i += 1) store.putSnapshot(`key-${i}`, i, 'x'.repeat(500))
    store.close()
    const bytes = readFileSync(path)
    bytes.fill(0x5a, 8192, bytes.length - 8192)
    writeFileSync(path, bytes)
    expect(storeAt(path).notices()).toHaveLength(1)
  })

  it('found damaged while in use, gives way to a new one that takes the waiting group', () => {
    const path = newPath()
    const store = storeAt(path)
    // More than SQLite keeps in memory (2 MB), so that the damage is met.
    for (let i = 0; i < 60; i += 1) store.putSnapshot(`key-${i}`, i, 'x'.repeat(100_000))
    store.close()
    const again = storeAt(path)
    expect(again.notices()).toEqual([])
    writeFileSync(path, Buffer.alloc(statSync(path).size, 0x5a))
    for (let i = 0; i < 60; i += 1) again.snapshot(`key-${i}`)
    expect(again.trouble()).toMatch(/can't be read/)
    again.putSplice(spliceView(START_MS + 1000))
    expect(again.trouble()).toBeUndefined()
    expect(again.notices()[0]).toMatch(/damaged/)
    expect(again.splice(`label_press-${START_MS + 1000}`)).toBeDefined()
    again.close()
    expect(storeAt(path).splices({ limit: 5 })).toHaveLength(1)
  })

  it('of a newer schema is refused and left as it is', () => {
    const path = newPath()
    storeAt(path).close()
    const other = new DatabaseSync(path)
    other.exec('PRAGMA user_version = 99')
    other.close()
    expect(() => storeAt(path)).toThrow(
      /newer Lastwrap \(schema 99; this one knows up to \d+\): start the newer version/,
    )
    expect(readdirSync(join(path, '..')).some((name) => name.includes('damaged'))).toBe(false)
  })

  it('of another program is refused', () => {
    const path = newPath()
    const other = new DatabaseSync(path)
    other.exec('CREATE TABLE recipes (name TEXT)')
    other.close()
    expect(() => storeAt(path)).toThrow(/another program/)
  })

  it('that is a folder, or lies where no folder can be made, is refused with a sentence', () => {
    const folder = temporaryFolder()
    expect(() => storeAt(folder)).toThrow(LastwrapError)
    writeFileSync(join(folder, 'file'), '')
    expect(() => storeAt(join(folder, 'file', 'history.db'))).toThrow(/can't be opened.*name another data folder/)
  })

  it('of an older schema is brought up to date, or stays as it was when that fails', () => {
    const path = newPath()
    const old = storeAt(path)
    old.putSplice(spliceView(START_MS))
    old.close()
    const next = ownMigrations().length + 1
    const broken = [...ownMigrations(), { version: next, sql: 'CREATE TABLE half (x); CREATE TABLE splices (y)' }]
    expect(() => storeAt(path, { migrations: broken })).toThrow(/can't be opened/)
    const kept = storeAt(path)
    expect(kept.splices({ limit: 1 })).toHaveLength(1)
    kept.close()
    const better = [...ownMigrations(), { version: next, sql: 'ALTER TABLE splices ADD COLUMN note TEXT' }]
    expect(storeAt(path, { migrations: better }).splices({ limit: 1 })).toHaveLength(1)
    expect(() => storeAt(path)).toThrow(`schema ${next}`)
  })
})

it('is readable by nobody else', () => {
  const path = newPath()
  storeAt(path, { keep: DEFAULT_KEEP }).putSplice(spliceView(START_MS))
  for (const name of readdirSync(join(path, '..'))) {
    expect(statSync(join(path, '..', name)).mode & 0o077).toBe(0)
  }
})

it('survives a write-ahead log that was cut off in the middle', () => {
  const path = newPath()
  const store = storeAt(path)
  for (let i = 0; i < 20; i += 1) store.putSplice(spliceView(START_MS + i))
  const copy = join(temporaryFolder(), 'history.db')
  copyFileSync(path, copy)
  copyFileSync(`${path}-wal`, `${copy}-wal`)
  truncateSync(`${copy}-wal`, Math.floor(statSync(`${copy}-wal`).size * 0.6))
  const after = storeAt(copy).splices({ limit: 50 })
  expect(after.length).toBeGreaterThan(0)
  expect(after.length).toBeLessThan(20)
  expect(after.at(-1)?.started).toBe(new Date(START_MS).toISOString())
})
