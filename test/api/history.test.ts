/** The past over the API, tags and alarms put aside: shapes, bounds and refusals. */
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import type { AlarmView } from '../../edge/api/messages.ts'
import type { HistoryView } from '../../edge/api/messages-history.ts'
import type { SignalsView } from '../../edge/api/messages-signals.ts'
import { startApi, type TestApi } from '../support/start-api.ts'

let api: TestApi
beforeAll(async () => {
  api = await startApi()
})
afterAll(() => api.app.close())
const get = async <T>(url: string): Promise<{ status: number; body: T }> => {
  const answer = await api.app.inject({ url })
  return { status: answer.statusCode, body: answer.json() as T }
}

describe('the past', () => {
  it('comes in spans of one length with the unit of each column', async () => {
    const { status, body } = await get<HistoryView>(
      '/api/unwinds/label_press/history?columns=seconds_to_splice,buffer_stored&points=60',
    )
    expect(status).toBe(200)
    expect(body.span_seconds).toBe(180)
    expect(body.time).toHaveLength(60)
    expect(body.columns.map(({ name, unit }) => `${name} ${unit}`)).toEqual(['seconds_to_splice s', 'buffer_stored m'])
    const { low, high } = body.columns[0]!
    // A round takes 240 s: in 180 s the time left spans a good part of it.
    expect(high.every((value, index) => value! - low[index]! > 50)).toBe(true)
  })

  it.each([
    ['columns=nonsense', 'columns'],
    ['columns=diameter&from=2026-03-02T07:00:00Z&to=2026-03-02T06:00:00Z', 'from'],
    ['columns=diameter&from=1990-01-01T00:00:00Z', 'from'],
    ['columns=diameter&from=yesterday', 'from'],
    ['columns=diameter&points=5000', 'points'],
    [
      `columns=${'diameter,caliper,metres_low,metres_high,seconds_low,seconds_high,buffer_stored,buffer_needed,safe_speed'}`,
      'columns',
    ],
  ])('refuses %s', async (query, parameter) => {
    const { status, body } = await get<{ error: string }>(`/api/unwinds/label_press/history?${query}`)
    expect(status).toBe(400)
    expect(body.error).toContain(parameter)
  })
})

describe('the tags', () => {
  it('stand with value, unit, quality, age, rate and gaps, by source', async () => {
    const { body } = await get<SignalsView>('/api/signals')
    expect(body.sources.map(({ name, clock_offset_ms }) => [name, clock_offset_ms])).toEqual([
      ['line_plc', -84],
      ['hall_broker', null],
    ])
    expect(body.tags.find(({ address }) => address === 'ns=2;s=Unwind.Status')!.uses).toHaveLength(2)
    expect(body.tags.find(({ source }) => source === 'hall_broker')).toMatchObject({
      quality: 'bad',
      reports_per_minute: 0,
    })
  })
})

describe('an alarm put aside', () => {
  it('leaves what stands and is listed apart, until it is ended', async () => {
    const standing = async () => (await get<AlarmView[]>('/api/alarms?standing=true&unwind=sack_line')).body
    const [alarm] = await standing()
    const shelve = (seconds: number) =>
      api.app.inject({ method: 'POST', url: `/api/alarms/${alarm!.id}/shelve`, payload: { seconds, person: 'Mika' } })
    expect((await shelve(3600)).statusCode).toBe(200)
    expect(await standing()).toEqual([])
    const aside = (await get<AlarmView[]>('/api/alarms/aside')).body
    expect(aside).toMatchObject([{ id: alarm!.id, shelved_by: 'Mika', shelved_until: '2026-03-02T07:00:00.000Z' }])
    expect((await shelve(0)).statusCode).toBe(200)
    expect(await standing()).toHaveLength(1)
    expect((await shelve(30 * 3600)).statusCode).toBe(400)
  })
})
