/** Entries over the API: a wrong roll is said in the answer, who said what is in the audit, nonsense is refused. */
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import type { UnwindView } from '../../edge/api/messages.ts'
import type { EntriesView } from '../../edge/api/messages-entries.ts'
import { startApi, type TestApi } from '../support/start-api.ts'

let api: TestApi
beforeAll(async () => {
  api = await startApi()
})
afterAll(() => api.app.close())

const post = async <T>(path: string, payload: object): Promise<{ status: number; body: T }> => {
  const answer = await api.app.inject({ method: 'POST', url: `/api/unwinds/${path}`, payload })
  return { status: answer.statusCode, body: answer.json() as T }
}
const view = async (unwind: string): Promise<UnwindView> =>
  (await api.app.inject({ url: `/api/unwinds/${unwind}` })).json()

describe('the waiting roll', () => {
  it('is read from a scan, and a wrong one is said at once, here and on the wall', async () => {
    const { status, body } = await post<EntriesView>('laminator_inner/waiting-roll', {
      scan: '(21)R-9(8001)12800540007610(240)0815',
      hold: true,
      person: 'Mika',
    })
    expect(status).toBe(200)
    expect(body.waiting).toMatchObject({ roll_id: 'R-9', width: 1280, length: 5400, winding: 'in', person: 'Mika' })
    expect(body.faults.map(({ kind }) => kind)).toEqual(['hold', 'material', 'width', 'winding'])
    expect(body.faults[1]!.text).toBe('Wrong roll: the job needs material 4711, this is 0815. Fetch the right one.')
    const shown = await view('laminator_inner')
    expect(shown.preparation.missing).toBe('hold')
    expect(shown.waiting_roll).toMatchObject({ roll_id: 'R-9', material: '0815', width: 1280 })
    expect(api.audit.at(-1)).toMatchObject({ action: 'waiting_roll', person: 'Mika', result: 'done' })
  })

  it('is asked for where a scan is no label, and nothing is entered until then', async () => {
    const junk = { scan: 'https://example.org/menu', person: 'Mika' }
    const { status, body } = await post<{ error: string; code: string }>('laminator_inner/waiting-roll', junk)
    expect([status, body.code]).toEqual([409, 'no_label'])
    expect(body.error).toBe('No roll label: take "https://example.org/menu" as the roll\'s number?')
    expect((await view('laminator_inner')).waiting_roll?.roll_id).toBe('R-9')
    const taken = await post<EntriesView>('laminator_inner/waiting-roll', { scan: 'spare roll', as_roll_id: true })
    expect([taken.status, taken.body.waiting?.roll_id]).toEqual([200, 'spare roll'])
  })

  it('is replaced as a whole, and taken back by saying nothing', async () => {
    const { body } = await post<EntriesView>('laminator_inner/waiting-roll', { material: '4711' })
    expect(body.waiting).toMatchObject({ material: '4711', roll_id: null, hold: false })
    expect(body.faults).toEqual([])
    expect((await post<EntriesView>('laminator_inner/waiting-roll', {})).body.waiting).toBeNull()
    expect((await view('laminator_inner')).waiting_roll).toBeNull()
  })
})

describe('preparation', () => {
  it('names the first missing link until nothing is missing', async () => {
    const missing = async () => (await view('laminator_inner')).preparation.missing
    // Nobody has ever tapped a stage: only "ready" is known to lack.
    expect(await missing()).toBe('ready')
    await post('laminator_inner/stages', { stage: 'fetch', done: true, person: 'Mika' })
    expect(await missing()).toBe('load')
    await post('laminator_inner/stages', { stage: 'splice_prep', done: true })
    // Nobody says whether the splicer is armed; then it is said that it is not.
    expect(await missing()).toBe('ready')
    await post('laminator_inner/ready', { ready: false })
    expect(await missing()).toBe('arm')
    await post('laminator_inner/ready', { ready: true })
    expect(await missing()).toBeNull()
    const { preparation } = await view('laminator_inner')
    expect(preparation.ready).toBe(true)
    expect(preparation.stages.map(({ stage, done_at }) => [stage, done_at !== null])).toEqual([
      ['fetch', true],
      ['load', true],
      ['splice_prep', true],
    ])
  })
})

describe('the job', () => {
  it('asks for a roll and counts down; a field that is not named stays', async () => {
    await post('laminator_inner/job', { material: '0815', remaining: 9000, person: 'Kim' })
    const { body } = await post<EntriesView>('laminator_inner/job', { width: 900 })
    expect(body.job).toMatchObject({ material: '0815', width: 900, person: 'local', remaining_by_tag: false })
    expect(body.job.remaining).toBeCloseTo(9000, 6)
    api.clock.advance(60_000)
    // The stand-in's line takes 3 m/s.
    const later = (await api.app.inject({ url: '/api/unwinds/laminator_inner/entries' })).json() as EntriesView
    expect(later.job.remaining).toBeCloseTo(9000 - 180, 6)
    const cleared = await post<EntriesView>('laminator_inner/job', { material: null, remaining: null })
    expect(cleared.body.job).toMatchObject({ material: '4711', remaining: null })
  })

  it.each([
    ['laminator_inner/job', {}, 400],
    ['laminator_inner/job', { remaining: -1 }, 400],
    ['laminator_inner/stages', { stage: 'paint', done: true }, 400],
    ['laminator_inner/waiting-roll', { winding: 'sideways' }, 400],
    ['laminator_inner/waiting-roll', { width: 0 }, 400],
    // No larger than its core: a thousand with a comma in it, or inches for millimetres.
    ['laminator_inner/waiting-roll', { diameter: 1 }, 400],
    ['nowhere/stages', { stage: 'load', done: true }, 404],
  ])('refuses %s %j', async (path, payload, status) => {
    const answer = await post<{ error: string }>(path, payload)
    expect(answer.status).toBe(status)
    expect(answer.body.error).toMatch(/\.$/)
  })
})
