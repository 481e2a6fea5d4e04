import { connect, type Socket } from 'node:net'
import { afterEach, describe, expect, it } from 'vitest'
import { listen } from '../../edge/api/listen.ts'
import type { ServerOptions } from '../../edge/api/server.ts'
import { addUser } from '../support/memory-access.ts'
import { startApi, type TestApi } from '../support/start-api.ts'

const open: { app: TestApi['app'] }[] = []
const sockets: Socket[] = []
afterEach(async () => {
  for (const socket of sockets.splice(0)) socket.destroy()
  for (const { app } of open.splice(0)) await app.close()
})

const startListening = async (options: Partial<ServerOptions> = {}) => {
  const api = await startApi(options)
  open.push(api)
  const url = await listen(api.app, { host: '127.0.0.1', port: 0 })
  return { ...api, url, port: Number(new URL(url).port) }
}

interface Event {
  event: string
  data: unknown
}

/** A screen: reads the stream and hands out its events in order. */
const readStream = async (url: string, query = '', headers: Record<string, string> = {}) => {
  const answer = await fetch(`${url}/api/stream${query}`, { headers })
  const reader = answer.body!.pipeThrough(new TextDecoderStream()).getReader()
  let text = ''
  const raw: string[] = []
  const next = async (): Promise<Event | undefined> => {
    for (;;) {
      const end = text.indexOf('\n\n')
      if (end >= 0) {
        const block = text.slice(0, end)
        text = text.slice(end + 2)
        raw.push(block)
        const lines = block.split('\n')
        const event = lines.find((line) => line.startsWith('event: '))
        const data = lines.find((line) => line.startsWith('data: '))
        if (event !== undefined && data !== undefined) return { event: event.slice(7), data: JSON.parse(data.slice(6)) }
        continue
      }
      const { value, done } = await reader.read()
      if (done) return undefined
      text += value
    }
  }
  const until = async (wanted: (event: Event) => boolean): Promise<Event> => {
    for (;;) {
      const event = await next()
      if (event === undefined) throw new Error('The stream ended.')
      if (wanted(event)) return event
    }
  }
  return { answer, next, until, raw, cancel: () => reader.cancel() }
}

/** A screen that connects and then never reads. */
const freeze = (port: number): Promise<Socket> =>
  new Promise((resolve, reject) => {
    const socket = connect({ port, host: '127.0.0.1' })
    sockets.push(socket)
    // Cut off by the other side: expected here.
    socket.on('error', () => socket.destroy())
    socket.once('connect', () => {
      socket.pause()
      socket.write('GET /api/stream HTTP/1.1\r\nHost: localhost\r\n\r\n', (error) =>
        error == null ? resolve(socket) : reject(error),
      )
    })
  })

const connectionsOf = (api: TestApi): Promise<number> =>
  new Promise((resolve, reject) =>
    api.app.server.getConnections((error, count) => (error === null ? resolve(count) : reject(error))),
  )

describe('the live stream', () => {
  it('greets with health and every unwind, then tells what happens', async () => {
    const api = await startListening()
    const screen = await readStream(api.url)
    expect(screen.answer.headers.get('content-type')).toBe('text/event-stream; charset=utf-8')
    expect(screen.answer.headers.get('cache-control')).toBe('no-store')
    expect(screen.answer.headers.get('content-security-policy')).toContain("default-src 'self'")
    expect(await screen.next()).toEqual({ event: 'health', data: JSON.parse(JSON.stringify(api.daemon.health())) })
    expect(screen.raw[0]).toBe('retry: 1000')
    expect(await screen.next()).toMatchObject({
      event: 'unwinds',
      data: { unwinds: [{ unwind: 'label_press' }, {}, {}] },
    })
    api.daemon.raise('web_break', 'label_press', 'high', 'The web is broken.')
    expect(await screen.next()).toMatchObject({
      event: 'alarm',
      data: { alarm: 'web_break', event: 'raised', unwind: 'label_press' },
    })
    const splice = api.daemon.splices({ limit: 1 })[0]!
    api.daemon.emit('splice', splice)
    expect(await screen.next()).toEqual({ event: 'splice', data: splice })
    const arrival = api.daemon.jointEvents({ limit: 1 })[0]!
    api.daemon.emit('joint', arrival)
    expect(await screen.next()).toEqual({ event: 'joint', data: arrival })
    await screen.cancel()
  })

  it('tells screens what changed, after a whole frame that they can begin from', async () => {
    const api = await startListening()
    const screen = await readStream(api.url, '?changes=true')
    expect(await screen.next()).toMatchObject({ event: 'hello' })
    expect(await screen.next()).toMatchObject({ event: 'health' })
    expect(await screen.next()).toMatchObject({ event: 'unwinds' })
    // What was told between its greeting and now it has not seen.
    api.clock.advance(1000)
    expect(await screen.next()).toMatchObject({ event: 'unwinds', data: { unwinds: [{}, {}, {}] } })
    api.clock.advance(1000)
    const { event, data } = (await screen.next())!
    expect(event).toBe('changes')
    const { label_press: label } = (data as { unwinds: Record<string, Record<string, unknown>> }).unwinds
    expect(label).toHaveProperty('seconds_to_splice')
    expect(label).not.toHaveProperty('name')
    await screen.cancel()
  })

  it('sends the unwinds at least once a second though the daemon is silent, and counts down', async () => {
    const api = await startListening()
    const screen = await readStream(api.url)
    const seconds: number[] = []
    await screen.next()
    for (let second = 0; second < 5; second++) {
      const { data } = await screen.until(({ event }) => event === 'unwinds')
      seconds.push((data as { unwinds: { seconds_to_splice: number }[] }).unwinds[0]!.seconds_to_splice)
      api.clock.advance(1000)
    }
    for (const [index, left] of seconds.slice(1).entries()) {
      expect(seconds[index]! - left).toBeGreaterThan(0)
      expect(seconds[index]! - left).toBeLessThanOrEqual(1)
    }
    api.clock.advance(12_000)
    await screen.until(
      ({ event, data }) => event === 'unwinds' && (data as { time: string }).time >= '2026-03-02T06:00:16',
    )
    expect(screen.raw).toContain(': alive')
    await screen.cancel()
  })

  it('says nothing, rather than something old, while the daemon throws; and logs it once', async () => {
    const api = await startListening()
    const screen = await readStream(api.url)
    await screen.until(({ event }) => event === 'unwinds')
    const unwinds = api.daemon.unwinds
    api.daemon.unwinds = () => {
      throw new Error('no figures')
    }
    api.clock.advance(5000)
    api.daemon.unwinds = unwinds
    api.clock.advance(1000)
    const { data } = await screen.until(({ event }) => event === 'unwinds')
    expect((data as { time: string }).time).toBe('2026-03-02T06:00:05.500Z')
    expect(api.logged.filter((line) => line.includes('no figures'))).toHaveLength(1)
    await screen.cancel()
  })

  it('gives a screen that does not read a bounded share of memory, and lets the others go on', async () => {
    const api = await startListening()
    const screen = await readStream(api.url)
    await screen.until(({ event }) => event === 'unwinds')
    await freeze(api.port)
    await expect.poll(() => connectionsOf(api)).toBe(2)
    await expect.poll(() => api.app.streamHub.clients).toBe(2)
    // 40 MB of figures: kernel buffers take a few, the rest would pile up here.
    api.daemon.override('sack_line', { reason: 'x'.repeat(100_000) })
    for (let round = 0; round < 400; round++) {
      api.daemon.tick()
      await screen.until(({ event }) => event === 'unwinds')
    }
    expect(api.app.streamHub.dropped).toBeGreaterThan(200)
    // One frame may pass the limit that the one before stood under.
    expect(api.app.streamHub.mostUnreadBytes()).toBeLessThan(256 * 1024 + 150_000)
    expect(api.app.streamHub.clients).toBe(2)
    // Frozen for half a minute: cut off.
    api.clock.advance(31_000)
    expect(api.app.streamHub.clients).toBe(1)
    await expect.poll(() => connectionsOf(api)).toBe(1)
    await screen.cancel()
  })

  it('cuts a screen off that would miss an alarm: it connects again and asks afresh', async () => {
    const api = await startListening()
    await freeze(api.port)
    await expect.poll(() => api.app.streamHub.clients).toBe(1)
    api.daemon.override('sack_line', { reason: 'x'.repeat(100_000) })
    for (let round = 0; api.app.streamHub.dropped === 0 && round < 2000; round++) {
      api.daemon.tick()
      await new Promise(setImmediate)
    }
    expect(api.app.streamHub.dropped).toBeGreaterThan(0)
    api.daemon.raise('web_break', 'label_press', 'high', 'The web is broken.')
    expect(api.app.streamHub.clients).toBe(0)
    expect(api.app.streamHub.cutOff).toBe(1)
  })

  it('refuses one screen too many with a sentence, and takes it once another left', async () => {
    const api = await startListening({ mostStreams: 1 })
    const first = await readStream(api.url)
    await first.next()
    const refused = await fetch(`${api.url}/api/stream`)
    expect(refused.status).toBe(503)
    expect(await refused.json()).toMatchObject({ code: 'too_many' })
    await first.cancel()
    await expect.poll(() => api.app.streamHub.clients).toBe(0)
    const second = await readStream(api.url)
    expect(second.answer.status).toBe(200)
    await second.cancel()
  })

  it('ends with the session that opened it where looking needs one', async () => {
    const api = await startListening({ web: { host: '127.0.0.1', withoutSignIn: 'nothing' } })
    await addUser(api.signIn, 'Wall', 'viewer', 'tin whistle 9')
    const token = api.signIn.sessions.open('Wall', 'viewer', false, api.clock.nowMs())
    const { next, until } = await readStream(api.url, '', { cookie: `lastwrap_session=${token}` })
    await until(({ event }) => event === 'unwinds')
    api.clock.advance(1000)
    await until(({ event }) => event === 'unwinds')
    api.signIn.sessions.closeAll('Wall')
    api.clock.advance(1000)
    while ((await next()) !== undefined) expect(api.app.streamHub.clients).toBe(0)
    expect(api.app.streamHub.clients).toBe(0)
  })

  it('ends with the server, which does not wait for open or frozen screens', async () => {
    const api = await startListening()
    const screen = await readStream(api.url)
    await screen.until(({ event }) => event === 'unwinds')
    await freeze(api.port)
    await expect.poll(() => api.app.streamHub.clients).toBe(2)
    api.daemon.override('sack_line', { reason: 'x'.repeat(2_000_000) })
    for (let round = 0; round < 5; round++) api.daemon.tick()
    expect([api.daemon.listeners, api.clock.timers]).toEqual([1, 1])
    const begun = performance.now()
    await api.app.close()
    // A frozen screen would hold it for good.
    expect(performance.now() - begun).toBeLessThan(20_000)
    expect([api.daemon.listeners, api.clock.timers]).toEqual([0, 0])
    await expect(fetch(`${api.url}/api/health`)).rejects.toThrow()
  })
})

describe('listening', () => {
  it('says in one sentence that another program has the port', async () => {
    const first = await startListening()
    const second = await startApi()
    open.push(second)
    await expect(listen(second.app, { host: '127.0.0.1', port: first.port })).rejects.toMatchObject({
      code: 'wrong_input',
      message: `Another program listens on 127.0.0.1:${first.port} already: stop it, or set another port in web.listen or with --port.`,
    })
  })

  it('says that this machine has no such address', async () => {
    const api = await startApi({ web: { host: '127.0.0.1' } })
    open.push(api)
    await expect(listen(api.app, { host: '192.0.2.1', port: 0 })).rejects.toMatchObject({
      message: 'This machine has no address 192.0.2.1: set one that it has in web.listen.',
    })
  })
})
