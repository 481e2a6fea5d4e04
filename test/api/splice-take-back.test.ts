/** What was said of a splice by mistake is taken back: by whom, what goes back with it, and what stays to be seen. */
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import type { SpliceView } from '../../edge/api/messages.ts'
import { addUser } from '../support/memory-access.ts'
import { startApi, type TestApi } from '../support/start-api.ts'

const PASSWORD = 'tin whistle 9'
let api: TestApi
const cookies = new Map<string, string>()
beforeAll(async () => {
  api = await startApi({ web: { withoutSignIn: 'viewer' } })
  for (const [person, role] of [
    ['Mila', 'operator'],
    ['Jon', 'operator'],
    ['Ada', 'engineer'],
    ['Guest', 'viewer'],
  ] as const) {
    await addUser(api.signIn, person, role, PASSWORD)
    const answer = await api.app.inject({
      method: 'POST',
      url: '/api/sign-in',
      payload: { person, password: PASSWORD },
    })
    cookies.set(person, (answer.headers['set-cookie'] as string[])[0]!.split(';')[0]!)
  }
})
afterAll(() => api.app.close())

const post = async (who: string, url: string, payload: object) => {
  const answer = await api.app.inject({ method: 'POST', url, payload, headers: { cookie: cookies.get(who)! } })
  return { status: answer.statusCode, body: answer.json() as SpliceView & { error?: string } }
}
const get = async (url: string) => (await api.app.inject({ url })).json()
const add = (who: string, id: string, said: object) => post(who, `/api/splices/${id}/entries`, said)
const takeBack = (who: string, id: string, entry: string) =>
  post(who, `/api/splices/${id}/entries/take-back`, { entry })
const newest = ({ review }: SpliceView): string => review!.entries.at(-1)!.time
const someOf = (outcome: string, nth = 0) => api.daemon.splices({ outcome, limit: nth + 1 })[nth]!

describe('POST /api/splices/:id/entries/take-back', () => {
  it('gives the splice its verdict back everywhere, and keeps who said it and who took it back', async () => {
    const failed = someOf('failed')
    const said = await add('Mila', failed.id, { outcome: 'good', note: 'meant the one before' })
    expect(said.body.review?.outcome).toBe('good')
    expect((await get(`/api/splices?outcome=failed&limit=1000`)).map(({ id }: SpliceView) => id)).not.toContain(
      failed.id,
    )
    const { status, body } = await takeBack('Mila', failed.id, newest(said.body))
    expect(status).toBe(200)
    expect([body.review?.outcome, body.outcome]).toEqual([null, 'failed'])
    expect(body.review?.entries.map(({ note, taken_back }) => [note, taken_back?.person ?? null])).toEqual([
      ['meant the one before', 'Mila'],
      [null, null],
    ])
    expect((await get(`/api/splices?outcome=failed&limit=1000`)).map(({ id }: SpliceView) => id)).toContain(failed.id)
    const { last_bad: bad } = await get('/api/handover')
    expect(bad.find(({ id }: SpliceView) => id === failed.id)).toMatchObject({ outcome: 'failed', notes: [] })
    const { body: csv } = await api.app.inject({ url: '/api/splices.csv' })
    expect(csv).toContain(failed.id.split('-')[0]!)
    expect(csv).not.toContain('meant the one before')
    const [entry] = api.audit.filter(({ action }) => action === 'splice-entry-taken-back')
    expect(entry).toMatchObject({ person: 'Mila', subject: failed.id, result: 'done' })
  })

  it('is for who said it, and for an engineer', async () => {
    const { id } = someOf('missed')
    const { body } = await add('Mila', id, { note: 'guard was open' })
    expect((await takeBack('Guest', id, newest(body))).status).toBe(403)
    const others = await takeBack('Jon', id, newest(body))
    expect([others.status, others.body.error]).toEqual([403, expect.stringMatching(/Mila/)])
    expect(api.daemon.splice(id)?.review?.entries).toHaveLength(1)
    const { body: gone } = await takeBack('Ada', id, newest(body))
    expect(gone.review?.entries[0]?.taken_back?.person).toBe('Ada')
    const again = await takeBack('Mila', id, newest(body))
    expect([again.status, again.body.error]).toEqual([409, expect.stringMatching(/^Ada took this entry back already/)])
    expect((await takeBack('Ada', id, newest(gone))).status).toBe(409)
    expect((await takeBack('Ada', id, '2020-01-01T00:00:00.000Z')).status).toBe(404)
  })

  it('lets knife, tape and filter count on where they were, but not where a button had said so first', async () => {
    const knife = () => api.daemon.desk.services('label_press')!.find(({ item }) => item === 'knife')!
    const log = async () => {
      const [from, to] = [0, api.clock.nowMs() + 1000]
      return (await get(`/api/log?unwind=label_press&from=${from}&to=${to}`)) as { kind: string; taken_back: unknown }[]
    }
    const ofPress = api.daemon.splices({ unwind: 'label_press', limit: 1 })[0]!
    const before = knife()
    expect(before.splices).toBeGreaterThan(0)
    const said = await add('Mila', ofPress.id, { done: ['knife_changed', 'roll_replaced'] })
    expect(knife()).toMatchObject({ splices: 0, last: { person: 'Mila' } })
    const { body } = await takeBack('Mila', ofPress.id, newest(said.body))
    expect(body.review?.done).toEqual([])
    expect(knife()).toEqual(before)
    const services = (await log()).filter(({ kind }) => kind.startsWith('service'))
    expect(services.filter(({ kind }) => kind === 'service_taken_back')).toHaveLength(1)
    expect(services.flatMap(({ taken_back }) => taken_back ?? [])).toEqual([
      { time: new Date(api.clock.nowMs()).toISOString(), person: 'Mila' },
    ])
    // Said anew within the two minutes it counts again: what was taken back is no first tap.
    await post('Jon', '/api/unwinds/label_press/services', { item: 'knife' })
    const again = await add('Mila', ofPress.id, { done: ['knife_changed'] })
    expect(knife().last?.person).toBe('Jon')
    await takeBack('Mila', ofPress.id, newest(again.body))
    expect(knife().last?.person).toBe('Jon')
  })

  it('takes back a splice that was entered by hand: it is none, and another may be entered for its time', async () => {
    const started = new Date(api.clock.nowMs() - 40 * 60_000 - 30_000).toISOString()
    const made = await post('Jon', '/api/splices', { unwind: 'sack_line', started, outcome: 'failed' })
    const report = () => get(`/api/report?unwind=sack_line&from=${Date.parse(started)}&to=${Date.parse(started)}`)
    expect(await made.status).toBe(200)
    const { body } = await takeBack('Jon', made.body.id, newest(made.body))
    expect([body.review?.outcome, body.review?.by_hand]).toEqual([null, true])
    expect(await report()).toMatchObject({ open: 0, bad: [], counts: { splices: 0 } })
    const anew = await post('Jon', '/api/splices', { unwind: 'sack_line', started, outcome: 'missed' })
    expect([anew.status, anew.body.review?.outcome, anew.body.id]).toEqual([200, 'missed', made.body.id])
  })
})
