import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import type { AlarmView, SpliceView, TraceView, UnwindView } from '../../edge/api/messages.ts'
import { FORECAST_COLUMNS, SPLICE_COLUMNS } from '../../edge/columns.ts'
import type { FinishedRollView, JointEventRow } from '../../edge/joint-columns.ts'
import { startApi, TEST_START_MS, type TestApi } from '../support/start-api.ts'

let api: TestApi
beforeAll(async () => {
  api = await startApi()
})
afterAll(() => api.app.close())

const get = async <T = { error: string; code: string }>(url: string): Promise<{ status: number; body: T }> => {
  const answer = await api.app.inject({ method: 'GET', url })
  return { status: answer.statusCode, body: withoutWords(answer.json<T>()) }
}
/** A refusal as a person reads it; its words, for other languages, have a test of their own. */
const withoutWords = <T>(body: T): T => {
  if (typeof body === 'object' && body !== null && 'error' in body && 'words' in body) delete body.words
  return body
}
const post = async (url: string, payload: object | string, headers: Record<string, string> = {}) => {
  const answer = await api.app.inject({
    method: 'POST',
    url,
    payload,
    headers: { 'content-type': 'application/json', ...headers },
  })
  return { status: answer.statusCode, body: withoutWords(answer.json<Record<string, unknown>>()) }
}

describe('health and readiness', () => {
  it('says that the process is alive even while a source is lost', async () => {
    const { status, body } = await get<{ status: string; sources: unknown[]; database: { trouble?: string } }>(
      '/api/health',
    )
    expect(status).toBe(200)
    expect(body).toEqual(JSON.parse(JSON.stringify(api.daemon.health())))
  })

  it('is not ready while an unwind has no fresh data, and says which and why', async () => {
    const { status, body } = await get<{ missing: { unwind: string; signal: string }[]; reason: string }>('/api/ready')
    expect(status).toBe(503)
    expect(body).toMatchObject({ ready: false, without_data: ['sack_line'] })
    expect(body.reason).toMatch(
      /^sack_line: no value of line_speed \(sack\/line_speed of hall_broker\) for \d+ s, roll_diameter \(.*, buffer_position /,
    )
    expect(body.missing.map(({ unwind, signal }) => `${unwind} ${signal}`)).toEqual([
      'sack_line line_speed',
      'sack_line roll_diameter',
      'sack_line buffer_position',
    ])
  })

  it('says what is missing in the language that is asked for, else in that of the site', async () => {
    const reasonIn = async (language: string | undefined) => {
      const headers = language === undefined ? {} : { 'accept-language': language }
      return (await api.app.inject({ url: '/api/ready', headers })).json<{ reason: string }>().reason
    }
    expect(await reasonIn('de-AT,en;q=0.5')).toMatch(
      /^sack_line: kein Wert von line_speed \(sack\/line_speed aus hall_broker\) seit \d+ s, /,
    )
    expect(await reasonIn('fr, es;q=0.8, en;q=0.9')).toContain('no value of line_speed')
    for (const language of [undefined, '*', 'fr', 'de;q=0']) {
      expect(await reasonIn(language)).toContain('no value of line_speed')
    }
    const { app, daemon } = await startApi()
    const waits = { key: 'reason.waiting' }
    daemon.override('sack_line', { state: 'unknown', reason: 'Waiting.', reason_words: waits, stale: [] })
    const answer = await app.inject({ url: '/api/ready', headers: { 'accept-language': 'es' } })
    expect(answer.json<{ reason: string }>().reason).toBe('sack_line: Esperando los primeros valores.')
  })

  it('is ready once every unwind has data, and not with a store that cannot be written', async () => {
    const { app, daemon } = await startApi()
    // A festoon without a value is said of an unwind that counts down all the same.
    const stale = [{ signal: 'buffer_position', source: 'plc', address: 'ns=2;s=Festoon', seconds: 12 }]
    daemon.override('sack_line', { state: 'running', reason: null, stale })
    expect((await app.inject('/api/ready')).json()).toMatchObject({
      ready: false,
      reason: 'sack_line: no value of buffer_position (ns=2;s=Festoon of plc) for 12 s.',
    })
    daemon.override('sack_line', { state: 'running', reason: null, stale: [] })
    expect((await app.inject('/api/ready')).statusCode).toBe(200)
    const health = daemon.health()
    daemon.health = () => ({ ...health, store: { trouble: 'The disk is full: free some space.' } })
    const answer = await app.inject('/api/ready')
    expect(answer.statusCode).toBe(503)
    expect(answer.json()).toMatchObject({ ready: false, reason: 'The disk is full: free some space.' })
  })
})

describe('unwinds', () => {
  it('come as an array in the order of the config, with all columns of the contract', async () => {
    const { status, body } = await get<UnwindView[]>('/api/unwinds')
    expect(status).toBe(200)
    expect(body.map(({ unwind, state }) => [unwind, state])).toEqual([
      ['label_press', 'running'],
      ['laminator_inner', 'standing'],
      ['sack_line', 'unknown'],
    ])
    for (const view of body) expect(Object.keys(view)).toEqual(expect.arrayContaining([...FORECAST_COLUMNS]))
    // Nothing that the daemon gave is lost or changed by the schema on the way out.
    expect(body).toEqual(JSON.parse(JSON.stringify(api.daemon.unwinds())))
  })

  it('show what is unknown as null, never as 0', async () => {
    const { body } = await get<UnwindView>('/api/unwinds/sack_line')
    expect(body.seconds_to_splice).toBeNull()
    expect(body.diameter).toBeNull()
    expect(body.stale).toHaveLength(3)
  })

  it('name the ones there are when asked for another', async () => {
    const { status, body } = await get('/api/unwinds/label_pres')
    expect(status).toBe(404)
    expect(body).toEqual({
      error: 'There is no unwind "label_pres": there are label_press, laminator_inner, sack_line.',
      code: 'not_found',
    })
  })

  it('turn a number that JSON cannot carry into null rather than fail', async () => {
    const { app, daemon } = await startApi()
    daemon.override('label_press', { diameter: Number.NaN, safe_speed: Number.POSITIVE_INFINITY, line_speed: 1 })
    const answer = await app.inject('/api/unwinds/label_press')
    expect(answer.statusCode).toBe(200)
    expect(answer.json()).toMatchObject({ diameter: null, safe_speed: null, line_speed: 1 })
  })
})

describe('roll ready by hand', () => {
  it('passes the command on with its person', async () => {
    const { status, body } = await post('/api/unwinds/laminator_inner/ready', { ready: true, person: '  Shift\tB ' })
    expect([status, body]).toEqual([200, { done: true, person: 'Shift B' }])
    expect(api.daemon.commands.at(-1)).toEqual({
      kind: 'ready',
      unwind: 'laminator_inner',
      ready: true,
      person: 'Shift B',
    })
    expect((await get<UnwindView>('/api/unwinds/laminator_inner')).body.new_roll_ready).toBe(true)
    expect(api.audit.at(-1)).toEqual({
      tMs: TEST_START_MS,
      person: 'Shift B',
      from: '127.0.0.1',
      action: 'ready',
      subject: 'laminator_inner',
      result: 'done',
      detail: 'true',
    })
  })

  it('is done in the name of "local" where nobody says who', async () => {
    expect((await post('/api/unwinds/laminator_inner/ready', { ready: false })).body).toEqual({
      done: true,
      person: 'local',
    })
    expect(
      (await post('/api/unwinds/laminator_inner/ready', { ready: false, person: ' \u200b ' })).body['person'],
    ).toBe('local')
  })

  it("gives the daemon's sentence where it can't be done", async () => {
    const { status, body } = await post('/api/unwinds/label_press/ready', { ready: true })
    expect(status).toBe(409)
    expect(body).toMatchObject({ code: 'not_possible', error: expect.stringContaining('The PLC says itself') })
    expect(api.audit.at(-1)).toMatchObject({ action: 'ready', result: 'refused' })
  })

  it.each([
    [{}, 'The parameter ready is missing in the body.'],
    [{ ready: null }, 'The parameter ready has to be true or false.'],
    [{ ready: 'true' }, 'The parameter ready has to be true or false.'],
    [{ ready: true, persn: 'x' }, 'The parameter "persn" is not known here: use ready, person.'],
    [{ ready: true, person: 'x'.repeat(65) }, 'The parameter person has to have at most 64 characters.'],
    ['[]', 'The body has to be a JSON object.'],
    ['{"ready":', 'The body is no JSON: send a JSON object.'],
    ['', 'The body is empty: send a JSON object, { } where nothing is to be said.'],
  ])('refuses %j', async (payload, error) => {
    const before = api.daemon.commands.length
    const { status, body } = await post('/api/unwinds/laminator_inner/ready', payload)
    expect([status, body]).toEqual([400, { error, code: 'wrong_parameter' }])
    expect(api.daemon.commands).toHaveLength(before)
  })
})

it('what happened to joints at stations is told with its station, and no further parameter is taken', async () => {
  const { body } = await get<JointEventRow[]>('/api/joint-events?unwind=label_press')
  expect(body[0]).toMatchObject({
    unwind: 'label_press',
    station: 'Printing unit 1',
    event: 'arrived',
    takes_out: false,
  })
  expect((await get('/api/joint-events?event=arrived')).status).toBe(400)
})

it('joints stand by the finished roll in which they lie, and one roll can be asked for', async () => {
  const { body } = await get<FinishedRollView[]>('/api/finished-rolls?unwind=label_press')
  expect(body.length).toBeGreaterThan(1)
  const roll = body[1]!
  expect(roll).toMatchObject({ unwind: 'label_press', station: 'Rewinder' })
  expect(roll.joints[0]).toMatchObject({ out: 'Die cutter' })
  const one = await get<FinishedRollView[]>(`/api/finished-rolls?roll=${roll.roll}`)
  expect(one.body).toEqual([roll])
  expect((await get('/api/finished-rolls?roll=none')).body).toEqual([])
})

describe('splices', () => {
  it('come newest first with all columns', async () => {
    const { body } = await get<SpliceView[]>('/api/splices')
    expect(body.length).toBeGreaterThan(15)
    const started = body.map((splice) => splice.started)
    expect(started).toEqual([...started].sort().reverse())
    for (const splice of body) expect(Object.keys(splice)).toEqual(expect.arrayContaining([...SPLICE_COLUMNS]))
    expect(body).toEqual(api.daemon.splices({ limit: 200 }))
  })

  it('are filtered by unwind, outcome, time and number', async () => {
    const iso = (minutesAgo: number): string => new Date(TEST_START_MS - minutesAgo * 60_000).toISOString()
    const { body } = await get<SpliceView[]>(
      `/api/splices?unwind=label_press&outcome=good&from=${iso(140)}&to=${iso(50)}`,
    )
    expect(body.map(({ flags }) => flags)).toEqual(['slow_cycle', 'early', ''])
    const inMs = await get<SpliceView[]>(
      `/api/splices?unwind=label_press&outcome=good&from=${TEST_START_MS - 140 * 60_000}&to=${TEST_START_MS - 50 * 60_000}&limit=2`,
    )
    expect(inMs.body.map(({ flags }) => flags)).toEqual(['slow_cycle', 'early'])
    // 05:00 in Berlin in winter is 04:00 UTC.
    const berlin = await get<SpliceView[]>('/api/splices?from=2026-03-02T05:00:00%2B01:00')
    expect(berlin.body.every(({ started }) => started >= '2026-03-02T04:00:00.000Z')).toBe(true)
    expect(berlin.body.length).toBe(api.daemon.splices({ fromTMs: Date.UTC(2026, 2, 2, 4), limit: 1000 }).length)
  })

  it.each([
    ['outcome=bad', 'The parameter outcome has to be one of good, failed, missed, aborted.'],
    ['limit=0', 'The parameter limit has to be at least 1.'],
    ['limit=1001', 'The parameter limit has to be at most 1000.'],
    ['limit=ten', 'The parameter limit has to be a whole number.'],
    ['limit=', 'The parameter limit has to be a whole number.'],
    ['unwind=a&unwind=b', 'The parameter unwind has to be one text.'],
    [
      'unwid=label_press',
      'The parameter "unwid" is not known here: use unwind, outcome, cause, text, said, from, to, limit.',
    ],
    [
      'unwind=press',
      'The parameter unwind is "press", which is no unwind of this site: use label_press, laminator_inner, sack_line.',
    ],
    ['from=200&to=100', 'The parameter from lies after the parameter to: swap them.'],
  ])('refuses %s', async (query, error) => {
    expect(await get(`/api/splices?${query}`)).toEqual({ status: 400, body: { error, code: 'wrong_parameter' } })
  })

  it.each([
    '2026-03-02',
    '2026-03-02T06:00:00',
    '2026-02-30T06:00:00Z',
    '2026-13-01T06:00:00Z',
    'yesterday',
    '1e99',
    '99999999999999999',
  ])('refuses the time %s and says how to write one', async (text) => {
    const { status, body } = await get(`/api/splices?from=${text}`)
    expect(status).toBe(400)
    expect(body.error).toContain(`The parameter from is "${text}"`)
    expect(body.error).toContain('2026-03-02T06:00:00Z')
  })

  it('give one by its id, and its trace with equally long columns', async () => {
    const { body: list } = await get<SpliceView[]>('/api/splices?limit=1')
    const id = list[0]!.id
    expect((await get<SpliceView>(`/api/splices/${id}`)).body).toEqual(list[0])
    const { status, body } = await get<TraceView>(`/api/splices/${id}/trace`)
    expect(status).toBe(200)
    expect(body).toEqual(api.daemon.trace(id))
    for (const { values } of body.columns) expect(values).toHaveLength(body.time.length)
    expect(body.columns.find(({ signal }) => signal === 'unwind_speed')!.values).toContain(null)
  })

  it('tell an unknown splice from one without a trace', async () => {
    const unknown = await get('/api/splices/label_press-1/trace')
    expect(unknown).toEqual({
      status: 404,
      body: { error: 'There is no splice "label_press-1": take an id from /api/splices.', code: 'not_found' },
    })
    const { body: list } = await get<SpliceView[]>('/api/splices')
    const bare = list.find((splice) => !splice.has_trace)!
    const { status, body } = await get(`/api/splices/${bare.id}/trace`)
    expect(status).toBe(404)
    expect(body.error).toContain('No trace is kept')
  })
})

describe('alarms', () => {
  it('come newest first; `standing` leaves out what is over', async () => {
    const { body: all } = await get<AlarmView[]>('/api/alarms')
    const { body: standing } = await get<AlarmView[]>('/api/alarms?standing=true')
    expect(all).toEqual(JSON.parse(JSON.stringify(api.daemon.alarms({ limit: 200 }))))
    expect(all.some(({ state }) => state === 'normal')).toBe(true)
    expect(standing).toEqual(all.filter(({ state }) => state !== 'normal'))
    const { body: one } = await get<AlarmView[]>('/api/alarms?unwind=sack_line&standing=true')
    expect(one.map(({ alarm }) => alarm)).toEqual(['source_lost'])
  })

  it('refuse a flag that is none', async () => {
    expect((await get('/api/alarms?standing=yes')).body.error).toBe('The parameter standing has to be true or false.')
  })

  it('are acknowledged once, in the name of the first', async () => {
    const alarm = api.daemon.raise('buffer_not_filling', 'label_press', 'high', 'The festoon does not fill.')
    const url = `/api/alarms/${alarm.id}/acknowledge`
    const commands = api.daemon.commands.length
    expect(await post(url, { comment: 'valve was shut', person: 'Ada' })).toEqual({
      status: 200,
      body: { done: true, person: 'Ada' },
    })
    expect(api.daemon.commands.slice(commands)).toEqual([
      {
        kind: 'acknowledge',
        unwind: 'label_press',
        alarm: 'buffer_not_filling',
        person: 'Ada',
        comment: 'valve was shut',
      },
    ])
    expect(api.audit.at(-1)).toMatchObject({ action: 'acknowledge', person: 'Ada', subject: alarm.id, result: 'done' })
    expect(await post(url, { person: 'Bo' })).toEqual({ status: 200, body: { done: true, person: 'Ada' } })
    expect(api.daemon.commands).toHaveLength(commands + 1)
    const { body } = await get<AlarmView[]>('/api/alarms?standing=true')
    expect(body.find(({ id }) => id === alarm.id)).toMatchObject({
      state: 'acknowledged',
      acknowledged_by: 'Ada',
      comment: 'valve was shut',
    })
  })

  it('that are site-wide, without an unwind, are acknowledged too', async () => {
    const alarm = api.daemon.raise('store_failing', '', 'high', 'The disk is full.')
    expect((await post(`/api/alarms/${alarm.id}/acknowledge`, {})).status).toBe(200)
    expect(api.daemon.commands.at(-1)).toMatchObject({ unwind: '', alarm: 'store_failing', comment: '' })
  })

  it('with another id are not found, with too long a comment refused', async () => {
    expect((await post('/api/alarms/label_press-web_break-1/acknowledge', {})).status).toBe(404)
    expect((await post('/api/alarms/none/acknowledge', {})).body).toMatchObject({ code: 'not_found' })
    const { status, body } = await post('/api/alarms/none/acknowledge', { comment: 'x'.repeat(501) })
    expect([status, body['error']]).toEqual([400, 'The parameter comment has to have at most 500 characters.'])
  })
})

describe('what is not there or not taken', () => {
  it('an address without a route', async () => {
    expect(await get('/api/unwind')).toEqual({
      status: 404,
      body: {
        error: 'There is nothing at GET "/api/unwind": /api/openapi.json lists what there is.',
        code: 'not_found',
      },
    })
    expect((await post('/api/unwinds', {})).status).toBe(404)
  })

  it('a broken address, an id without end, a body that is too large or of another kind', async () => {
    expect((await get('/api/unwinds/%zz')).body.code).toBe('wrong_parameter')
    expect((await get(`/api/unwinds/${'x'.repeat(300)}`)).status).toBe(404)
    const large = await post('/api/unwinds/laminator_inner/ready', { ready: true, person: 'x'.repeat(70_000) })
    expect([large.status, large.body['error']]).toEqual([413, 'The body is too large: 64 kB are the most.'])
    const plain = await post('/api/unwinds/laminator_inner/ready', '{"ready":true}', { 'content-type': 'text/plain' })
    expect([plain.status, plain.body['code']]).toEqual([415, 'wrong_parameter'])
    const form = await post('/api/unwinds/laminator_inner/ready', 'ready=true', {
      'content-type': 'application/x-www-form-urlencoded',
    })
    expect(form.status).toBe(415)
  })

  it('a daemon that throws costs one answer, says nothing of its inside, and is logged', async () => {
    const { app, daemon, logged } = await startApi()
    daemon.unwinds = () => {
      throw new Error('secret detail')
    }
    const answer = await app.inject('/api/unwinds')
    expect(answer.statusCode).toBe(500)
    expect(withoutWords(answer.json())).toEqual({
      error: 'The daemon failed to answer this request: its log says why.',
      code: 'internal',
    })
    expect(logged.join()).toContain('secret detail')
    expect((await app.inject('/api/health')).statusCode).toBe(200)
  })
})
