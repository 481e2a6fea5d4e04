/** What a pipeline makes of its charts: log entries, the alarm's fact, what people enter. Splices from test/bench/trends-plant.ts. */
import { describe, expect, it } from 'vitest'
import type { UnwindConfig } from '../../edge/config/config.ts'
import { UnwindTrends } from '../../edge/pipeline-trends.ts'
import type { UnwindSignals } from '../../edge/signals/unwind-signals.ts'
import type { LogEntry } from '../../edge/trend-views.ts'
import { plantSplices } from '../bench/trends-plant.ts'
import { recordOf } from '../support/past-weeks.ts'

const config = { id: 'press', buffer: { fillStoredM: 27.5, runningStoredM: 7 } } as UnwindConfig

function watching() {
  const log: LogEntry[] = []
  return { log, trends: new UnwindTrends(config, (entry) => log.push(entry)) }
}
const entered = (address: string, value: string) =>
  ({ source: 'operator', address, value, quality: 'good', tMs: 5e9, arrivalTMs: 5e9, person: 'Ada' }) as const

describe('the trends of an unwind', () => {
  const { log, trends } = watching()
  for (const one of plantSplices({ seed: 71, splices: 330, drift: { perSplice: 0.001, from: 150 } })) {
    const record = recordOf(one, 'press')
    trends.record({ ...record, closed: false }, one.tMs)
    trends.record(record, one.tMs)
    // Line, tension and alarms revise a record after its verdict.
    trends.record({ ...record, flags: 'slowed_line' }, one.tMs)
  }

  it('log what drifts with its usual and its newest level, and give the alarm its fact', () => {
    const stop = log.find(({ kind, subject, side }) => kind === 'trend' && subject === 'stop' && side === null)!
    expect(stop).toMatchObject({ unwind: 'press', unit: 's', person: null })
    expect(stop.from).toBeCloseTo(1.1, 1)
    expect(Number(stop.to)).toBeGreaterThan(Number(stop.from) * 1.04)
    expect(trends.fact()).toMatchObject({ metric: 'stop', side: undefined })
    expect(trends.fact()!.share).toBeGreaterThan(0.1)
    const [view] = trends.view()
    expect(view).toMatchObject({ metric: 'stop', side: null, kind: 'drift', way: 'up', unit: 's' })
    expect(Date.parse(view!.since)).toBeLessThan(Date.parse(view!.called))
  })

  it('are known again after a restart', () => {
    const again = watching().trends
    again.restore(JSON.parse(JSON.stringify(trends.snapshot())))
    expect(again.view()).toEqual(trends.view())
  })

  it('end with a service, which is logged with who and what; another unwind’s is none of theirs', () => {
    expect(trends.accept(entered('service/other/knife', ''))).toBe(false)
    expect(trends.accept(entered('ready/press', ''))).toBe(false)
    expect(trends.accept(entered('service/press/tape', 'B-204'))).toBe(true)
    expect(trends.fact()).toBeUndefined()
    expect(log.at(-1)).toMatchObject({ kind: 'service', subject: 'tape', person: 'Ada', note: 'B-204' })
    const time = new Date(5e9).toISOString()
    expect(trends.accept(entered('service_taken_back/press/tape', time))).toBe(true)
    expect(log.at(-1)).toMatchObject({ kind: 'service_taken_back', subject: 'tape', person: 'Ada', from: time })
    expect(trends.fact()).toMatchObject({ metric: 'stop' })
    // What was taken back is no first tap: said again it counts.
    expect(trends.accept(entered('service/press/tape', 'B-205'))).toBe(true)
    expect(log.at(-1)).toMatchObject({ kind: 'service', note: 'B-205' })
    expect(trends.accept(entered('usual/press/stop', ''))).toBe(true)
    expect(log.at(-1)).toMatchObject({ kind: 'usual', subject: 'stop', person: 'Ada' })
    expect(trends.accept(entered('usual/press/nothing', ''))).toBe(false)
  })
})

it('a step right after a setting changed is logged with what was set, and is no trend', () => {
  const { log, trends } = watching()
  const pressTime = (value: number): UnwindSignals => {
    const mapped = { signal: 'extra.press_time', role: 'setting', unit: 's', toSi: 1 }
    return { heldNow: () => [{ config: mapped, value }] } as unknown as UnwindSignals
  }
  const all = [...plantSplices({ seed: 43, splices: 300 })]
  for (const [i, one] of all.entries()) {
    const record = recordOf(one, 'press')
    // The setting is changed a minute before splice 200.
    for (const atS of [-60, -50]) trends.step(pressTime(i < 200 ? 0.4 : 0.5), one.tMs + atS * 1000)
    trends.record(i < 200 ? record : { ...record, stopped_seconds: record.stopped_seconds! * 1.2 }, one.tMs)
  }
  const found = log.filter(({ subject }) => subject === 'stop' || subject === 'extra.press_time')
  expect(found.map(({ kind }) => kind)).toEqual(['setting', 'since_setting'])
  expect(found[1]).toMatchObject({ unit: 's', side: null, note: 'extra.press_time' })
  expect(Number(found[1]!.to)).toBeGreaterThan(Number(found[1]!.from) * 1.1)
  expect(trends.view().filter(({ metric }) => metric === 'stop')).toEqual([])
})
