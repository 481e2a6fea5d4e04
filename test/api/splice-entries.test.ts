/** What people add to a splice over the API: kept with who and when, refused where it contradicts itself. */
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import type { SpliceView } from '../../edge/api/messages.ts'
import type { Words } from '../../edge/messages/render.ts'
import { startApi, type TestApi } from '../support/start-api.ts'

let api: TestApi
beforeAll(async () => {
  api = await startApi()
})
afterAll(() => api.app.close())

const post = async (path: string, body: object) => {
  const answer = await api.app.inject({ method: 'POST', url: path, payload: body })
  return { status: answer.statusCode, body: answer.json() as SpliceView & { error?: string; words?: Words } }
}
const someOf = (outcome: string) => api.daemon.splices({ outcome, limit: 1 })[0]!

describe('POST /api/splices/:id/entries', () => {
  it('appends, and leaves the machine’s verdict visible', async () => {
    const failed = someOf('failed')
    const path = `/api/splices/${failed.id}/entries`
    const first = await post(path, { outcome: 'aborted', note: ' looked worse than it was ', person: 'Crew A' })
    expect(first.status).toBe(200)
    expect([first.body.outcome, first.body.review?.outcome]).toEqual(['failed', 'aborted'])
    const second = await post(path, { thing: 'knife_blunt', done: ['knife_changed'], good_product: true })
    expect(second.body.review?.entries.map(({ person, note }) => [person, note])).toEqual([
      ['Crew A', 'looked worse than it was'],
      ['local', null],
    ])
    expect(second.body.review?.good_product).toBe(new Date(api.clock.nowMs()).toISOString())
    expect(api.audit.filter(({ action }) => action === 'splice-entry').map(({ subject }) => subject)).toEqual(
      Array(2).fill(failed.id),
    )
  })

  it('counts tape that was changed as a service in the same name, once, where the splice is of the last day', async () => {
    const tape = () => api.daemon.desk.services('label_press')!.find(({ item }) => item === 'tape')!.last!
    const ofPress = (isRecent: boolean) =>
      api.daemon
        .splices({ unwind: 'label_press', limit: 500 })
        .find(({ started }) => api.clock.nowMs() - Date.parse(started) < 86_400_000 === isRecent)!
    const before = tape()
    const tick = (id: string, person: string) =>
      post(`/api/splices/${id}/entries`, { done: ['tape_changed', 'roll_replaced'], person })
    const old = ofPress(false)
    if (old !== undefined) await tick(old.id, 'Mila')
    expect(tape()).toEqual(before)
    await tick(ofPress(true).id, 'Jon')
    expect(tape()).toMatchObject({ person: 'Jon', time: new Date(api.clock.nowMs()).toISOString() })
    const counted = api.audit.filter(({ action }) => action === 'service').length
    await tick(ofPress(true).id, 'Mila')
    expect([tape().person, api.audit.filter(({ action }) => action === 'service').length]).toEqual(['Jon', counted])
  })

  it('takes a gap that was measured at the joint, and 0 is a gap', async () => {
    const path = `/api/splices/${someOf('good').id}/entries`
    expect((await post(path, { gap: 0.8 })).body.review?.gap).toBe(0.8)
    expect((await post(path, { gap: 0 })).body.review?.gap).toBe(0)
    expect((await post(path, { note: 'looked again' })).body.review?.gap).toBe(0)
  })

  it('takes a cause alone for the outcome as it stands', async () => {
    const { body } = await post(`/api/splices/${someOf('missed').id}/entries`, { cause: 'splicer_fault' })
    expect([body.review?.outcome, body.review?.cause]).toEqual(['missed', 'splicer_fault'])
  })

  it.each([
    [{}, /says nothing/],
    [{ note: '  ' }, /says nothing/],
    [{ outcome: 'good', cause: 'web_break' }, /leave both out/],
    [{ outcome: 'good', thing: 'knife_blunt' }, /leave both out/],
    [{ thing: 'operator_error' }, /has to be one of/],
    [{ amounts: [{ part: 'core', metres: -1 }] }, /at least 0/],
    [{ gap: 900 }, /at most 200/],
    [{ blame: 'somebody' }, /not known here/],
  ])('refuses %j', async (body, said) => {
    const answer = await post(`/api/splices/${someOf('failed').id}/entries`, body)
    expect(answer.status).toBe(400)
    expect(answer.body.error).toMatch(said)
  })

  it('gives a good splice no cause', async () => {
    const answer = await post(`/api/splices/${someOf('good').id}/entries`, { cause: 'web_break' })
    expect(answer.body.error).toMatch(/^A good splice has no cause/)
    expect(answer.body.words).toEqual({ key: 'entry.cause_of_good', parameters: {} })
    expect((await post(`/api/splices/${someOf('good').id}/entries`, { thing: 'knife_blunt' })).status).toBe(400)
  })
})

describe('POST /api/splices', () => {
  it('enters what no signal saw, once', async () => {
    const started = new Date(api.clock.nowMs() - 40 * 60_000 - 30_000).toISOString()
    const said = { unwind: 'sack_line', started, outcome: 'failed', thing: 'web_defect', person: 'Crew C' }
    const { status, body } = await post('/api/splices', said)
    expect(status).toBe(200)
    expect(body.id).toBe(`sack_line-${Date.parse(started)}`)
    expect([body.outcome, body.review?.outcome, body.review?.by_hand]).toEqual([null, 'failed', true])
    const again = await post('/api/splices', { ...said, started: String(Date.parse(started) + 5000) })
    expect([again.status, again.body.error]).toEqual([
      409,
      expect.stringMatching(/^Sack line has a splice at \d{4}-\d\d-\d\d \d\d:\d\d:\d\d [A-Z]+ already/),
    ])
    expect(again.body.words?.key).toBe('entry.time_taken')
  })

  it('refuses what has no outcome or lies ahead', async () => {
    const started = new Date(api.clock.nowMs() + 3_600_000).toISOString()
    expect((await post('/api/splices', { unwind: 'sack_line', started, outcome: 'good' })).body.error).toMatch(/ahead/)
    const before = '2026-03-01T06:00:00Z'
    expect((await post('/api/splices', { unwind: 'sack_line', started: before })).body.error).toMatch(/outcome/)
    expect((await post('/api/splices', { unwind: 'nowhere', started: before, outcome: 'good' })).status).toBe(400)
  })
})
