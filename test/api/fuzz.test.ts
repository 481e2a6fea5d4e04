import fc from 'fast-check'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { startApi, type TestApi } from '../support/start-api.ts'

let api: TestApi
beforeAll(async () => {
  api = await startApi()
})
afterAll(() => api.app.close())

const NAMES = ['unwind', 'outcome', 'from', 'to', 'limit', 'standing', 'id', '__proto__', 'constructor', '']
const value = fc.oneof(
  fc.string({ unit: 'binary', maxLength: 40 }),
  fc.constantFrom(
    'label_press',
    'good',
    'true',
    '0',
    '-1',
    '1e3',
    '1e309',
    'NaN',
    'null',
    '[]',
    '{}',
    '9'.repeat(400),
    '2026-03-02T06:00:00Z',
    '-000001-01-01T00:00:00Z',
    '0000-00-00T00:00:00Z',
    '2026-03-02T24:00:00Z',
    '2026-03-02T06:00:00+99:99',
    '\u0000',
    '../../etc/passwd',
    '%',
    "'; drop table splices;--",
  ),
  fc.integer().map(String),
  fc.double().map(String),
  fc.date({ noInvalidDate: true }).map((date) => date.toISOString()),
)
const query = fc.array(fc.tuple(fc.constantFrom(...NAMES), value), { maxLength: 5 })

/** Every refusal is one sentence with a code, and nothing is ever the server's own fault. */
const checkAnswer = (status: number, text: string, what: string): void => {
  expect(status, what).toBeLessThan(500)
  if (status < 400) return
  const body = JSON.parse(text) as { error: string; code: string }
  expect(Object.keys(body), what).toEqual(['error', 'code', 'words'])
  expect(body.error, what).toMatch(/^[A-Z].*\.$/s)
  expect(body.error, what).not.toMatch(/\p{Cc}/u)
  expect(body.error.length, what).toBeLessThan(400)
}

describe('whatever is asked', () => {
  it('is answered or refused in a sentence: queries', async () => {
    await fc.assert(
      fc.asyncProperty(
        fc.constantFrom('/api/splices', '/api/alarms', '/api/unwinds', '/api/session'),
        query,
        async (path, pairs) => {
          const url = `${path}?${pairs.map(([name, text]) => `${encodeURIComponent(name)}=${encodeURIComponent(text.toWellFormed())}`).join('&')}`
          const answer = await api.app.inject(url)
          checkAnswer(answer.statusCode, answer.payload, url)
        },
      ),
      { numRuns: 600 },
    )
  })

  it('is answered or refused in a sentence: raw addresses', async () => {
    const raw = fc.string({ unit: fc.constantFrom(...'/%.?&=#:;+-_az09AZ~ \\[]{}|"<>^`'.split('')), maxLength: 30 })
    await fc.assert(
      fc.asyncProperty(
        fc.constantFrom('/api/splices/', '/api/alarms/', '/api/unwinds/', '/api/splices?', '/api/'),
        raw,
        async (path, tail) => {
          // "/api/.." is no address of the API but the pages' own, which needn't be built here.
          const leaves = URL.parse(path + tail, 'http://plant.example')?.pathname.startsWith('/api/') === false
          fc.pre(!leaves)
          const answer = await api.app.inject({ method: 'GET', url: path + tail })
          checkAnswer(answer.statusCode, answer.payload, path + tail)
        },
      ),
      { numRuns: 600 },
    )
  })

  it('is answered or refused in a sentence: bodies, and only a whole command reaches the daemon', async () => {
    const body = fc.oneof(
      fc.jsonValue(),
      fc.record(
        {
          ready: fc.oneof(fc.boolean(), fc.jsonValue()),
          person: fc.oneof(fc.string({ unit: 'binary' }), fc.jsonValue()),
          comment: fc.jsonValue(),
          station: fc.jsonValue(),
        },
        { requiredKeys: [] },
      ),
    )
    const standing = api.daemon.alarms({ standing: true, limit: 10 }).map(({ id }) => `/api/alarms/${id}/acknowledge`)
    await fc.assert(
      fc.asyncProperty(
        fc.constantFrom(
          '/api/unwinds/laminator_inner/ready',
          '/api/alarms/x/acknowledge',
          '/api/unwinds/label_press/joints/x/out',
          '/api/sign-in',
          '/api/sign-out',
          ...standing,
        ),
        body,
        async (url, payload) => {
          const answer = await api.app.inject({
            method: 'POST',
            url,
            headers: { 'content-type': 'application/json' },
            payload: JSON.stringify(payload),
          })
          checkAnswer(answer.statusCode, answer.payload, `${url} ${JSON.stringify(payload)}`)
        },
      ),
      { numRuns: 600 },
    )
    for (const command of api.daemon.commands) {
      expect(command.person).toMatch(/^\S/)
      expect([...command.person].length).toBeLessThanOrEqual(64)
      expect(command.person).not.toMatch(/\p{Cc}/u)
      if (command.kind === 'ready') expect(command.ready).toBeTypeOf('boolean')
      else if (command.kind === 'flag') expect(Number.isFinite(command.depth)).toBe(true)
      else if (command.kind === 'acknowledge') expect(command.comment).toBeTypeOf('string')
      else if (command.kind === 'joint_out') expect(command.station).toBeTypeOf('string')
    }
    expect(api.logged).toEqual([])
  })
})
