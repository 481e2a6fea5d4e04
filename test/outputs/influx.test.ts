import { createServer, type IncomingMessage } from 'node:http'
import type { AddressInfo } from 'node:net'
import { gunzipSync } from 'node:zlib'
import { describe, expect, it, onTestFinished } from 'vitest'
import type { DatabaseConfig } from '../../edge/config/config.ts'
import { InfluxSender } from '../../edge/outputs/influx.ts'
import type { Point } from '../../edge/outputs/output.ts'

const point = (n: number, value: number | string = n): Point => ({
  measurement: 'signal',
  tags: { site: 'A' },
  fields: { a: value },
  tMs: n,
})

interface Asked {
  url: string
  authorization: string | undefined
  body: string
}

/** An HTTP server that answers every write alike, and tells what it was asked. */
async function answering(status: number, body = '', headers: Record<string, string> = {}) {
  const asked: Asked[] = []
  const server = createServer(async (request, response) => {
    asked.push({ url: request.url ?? '', authorization: request.headers.authorization, body: await bodyOf(request) })
    response.writeHead(status, headers).end(body)
  })
  await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve))
  onTestFinished(() => void server.close())
  const config: DatabaseConfig = {
    url: `http://127.0.0.1:${(server.address() as AddressInfo).port}`,
    dialect: 'v2',
    org: 'works',
    bucket: 'unwinds & more',
    token: undefined,
    user: undefined,
  }
  return { asked, config, server }
}

async function bodyOf(request: IncomingMessage): Promise<string> {
  const pieces: Buffer[] = []
  for await (const piece of request) pieces.push(piece as Buffer)
  const bytes = Buffer.concat(pieces)
  return (request.headers['content-encoding'] === 'gzip' ? gunzipSync(bytes) : bytes).toString('utf8')
}

describe('a request', () => {
  it('of the newer dialect goes to its path with the token', async () => {
    const { asked, config } = await answering(204)
    const delivery = await new InfluxSender(config, { token: 'secret' }).send([point(1), point(2)])
    expect(delivery).toEqual({ kind: 'taken' })
    expect(asked).toEqual([
      {
        url: '/api/v2/write?org=works&bucket=unwinds%20%26%20more&precision=us',
        authorization: 'Token secret',
        body: 'signal,site=A a=1 1000\nsignal,site=A a=2 2000',
      },
    ])
  })

  it('of the older dialect goes to its path with user and password', async () => {
    const { asked, config } = await answering(204)
    const old: DatabaseConfig = { ...config, dialect: 'v1', user: { name: 'monitor', password: undefined } }
    await new InfluxSender(old, { password: 'pass:word' }).send([point(1)])
    expect(asked[0]?.url).toBe('/write?db=unwinds%20%26%20more&precision=u')
    expect(asked[0]?.authorization).toBe(`Basic ${Buffer.from('monitor:pass:word').toString('base64')}`)
  })

  it('is one, however many points it has', async () => {
    const { asked, config } = await answering(204)
    await new InfluxSender(config, {}).send(Array.from({ length: 5000 }, (_, i) => point(i)))
    expect(asked.map(({ body }) => body.split('\n').length)).toEqual([5000])
  })

  it('leaves out a point without a field, and says so', async () => {
    const { asked, config } = await answering(204)
    const delivery = await new InfluxSender(config, {}).send([point(1), point(2, Number.NaN)])
    expect(delivery).toMatchObject({ kind: 'partly_taken', refused: [{ index: 1 }] })
    expect(asked[0]?.body).toBe('signal,site=A a=1 1000')
  })
})

describe('an answer', () => {
  it.each([
    [401, /refuses the token \(401\): see that it may write to unwinds & more/],
    [403, /refuses the token \(403\)/],
    [404, /knows no unwinds & more or has no v2 write path \(404\): create .* or set database.dialect to v1/],
    [500, /can't take points now \(500: broken\)/],
    [200, /can't take points now \(200/],
  ])('%i keeps the batch and says what to do', async (status, sentence) => {
    const { config } = await answering(status, 'broken')
    const delivery = await new InfluxSender(config, { token: 'secret' }).send([point(1)])
    expect(delivery).toMatchObject({ kind: 'away', sentence: expect.stringMatching(sentence) })
    expect(JSON.stringify(delivery)).not.toContain('secret')
  })

  it('429 with Retry-After says how long to pause', async () => {
    const { config } = await answering(429, '', { 'retry-after': '17' })
    expect(await new InfluxSender(config, {}).send([point(1)])).toMatchObject({ kind: 'away', pauseMs: 17_000 })
  })

  it('400 that names the refused points settles the others', async () => {
    const message =
      'partial write: field type conflict: input field "a" on measurement "signal" is type string, already exists as type float dropped=1'
    const { config } = await answering(400, JSON.stringify({ code: 'invalid', message }), {
      'content-type': 'application/json',
    })
    const delivery = await new InfluxSender(config, {}).send([point(1), point(2, 'x')])
    expect(delivery).toMatchObject({ kind: 'partly_taken', refused: [{ index: 1 }] })
  })

  it.each([
    [400, 'something new'],
    [413, ''],
  ])('%i that names none is for the queue to halve', async (status, body) => {
    const { config } = await answering(status, body)
    expect(await new InfluxSender(config, {}).send([point(1)])).toMatchObject({ kind: 'refused' })
  })

  it('that never comes, for nobody listens, keeps the batch', async () => {
    const { config, server } = await answering(204)
    await new Promise((resolve) => server.close(resolve))
    const delivery = await new InfluxSender(config, {}).send([point(1)])
    expect(delivery).toMatchObject({ kind: 'away', sentence: expect.stringMatching(/doesn't answer .*ECONNREFUSED/) })
  })
})

it('refuses a URL that is none, with a sentence', () => {
  const config: DatabaseConfig = {
    url: 'ftp://127.0.0.1',
    dialect: 'v2',
    org: 'o',
    bucket: 'b',
    token: undefined,
    user: undefined,
  }
  expect(() => new InfluxSender(config, {})).toThrow(/database\.url ftp:\/\/127\.0\.0\.1 can't be used/)
})
