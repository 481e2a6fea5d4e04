/** The MQTT source and browsing against real brokers: mosquitto for version 5, TLS and kept sessions; aedes for 3.1.1. */
import { mkdtemp, rm } from 'node:fs/promises'
import { type AddressInfo, createServer } from 'node:net'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { setTimeout as delay } from 'node:timers/promises'
import { Aedes } from 'aedes'
import { connectAsync, type MqttClient } from 'mqtt'
import { OPCUACertificateManager } from 'node-opcua-certificate-manager'
import { afterAll, beforeAll, describe, expect, test } from 'vitest'
import { browse } from '../../edge/browse.ts'
import type { MqttSourceConfig, TagRef } from '../../edge/config/config.ts'
import { createMqttSource } from '../../edge/sources/mqtt.ts'
import type { Source } from '../../edge/sources/source.ts'
import { type Mosquitto, startMosquitto } from '../support/mosquitto.ts'
import { RecordingListener, testPorts } from '../support/recording-listener.ts'
import { serverBinary } from '../support/server-binaries.ts'

const USER = { name: 'monitor', password: 'only-reads' }
const KEEP_ALIVE_S = 2
const FESTOON = 'plant/press/festoon'
const tag = (address: string, valuePath?: string, timePath?: string): TagRef => ({
  source: 'hall',
  address,
  valuePath,
  timePath,
})

let folder: string
const open: Source[] = []
const publishers: MqttClient[] = []

beforeAll(async () => {
  process.env['LASTWRAP_TEST_BROKER'] = USER.password
  process.env['LASTWRAP_TEST_WRONG'] = 'guessed'
  folder = await mkdtemp(join(tmpdir(), 'lastwrap-mqtt-'))
})
afterAll(async () => {
  await Promise.all(open.map((source) => source.stop()))
  await Promise.all(publishers.map((publisher) => publisher.endAsync(true)))
  await rm(folder, { recursive: true, force: true })
})

const configOf = (url: string, more: Partial<MqttSourceConfig> = {}): MqttSourceConfig => ({
  kind: 'mqtt',
  name: 'hall',
  url,
  user: { name: USER.name, password: { env: 'LASTWRAP_TEST_BROKER' } },
  caFile: undefined,
  clientId: undefined,
  will: undefined,
  maxPayloadBytes: 2000,
  keepAliveS: KEEP_ALIVE_S,
  staleAfterS: 10,
  time: 'source',
  ...more,
})

async function listen(config: MqttSourceConfig, tags: TagRef[], log: string[] = []) {
  const source = createMqttSource(config, tags, testPorts(folder, log))
  open.push(source)
  const heard = new RecordingListener()
  await source.start(heard)
  return { source, heard }
}

async function publisherAt(url: string, more = {}): Promise<MqttClient> {
  const client = await connectAsync(url, {
    username: USER.name,
    password: USER.password,
    reconnectPeriod: 200,
    ...more,
  })
  client.on('error', () => undefined)
  publishers.push(client)
  return client
}

describe.runIf(serverBinary('mosquitto'))('mosquitto', () => {
  let broker: Mosquitto
  let publisher: MqttClient
  beforeAll(async () => {
    broker = await startMosquitto({ folder: join(folder, 'mosquitto'), user: USER })
    publisher = await publisherAt(broker.url)
  })
  afterAll(() => broker?.stop())

  const publish = (topic: string, payload: unknown, retain = false): Promise<unknown> =>
    publisher.publishAsync(topic, typeof payload === 'string' ? payload : JSON.stringify(payload), { qos: 1, retain })

  test('one topic serves several tags; what is wrong with a message is counted and said', async () => {
    const tags = [
      tag(FESTOON, 'position', 'ts'),
      tag(FESTOON, 'drives[1].speed', 'ts'),
      tag('plant/press/roll'),
      tag('plant/+'),
    ]
    const { source, heard } = await listen(configOf(broker.url), tags)
    await heard.until('connection', () => heard.health?.state === 'connected')
    const tMs = Date.now() - 300
    await publish(FESTOON, { position: 24.5, drives: [{}, { speed: 3 }], ts: new Date(tMs).toISOString() })
    await heard.until('two samples', () => heard.samples.length === 2)
    expect(heard.samples).toMatchObject([
      { source: 'hall', address: `${FESTOON}#position`, value: 24.5, quality: 'good', tMs },
      { address: `${FESTOON}#drives[1].speed`, value: 3, tMs },
    ])
    await publish('plant/press/roll', 'R-0012')
    const roll = await heard.until('text', () => heard.of('plant/press/roll')[0])
    expect(roll.value).toBe('R-0012')
    expect(roll.tMs).toBe(roll.arrivalTMs)

    const health = () => source.health().tags[0]
    const wrong: [payload: unknown, sentence: string][] = [
      ['{"position":', 'is no JSON'],
      [{ ts: tMs }, 'is missing'],
      [{ position: 'NaN', ts: tMs }, 'no number'],
      [{ position: 1, ts: 'noon' }, 'time_path'],
      [{ position: 1, ts: tMs, more: 'x'.repeat(3000) }, 'at most 2000 are looked at'],
    ]
    for (const [index, [payload, sentence]] of wrong.entries()) {
      await publish(FESTOON, payload)
      await publish('plant/press/roll', `R-${index + 100}`)
      await heard.until('the marker', () => heard.of('plant/press/roll').at(-1)?.value === `R-${index + 100}`)
      expect(health()?.ignored).toBe(index + 1)
      expect(health()?.trouble).toContain(sentence)
    }
    expect(health()?.lastValue).toBe('24.5')
    // The same value for the same time is known already.
    const seen = heard.of(`${FESTOON}#position`).length
    for (const position of [24.5, 24.5, 25]) await publish(FESTOON, { position, drives: [{}, { speed: 3 }], ts: tMs })
    await heard.until('the new value', () => heard.of(`${FESTOON}#position`).at(-1)?.value === 25)
    expect(heard.of(`${FESTOON}#position`)).toHaveLength(seen + 1)
    expect(health()).toMatchObject({ trouble: undefined, quality: 'good' })
    expect(source.health().tags[3]?.trouble).toContain('without + or #')
    await source.stop()
  })

  test('alive at least once per keep-alive while nothing is published', async () => {
    const { source, heard } = await listen(configOf(broker.url), [tag('plant/silent')])
    await heard.until('pings', () => heard.aliveTMs.length >= 4)
    const gaps = heard.aliveTMs.slice(1).map((tMs, index) => tMs - (heard.aliveTMs[index] as number))
    expect(Math.max(...gaps)).toBeLessThan(1400 * KEEP_ALIVE_S)
    expect(heard.states.some((each) => each.state === 'lost')).toBe(false)
    await source.stop()
  })

  test('a wrong password is one clear sentence', async () => {
    const { source, heard } = await listen(
      configOf(broker.url, { user: { name: USER.name, password: { env: 'LASTWRAP_TEST_WRONG' } } }),
      [tag(FESTOON, 'position')],
    )
    const refused = await heard.until('refusal', () => heard.health?.state === 'refused' && heard.health)
    expect(refused.trouble).toBe(
      `The broker hall (${broker.url}) refuses the user name or password: correct them under sources.hall.user, or allow the user at the broker.`,
    )
    await source.stop()
  })

  test('a broker killed and restarted: lost in time, nothing published with QoS 1 is lost, nothing comes twice', async () => {
    const address = `${FESTOON}#n`
    const { source, heard } = await listen(configOf(broker.url), [
      tag(FESTOON, 'n', 'ts'),
      tag('plant/held', 'v', 'ts'),
    ])
    await heard.until('connection', () => heard.health?.state === 'connected')
    const heldTMs = Date.now() - 60_000
    await publish('plant/held', { v: 7, ts: heldTMs })
    let published = 0
    const publishing = setInterval(() => {
      published += 1
      // While the broker is away the publisher keeps its messages and sends them later.
      publish(FESTOON, { n: published, ts: Date.now() }).catch(() => undefined)
    }, 50)
    try {
      await heard.until('values', () => heard.of(address).length > 20)
      const killedTMs = Date.now()
      await broker.kill('SIGKILL')
      const lost = await heard.until('loss', () => heard.of(address).find((each) => each.quality === 'bad'))
      expect(lost.tMs - killedTMs).toBeLessThan(1500 * KEEP_ALIVE_S)
      await broker.start()
      await heard.until(
        'live values again',
        () => Number(heard.of(address).at(-1)?.value) > published - 5 && published > 100,
      )
    } finally {
      clearInterval(publishing)
    }
    await heard.until('the last', () => heard.of(address).some((each) => each.value === published))
    const counts = heard
      .of(address)
      .map((each) => each.value)
      .filter((value) => value !== undefined)
    // The returned tag's newest word is delivered once more as what holds now.
    await heard.until('the held value', () => heard.of('plant/held#v').length === 3)
    expect(heard.of('plant/held#v').map(({ value, quality }) => [value, quality])).toEqual([
      [7, 'good'],
      [undefined, 'bad'],
      [7, 'good'],
    ])
    const once = new Set(counts)
    expect(Array.from({ length: published }, (_, index) => index + 1).filter((n) => !once.has(n))).toEqual([])
    expect(counts.length - once.size).toBeLessThanOrEqual(1)
    expect(heard.health).toMatchObject({ state: 'connected', trouble: undefined })
    await source.stop()
  })

  test('a stopped source finds what was published meanwhile', async () => {
    const config = configOf(broker.url, { clientId: 'kept-session' })
    const first = await listen(config, [tag('plant/kept', 'n', 'ts')])
    await first.heard.until('connection', () => first.heard.health?.state === 'connected')
    await first.source.stop()
    await publish('plant/kept', { n: 1, ts: Date.now() })
    const second = await listen(config, [tag('plant/kept', 'n', 'ts')])
    await second.heard.until('the kept value', () => second.heard.samples.some((each) => each.value === 1))
    await second.source.stop()
  })

  test('another client with the same id: both say so and leave the broker alone for a while', async () => {
    const config = configOf(broker.url, { clientId: 'twice' })
    const first = await listen(config, [tag('plant/twice')])
    await first.heard.until('connection', () => first.heard.health?.state === 'connected')
    const second = await listen(config, [tag('plant/twice')])
    const refused = await first.heard.until(
      'the takeover',
      () => first.heard.health?.state === 'refused' && first.heard.health,
    )
    // This broker just closes the older connection; either sentence ends with what to do.
    expect(refused.trouble).toMatch(
      /another client .* the id of this one, twice: end the other one, or write an id of/i,
    )
    // Who came last reads on: the first one does not come back at once.
    await publish('plant/twice', '7')
    await second.heard.until('value', () => second.heard.samples[0]?.value === 7)
    await delay(3000)
    expect(second.heard.health?.state).toBe('connected')
    expect(first.source.health().state).toBe('refused')
    await Promise.all([first.source.stop(), second.source.stop()])
  })

  test('a frozen broker is noticed in time and comes back', async () => {
    const { source, heard } = await listen(configOf(broker.url), [tag('plant/frozen')])
    await heard.until('connection', () => heard.health?.state === 'connected')
    await publish('plant/frozen', '5')
    await heard.until('value', () => heard.samples[0])
    const frozenTMs = Date.now()
    broker.process().kill('SIGSTOP')
    const lost = await heard.until('loss', () => heard.samples.find((each) => each.quality === 'bad'))
    expect(lost.tMs - frozenTMs).toBeLessThan(1500 * KEEP_ALIVE_S)
    broker.process().kill('SIGCONT')
    await heard.until('return', () => heard.samples.at(-1)?.value === 5 && heard.health?.state === 'connected')
    await source.stop()
  })

  test('the last will of a publisher makes its tags bad; retained values of before do not come back as live', async () => {
    const will = { topic: 'plant/press/status', offline: 'offline' }
    const { source, heard } = await listen(configOf(broker.url, { will }), [tag('plant/willed')])
    await heard.until('connection', () => heard.health?.state === 'connected')
    const device = await publisherAt(broker.url, {
      reconnectPeriod: 0,
      will: { topic: will.topic, payload: Buffer.from('offline'), qos: 1, retain: true },
    })
    await device.publishAsync(will.topic, 'online', { qos: 1, retain: true })
    await device.publishAsync('plant/willed', '5', { qos: 1, retain: true })
    await heard.until('value', () => heard.samples[0]?.value === 5)
    device.stream.destroy()
    await heard.until('bad', () => heard.samples.at(-1)?.quality === 'bad')
    expect(heard.health).toMatchObject({ state: 'lost' })
    expect(heard.health?.trouble).toContain('plant/press/status')

    const late = await listen(configOf(broker.url, { will, clientId: 'late' }), [tag('plant/willed')])
    await late.heard.until('the will', () => late.heard.health?.state === 'lost')
    await late.source.stop()
    expect(late.heard.samples.map(({ quality, value }) => [quality, value])).toEqual([['bad', undefined]])

    await publish(will.topic, 'online', true)
    await publish('plant/willed', '6')
    await heard.until('value again', () => heard.samples.at(-1)?.value === 6)
    expect(heard.health).toMatchObject({ state: 'connected', trouble: undefined })
    await source.stop()
  })

  test('browse lists topics with a sample and its members', async () => {
    const listing = browse({
      endpoint: broker.url,
      user: { name: USER.name, password: { env: 'LASTWRAP_TEST_BROKER' } },
      listenS: 1,
      search: 'browse',
      ports: testPorts(folder),
    })
    const publishing = setInterval(() => {
      publish('browse/festoon', { position: 24.5, drives: [{ speed: 3 }] }).catch(() => undefined)
    }, 100)
    const { rows } = await listing
    clearInterval(publishing)
    expect(rows.map(({ address, valuePath, type, value }) => [address, valuePath, type, value])).toEqual([
      ['browse/festoon', 'position', 'number', '24.5'],
      ['browse/festoon', 'drives[0].speed', 'number', '3'],
    ])
  })

  test('TLS: an unknown certificate is refused with what to do, a known authority connects', async () => {
    const certificates = new OPCUACertificateManager({ rootFolder: join(folder, 'tls'), disableFileWatchers: true })
    await certificates.initialize()
    const certificateFile = join(folder, 'broker.pem')
    await certificates.createSelfSignedCertificate({
      applicationUri: 'urn:alder-quay-works:broker',
      dns: ['localhost'],
      outputFile: certificateFile,
      subject: '/CN=broker',
      startDate: new Date(Date.now() - 86_400_000),
      validity: 30,
    })
    await certificates.dispose()
    const tls = { certificateFile, privateKeyFile: certificates.privateKey }
    const secure = await startMosquitto({ folder: join(folder, 'secure'), user: USER, tls })
    const url = `mqtts://localhost:${secure.port}`
    try {
      const unknown = await listen(configOf(url), [tag('plant/tls')])
      const refused = await unknown.heard.until(
        'refusal',
        () => unknown.heard.health?.state === 'refused' && unknown.heard.health,
      )
      expect(refused.trouble).toContain(
        "a person's decision: name the file of its authority under sources.hall.ca_file",
      )
      await unknown.source.stop()

      const wrongName = await listen(configOf(`mqtts://127.0.0.1:${secure.port}`, { caFile: certificateFile }), [])
      await wrongName.heard.until('refusal', () => wrongName.heard.health?.trouble?.includes('made for another name'))
      await wrongName.source.stop()

      const known = await listen(configOf(url, { caFile: certificateFile }), [tag('plant/tls')])
      await known.heard.until('connection', () => known.heard.health?.state === 'connected')
      await known.source.stop()
    } finally {
      await secure.stop()
    }
  })
})

test('a broker that says that another client took the session over is believed at once', async () => {
  const server = createServer((socket) => {
    socket.on('error', () => undefined)
    socket.once('data', () => {
      // CONNACK without a session and DISCONNECT with reason 0x8E, by hand after MQTT 5.0 §3.2 and §3.14.
      socket.write(Buffer.from([0x20, 3, 0, 0, 0]))
      setTimeout(() => socket.end(Buffer.from([0xe0, 2, 0x8e, 0])), 100)
    })
  })
  server.listen(0, '127.0.0.1')
  await new Promise((resolve) => server.once('listening', resolve))
  try {
    const url = `mqtt://127.0.0.1:${(server.address() as AddressInfo).port}`
    const { source, heard } = await listen(configOf(url, { clientId: 'twice' }), [])
    const refused = await heard.until('the word', () => heard.health?.state === 'refused' && heard.health)
    expect(refused.trouble).toBe(
      `Another client signs in at the broker hall (${url}) with the id of this one, twice: end the other one, or write an id of its own under sources.hall.client_id (a copied data directory carries the id along). It is tried again in half a minute to two.`,
    )
    await source.stop()
  } finally {
    server.close()
  }
})

test('a broker that speaks only 3.1.1 is spoken to in 3.1.1', async () => {
  const broker = await Aedes.createBroker()
  const server = createServer(broker.handle)
  server.listen(0, '127.0.0.1')
  await new Promise((resolve) => server.once('listening', resolve))
  const url = `mqtt://127.0.0.1:${(server.address() as AddressInfo).port}`
  try {
    const log: string[] = []
    const { source, heard } = await listen(configOf(url), [tag('plant/old', 'v')], log)
    await heard.until('connection', () => heard.health?.state === 'connected')
    expect(log.join('\n')).toContain('3.1.1 is used')
    const publisher = await publisherAt(url, { protocolVersion: 4 })
    await publisher.publishAsync('plant/old', '{"v":"12.5"}', { qos: 1 })
    await heard.until('value', () => heard.samples[0]?.value === 12.5)
    // The refused attempt in version 5 must not end the connection that follows it.
    expect(log.join('\n')).not.toContain('connects anew')
    await source.stop()
    await publisher.endAsync(true)
  } finally {
    broker.close()
    server.close()
  }
})
