/** Trends, services, maintenance's list and the report over the API, from the stand-in's invented weeks. */
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import type { ServiceView } from '../../edge/trend-views.ts'
import { startApi, type TestApi } from '../support/start-api.ts'

let api: TestApi
beforeAll(async () => {
  api = await startApi()
})
afterAll(() => api.app.close())

const get = async (url: string) => {
  const answer = await api.app.inject(url)
  return { status: answer.statusCode, body: answer.json() }
}
const post = async (url: string, payload: object) => {
  const answer = await api.app.inject({ method: 'POST', url, payload })
  return { status: answer.statusCode, body: answer.json() }
}
const DAY_MS = 86_400_000

describe('trends', () => {
  it('say what gets worse, with charts, what was done before, and each thing once', async () => {
    const { status, body } = await get('/api/unwinds/label_press/trends')
    expect(status).toBe(200)
    expect(body.standing[0]).toMatchObject({ metric: 'stop', side: null, way: 'up', unit: 's' })
    expect(body.standing[0].newest).toBeGreaterThan(body.standing[0].usual)
    expect(body.charts[0].points.length).toBeGreaterThan(300)
    expect(body.log.map(({ kind }: { kind: string }) => kind)).toContain('trend')
    expect(body.changes.some(({ entry }: { entry: string }) => entry.includes('press_time'))).toBe(true)
  })

  it('of an unwind with few splices call nothing and have no usual yet; of none that there is are refused', async () => {
    const { standing, splices, needed, charts } = (await get('/api/unwinds/sack_line/trends')).body
    expect(standing).toEqual([])
    expect(splices).toBeLessThan(needed)
    expect(charts.map(({ usual }: { usual: number | null }) => usual)).toContain(null)
    expect((await get('/api/unwinds/nobody/trends')).status).toBe(404)
    expect((await get('/api/unwinds/label_press/trends?splices=0')).status).toBe(400)
  })
})

describe('the log', () => {
  it('is given newest first, of one unwind and a span', async () => {
    const to = api.clock.nowMs()
    const { status, body } = await get(`/api/log?from=${to - 8 * DAY_MS}&to=${to}&unwind=label_press&limit=3`)
    expect(status).toBe(200)
    expect(body).toHaveLength(3)
    expect(body[0].time >= body[1].time).toBe(true)
    expect((await get('/api/log?from=2&to=1')).status).toBe(400)
  })
})

describe('the report', () => {
  const span = (days: number) => `from=${api.clock.nowMs() - days * DAY_MS}&to=${api.clock.nowMs()}`

  it('counts a week with its interval, its causes and its groups', async () => {
    const { status, body } = await get(`/api/report?${span(7)}&unwind=label_press`)
    expect(status).toBe(200)
    const { splices, good, failed, success } = body.counts
    expect(splices).toBeGreaterThan(400)
    expect(good + failed).toBeLessThanOrEqual(splices)
    expect(success.low).toBeLessThan(good / splices)
    const by = body.groups.map((group: { by: string }) => group.by)
    for (const grouping of ['side', 'material', 'tape_batch', 'temperature']) expect(by).toContain(grouping)
    expect(JSON.stringify(body.groups)).not.toContain('Mila')
    expect(body.is_whole).toBe(true)
  })

  it.each(['', '?from=1', '?from=2&to=1', '?from=0&to=9999999999999', '?from=1&to=2&unwind=nobody', '?from=x&to=2'])(
    'refuses "%s" in a sentence',
    async (query) => {
      const { status, body } = await get(`/api/report${query}`)
      expect(status).toBe(400)
      expect(body).toMatchObject({ code: 'wrong_parameter' })
    },
  )
})

describe('a service', () => {
  it('stands on the list when due, and one tap begins its count anew and ends the trend', async () => {
    const before = (await get('/api/maintenance')).body
    expect(before.map(({ kind }: { kind: string }) => kind)).toEqual(expect.arrayContaining(['trend', 'service']))
    const filter = before.find((line: { kind: string }) => line.kind === 'service')
    expect(filter.text).toMatch(/^Vacuum filter cleaned: nobody has entered it in \d+ splices; due after 250\.$/)
    const counted = (await get('/api/unwinds/label_press/services')).body as ServiceView[]
    const gapsOf = (item: string) => counted.find((one) => one.item === item)!
    // Measured at every twentieth splice; the knife was changed at splice 120, the tape at 40 and 260.
    expect(gapsOf('knife')).toMatchObject({ gaps: { joints: 15, median: 1 }, gaps_early: null })
    expect(gapsOf('tape')).toMatchObject({ gaps: { joints: 8 }, gaps_early: { joints: 6 }, gaps_late: { joints: 5 } })
    const done = await post('/api/unwinds/label_press/services', { item: 'vacuum_filter', person: 'Jon' })
    expect(done).toMatchObject({ status: 200, body: { done: true, person: 'Jon' } })
    expect(done.body.existing).toBeNull()
    // Said again at once, by somebody else too, it is what was entered already.
    const again = await post('/api/unwinds/label_press/services', { item: 'vacuum_filter', person: 'Mila' })
    expect(again).toMatchObject({ status: 200, body: { done: true, existing: { person: 'Jon', kind: 'service' } } })
    expect((await get('/api/maintenance')).body).toEqual([])
    const items = (await get('/api/unwinds/label_press/services')).body
    expect(items.map(({ item }: { item: string }) => item)).toEqual(['knife', 'tape', 'vacuum_filter'])
    expect(items[2]).toMatchObject({ is_due: false, last: { person: 'Jon' } })
  })

  it('that the config lacks, and a metric that there is not, are refused; a level may be taken as usual', async () => {
    const unknown = await post('/api/unwinds/label_press/services', { item: 'roof' })
    expect(unknown.status).toBe(404)
    expect(unknown.body.error).toContain('knife, tape, vacuum_filter')
    expect((await post('/api/unwinds/label_press/usual', { metric: 'mood' })).status).toBe(400)
    expect((await post('/api/unwinds/label_press/usual', { metric: 'stop', person: 'Jon' })).status).toBe(200)
  })
})
