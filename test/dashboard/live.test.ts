import { describe, expect, it } from 'vitest'
import { freshness, retryDelayMs, SILENCE_LIMIT_MS } from '../../dashboard/live/freshness.ts'
import { applyMessage, estimateAtMs, initialState, serverNow } from '../../dashboard/live/state.ts'
import type { SpliceView, UnwindView } from '../../edge/api/messages.ts'
import type { AlarmRow } from '../../edge/columns.ts'

const T0 = '2026-03-02T06:00:00.000Z'
const splice = (id: string): SpliceView => ({ id, started: T0 }) as SpliceView

describe('freshness', () => {
  it('shows a loss within 3 s, a tick of 250 ms included', () => {
    expect(SILENCE_LIMIT_MS + 250).toBeLessThan(3000)
    expect(freshness(1000, 0, 1000 + SILENCE_LIMIT_MS)).toBe('live')
    expect(freshness(1000, 0, 1001 + SILENCE_LIMIT_MS)).toBe('lost')
  })
  it('waits for the first message, but not for ever', () => {
    expect(freshness(undefined, 500, 1000)).toBe('waiting')
    expect(freshness(undefined, 500, 3500)).toBe('lost')
  })
  it('tries again soon, then every 4 s for ever', () => {
    expect([0, 1, 2, 3, 50].map(retryDelayMs)).toEqual([500, 1000, 2000, 4000, 4000])
  })
})

describe('the live state', () => {
  it('takes the time from estimates alone: a late splice record makes nothing look live', () => {
    const first = applyMessage(initialState(0), { event: 'unwinds', data: { time: T0, unwinds: [] } }, 1000)
    const later = applyMessage(first, { event: 'splice', data: splice('x-1') }, 9000)
    expect(later.lastMessageAtMs).toBe(1000)
    expect(serverNow(later, 4000)).toBe(Date.parse(T0) + 3000)
  })
  it('revises a splice in place and keeps a bounded number', () => {
    let state = initialState(0)
    for (let i = 0; i < 500; i++) state = applyMessage(state, { event: 'splice', data: splice(`x-${i}`) }, i)
    expect(state.splices.size).toBe(200)
    state = applyMessage(state, { event: 'splice', data: { ...splice('x-499'), outcome: 'failed' } }, 1)
    expect(state.splices.get('x-499')!.outcome).toBe('failed')
    expect(state.splices.size).toBe(200)
  })
  it('asks anew for alarms of the whole site only when one of them changed', () => {
    const alarm = (unwind: string) => ({ event: 'alarm' as const, data: { unwind } as AlarmRow })
    const one = applyMessage(initialState(0), alarm(''), 0)
    expect(one.siteAlarmEvents).toBe(1)
    expect(applyMessage(one, alarm('label_press'), 0)).toBe(one)
  })
  it('lets an estimate hold for its own moment, but does not trust a strange clock', () => {
    const state = applyMessage(initialState(0), { event: 'unwinds', data: { time: T0, unwinds: [] } }, 5000)
    const at = (agoMs: number): Pick<UnwindView, 'time'> => ({ time: new Date(Date.parse(T0) - agoMs).toISOString() })
    expect(estimateAtMs(state, at(700))).toBe(4300)
    expect(estimateAtMs(state, at(3_600_000))).toBe(5000)
    expect(estimateAtMs(state, at(-500))).toBe(5000)
  })
})
