/** A service is counted once, however often and by whomever it is said within two minutes. */
import { describe, expect, it } from 'vitest'
import type { UnwindConfig } from '../../edge/config/config.ts'
import { UnwindTrends } from '../../edge/pipeline-trends.ts'
import { isSameTap } from '../../edge/splice-review.ts'
import type { LogEntry } from '../../edge/trend-views.ts'

const T0 = Date.UTC(2026, 2, 2, 14)

const begun = () => {
  const log: LogEntry[] = []
  const trends = new UnwindTrends({ id: 'press' } as UnwindConfig, (entry) => log.push(entry))
  return { trends, log }
}
const tap = (trends: UnwindTrends, seconds: number, person: string, item = 'knife', value = '') =>
  trends.accept({
    source: 'operator',
    address: `service/press/${item}`,
    value,
    tMs: T0 + seconds * 1000,
    arrivalTMs: T0 + seconds * 1000,
    quality: 'good',
    person,
  })

describe('a service', () => {
  it('is the same within two minutes', () => {
    expect(isSameTap(undefined, T0)).toBe(false)
    expect([0, 119_999, 120_000].map((ms) => isSameTap(T0, T0 + ms))).toEqual([true, true, false])
  })

  it('is kept once, with who said it first; two minutes later it is another', () => {
    const { trends, log } = begun()
    for (const [second, person] of [
      [0, 'Jon'],
      [1, 'Jon'],
      [119, 'Mila'],
      [121, 'Mila'],
    ] as const) {
      tap(trends, second, person)
    }
    expect(log.map(({ person, time }) => [person, Date.parse(time) - T0])).toEqual([
      ['Jon', 0],
      ['Mila', 121_000],
    ])
  })

  it('takes the batch that it lacked into the entry that is there', () => {
    const { trends, log } = begun()
    tap(trends, 0, 'Jon', 'tape')
    tap(trends, 30, 'Mila', 'tape', 'T-2207')
    tap(trends, 40, 'Mila', 'tape', 'T-2208')
    expect(log.map(({ id, note, person }) => [id === log[0]!.id, note, person])).toEqual([
      [true, '', 'Jon'],
      [true, 'T-2207', 'Jon'],
    ])
  })

  it('is known after a restart too', () => {
    const before = begun()
    tap(before.trends, 0, 'Jon')
    const after = begun()
    after.trends.restore(JSON.parse(JSON.stringify(before.trends.snapshot())))
    tap(after.trends, 60, 'Jon')
    tap(after.trends, 60, 'Jon', 'vacuum_filter')
    expect(after.log.map(({ subject }) => subject)).toEqual(['vacuum_filter'])
  })
})
