import { spawn } from 'node:child_process'
import { once } from 'node:events'
import { existsSync, mkdtempSync, readFileSync, rmSync, statSync, writeFileSync } from 'node:fs'
import { createServer } from 'node:net'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { connectAsync } from 'mqtt'
import { OPCUACertificateManager } from 'node-opcua-certificate-manager'
import {
  AttributeIds,
  type ClientSession,
  DataType,
  MessageSecurityMode,
  OPCUAClient,
  SecurityPolicy,
  TimestampsToReturn,
  UserTokenType,
} from 'node-opcua-client'
import { afterAll, beforeAll, describe, expect, it, vi } from 'vitest'
import { parse } from 'yaml'
import { type Demo, prepareDemo } from '../../edge/demo/prepare.ts'

const temporaryDir = (): string => mkdtempSync(join(tmpdir(), 'lastwrap-demo-'))
const passwordIn = (file: string): string => readFileSync(file, 'utf8').trim()
const PLANT = new URL('../../edge/demo/plant.ts', import.meta.url).pathname

let dataDir: string
let demo: Demo
let certificates: OPCUACertificateManager
const splices: unknown[] = []

beforeAll(async () => {
  dataDir = temporaryDir()
  // The label press makes its first splice 40 s into the day; its fill is under way at 35 s.
  demo = await prepareDemo({ dataDir, skipS: 35, onSplice: (splice) => splices.push(splice) })
  certificates = new OPCUACertificateManager({ rootFolder: join(dataDir, 'certificates/opcua') })
  await certificates.initialize()
})

afterAll(async () => {
  await certificates?.dispose()
  await demo?.stop()
  rmSync(dataDir, { recursive: true, force: true })
})

const clientWith = (securityMode: MessageSecurityMode, securityPolicy: SecurityPolicy): OPCUAClient =>
  OPCUAClient.create({
    applicationName: 'demo-plant-test',
    endpointMustExist: false,
    securityMode,
    securityPolicy,
    clientCertificateManager: certificates,
    connectionStrategy: { maxRetry: 0, initialDelay: 100, maxDelay: 200 },
  })

const secureClient = () => clientWith(MessageSecurityMode.SignAndEncrypt, SecurityPolicy.Basic256Sha256)

const withSession = async (use: (session: ClientSession) => Promise<void>): Promise<void> => {
  const client = secureClient()
  try {
    await client.connect(demo.plant.opcua)
    const session = await client.createSession({
      type: UserTokenType.UserName,
      userName: demo.plant.user,
      password: passwordIn(demo.plant.opcuaPasswordFile),
    })
    await use(session)
    await session.close()
  } finally {
    await client.disconnect()
  }
}

describe('the demo plant as a process', () => {
  it('takes free ports and keeps secrets for its owner only', () => {
    const { plant, configFile } = demo
    expect(Number(new URL(plant.mqtt).port)).toBeGreaterThan(1023)
    for (const file of [plant.opcuaPasswordFile, plant.mqttPasswordFile, configFile]) {
      expect(statSync(file).mode & 0o777).toBe(0o600)
    }
    expect(passwordIn(plant.opcuaPasswordFile)).toMatch(/^[\w-]{32}$/)
    expect(passwordIn(plant.mqttPasswordFile)).not.toBe(passwordIn(plant.opcuaPasswordFile))
  })

  it('writes a config that names its ports and password files', () => {
    const config = parse(readFileSync(demo.configFile, 'utf8'))
    expect(config.sources.plant_plc.endpoint).toBe(demo.plant.opcua)
    expect(config.sources.hall_broker.url).toBe(demo.plant.mqtt)
    expect(existsSync(config.sources.plant_plc.user.password_file)).toBe(true)
    expect(existsSync(config.sources.hall_broker.user.password_file)).toBe(true)
    expect(Object.keys(config.unwinds)).toEqual(['label_press', 'carton_line', 'film_coater'])
  })
})

describe('its PLC', () => {
  it('reports moving values to a client that trusts what prepareDemo put into the trusted folder', async () => {
    await withSession(async (session) => {
      const reports = new Map<string, { value: number; tMs: number }[]>()
      const subscription = await session.createSubscription2({
        requestedPublishingInterval: 200,
        requestedLifetimeCount: 100,
        requestedMaxKeepAliveCount: 10,
        publishingEnabled: true,
      })
      for (const path of ['Press.LineSpeed', 'UnwindA.Diameter', 'Festoon.Position', 'Carton.Unwind.Diameter']) {
        reports.set(path, [])
        const item = await subscription.monitor(
          { nodeId: `ns=2;s=${path}`, attributeId: AttributeIds.Value },
          { samplingInterval: 100, queueSize: 100 },
          TimestampsToReturn.Both,
        )
        item.on('changed', ({ value, sourceTimestamp }) =>
          reports.get(path)?.push({ value: value.value, tMs: sourceTimestamp?.getTime() ?? 0 }),
        )
      }
      const diameters = reports.get('UnwindA.Diameter')!
      await vi.waitFor(() => expect(diameters.length).toBeGreaterThan(20), { timeout: 8000 })
      // Above 120 mm, 80 µm at 4 m/s take more than 0.5 mm a second; a busy machine is behind.
      await vi.waitFor(() => expect(diameters[0]!.value - diameters.at(-1)!.value).toBeGreaterThan(0.5), {
        timeout: 20_000,
      })
      await subscription.terminate()
      const speeds = reports.get('Press.LineSpeed')!.map(({ value }) => value)
      expect(Math.max(...speeds)).toBeLessThan(245)
      expect(Math.min(...speeds)).toBeGreaterThan(235)
      const last = diameters.at(-1)!
      // Sampled at 100 ms, stamped by the plant, in order and of this moment.
      const gaps = diameters.slice(1).map(({ tMs }, index) => tMs - diameters[index]!.tMs)
      expect(Math.min(...gaps)).toBeGreaterThanOrEqual(0)
      expect(gaps.toSorted((a, b) => a - b)[gaps.length >> 1]).toBeLessThanOrEqual(150)
      expect(Math.abs(Date.now() - last.tMs)).toBeLessThan(2000)
      // 8.7 in is where the board splices; the running roll is larger.
      expect(reports.get('Carton.Unwind.Diameter')![0]!.value).toBeGreaterThan(8.5)
    })
  })

  it('serves every tag that the config maps, and units as UNECE has them', async () => {
    await withSession(async (session) => {
      const addresses = [...readFileSync(demo.configFile, 'utf8').matchAll(/ns=2;s=[\w.]+/g)].map(([nodeId]) => nodeId)
      expect(addresses.length).toBeGreaterThan(30)
      for (const nodeId of addresses) {
        const { statusCode, value } = await session.read({ nodeId, attributeId: AttributeIds.Value })
        expect({ nodeId, status: statusCode.name }).toEqual({ nodeId, status: 'Good' })
        expect(value.value).not.toBeNull()
      }
      const references = await session.browse('ns=2;s=Press.LineSpeed')
      const unit = references.references?.find(({ browseName }) => browseName.name === 'EngineeringUnits')
      const read = await session.read({ nodeId: unit!.nodeId, attributeId: AttributeIds.Value })
      // m/min is 2X, unitId 12888: UNECE_to_OPCUA.csv.
      expect(read.value.value.unitId).toBe(12_888)
    })
  })

  it('lets nobody write', async () => {
    await withSession(async (session) => {
      const status = await session.write({
        nodeId: 'ns=2;s=Press.SpeedSetpoint',
        attributeId: AttributeIds.Value,
        value: { value: { dataType: DataType.Float, value: 500 } },
      })
      expect(status.name).toMatch(/NotWritable|AccessDenied/)
    })
  })

  it.each([
    ['anonymous', undefined],
    ['a wrong password', 'guess'],
  ])('refuses %s', async (_who, password) => {
    const client = secureClient()
    await client.connect(demo.plant.opcua)
    const session = client.createSession(
      password === undefined
        ? { type: UserTokenType.Anonymous }
        : { type: UserTokenType.UserName, userName: 'monitor', password },
    )
    await expect(session).rejects.toThrow(/token|denied|password|anonymous/i)
    await client.disconnect()
  })

  it('gives no session without encryption', async () => {
    const client = clientWith(MessageSecurityMode.None, SecurityPolicy.None)
    const attempt = async () => {
      await client.connect(demo.plant.opcua)
      await client.createSession({
        type: UserTokenType.UserName,
        userName: 'monitor',
        password: passwordIn(demo.plant.opcuaPasswordFile),
      })
    }
    await expect(attempt()).rejects.toThrow()
    await client.disconnect()
  })
})

describe('its broker', () => {
  const connect = (password: string) =>
    connectAsync(demo.plant.mqtt, {
      protocolVersion: 4,
      username: demo.plant.user,
      password,
      reconnectPeriod: 0,
      clientId: `demo-test-${process.pid}-${password.length}`,
    })

  it('carries the coater, 10 times a second, with times and a retained status', async () => {
    const client = await connect(passwordIn(demo.plant.mqttPasswordFile))
    const messages = new Map<string, string[]>()
    client.on('message', (topic, payload) => {
      messages.set(topic, [...(messages.get(topic) ?? []), payload.toString()])
    })
    await client.subscribeAsync('alderquay/coater/#')
    const unwind = () => (messages.get('alderquay/coater/unwind') ?? []).map((text) => JSON.parse(text))
    const [first, last] = [() => unwind()[0], () => unwind().at(-1)]
    await vi.waitFor(() => expect(unwind().length).toBeGreaterThan(15), { timeout: 5000 })
    // The reading is rounded to tenths of a millimetre and has noise: how soon it is less differs.
    await vi.waitFor(() => expect(last().diameter).toBeLessThan(first().diameter), { timeout: 20_000 })
    await client.endAsync()
    expect(messages.get('alderquay/coater/status')).toEqual(['online'])
    const line = JSON.parse(messages.get('alderquay/coater/line')![0]!)
    expect(line.speed).toBeGreaterThan(415)
    expect(Math.abs(line.ts - Date.now())).toBeLessThan(5000)
    expect(first().diameter).toBeGreaterThan(128)
    const times = unwind().map(({ ts }) => Date.parse(ts))
    const gaps = times.slice(1).map((tMs, index) => tMs - times[index]!)
    // The median: a busy machine delays single messages.
    expect(gaps.toSorted((a, b) => a - b)[gaps.length >> 1]).toBeCloseTo(100, -1)
    expect(JSON.parse(messages.get('alderquay/coater/splicer')![0]!)).toMatchObject({ ready: true, auto: true })
  })

  it('refuses a wrong password', async () => {
    await expect(connect('guess')).rejects.toThrow(/bad user|not authorized/i)
  })

  it('lets the monitor listen only', async () => {
    const client = await connect(passwordIn(demo.plant.mqttPasswordFile))
    const closed = new Promise<void>((resolve) => client.once('close', () => resolve()))
    client.publish('alderquay/coater/status', 'offline', { qos: 1, retain: true })
    await closed
    client.end(true)
    const other = await connect(passwordIn(demo.plant.mqttPasswordFile))
    const status = new Promise<string>((resolve) =>
      other.once('message', (_topic, payload) => resolve(String(payload))),
    )
    await other.subscribeAsync('alderquay/coater/status')
    expect(await status).toBe('online')
    await other.endAsync()
  })
})

it('tells what really happened at a splice', async () => {
  await vi.waitFor(() => expect(splices.length).toBeGreaterThan(0), { timeout: 20_000 })
  expect(splices[0]).toMatchObject({ line: 'label_press', outcome: 'good' })
})

describe('starting and ending', () => {
  it('says what is wrong where a port is taken', async () => {
    const taken = createServer().listen(0, '127.0.0.1')
    await once(taken, 'listening')
    const dir = temporaryDir()
    const { port } = taken.address() as { port: number }
    await expect(prepareDemo({ dataDir: dir, mqttPort: port })).rejects.toThrow(/demo plant .*EADDRINUSE.*--config/)
    taken.close()
    rmSync(dir, { recursive: true })
  })

  it('says what is wrong where its folder cannot be made', async () => {
    const dir = temporaryDir()
    writeFileSync(join(dir, 'data'), 'a file, where a folder should be')
    await expect(prepareDemo({ dataDir: join(dir, 'data') })).rejects.toThrow(/data directory .*ENOTDIR.*--data/)
    rmSync(dir, { recursive: true })
  })

  it.each([
    [[], /--data DIR is missing/],
    [['--data', '/tmp', '--seed', 'abc'], /--seed takes a number from 0 to/],
    [['--data', '/tmp', '--sped', '2'], /--sped/],
  ])('refuses %j with status 2 and a sentence', async (options, sentence) => {
    const plant = spawn(process.execPath, [PLANT, ...options], { stdio: ['ignore', 'ignore', 'pipe'] })
    const said: string[] = []
    plant.stderr.on('data', (chunk) => said.push(String(chunk)))
    const [status] = await once(plant, 'close')
    expect(status).toBe(2)
    expect(said.join('')).toMatch(sentence)
  })

  it('keeps certificate and passwords over a restart and ends on SIGTERM', async () => {
    const dir = temporaryDir()
    const first = await prepareDemo({ dataDir: dir })
    const ended = once(first.child, 'exit')
    const before = [first.plant.certificateFile, first.plant.opcuaPasswordFile].map((file) =>
      readFileSync(file, 'utf8'),
    )
    await first.stop()
    expect((await ended)[0]).toBe(0)
    const second = await prepareDemo({ dataDir: dir })
    const after = [second.plant.certificateFile, second.plant.opcuaPasswordFile].map((file) =>
      readFileSync(file, 'utf8'),
    )
    await second.stop()
    expect(after).toEqual(before)
    rmSync(dir, { recursive: true })
  })

  it('ends when the process that started it is killed', async () => {
    const dir = temporaryDir()
    const script = `
      const { spawn } = require('node:child_process')
      const plant = spawn(process.execPath, [${JSON.stringify(PLANT)}, '--data', ${JSON.stringify(dir)}], { stdio: ['ignore', 'pipe', 'ignore'] })
      plant.stdout.once('data', () => console.log(plant.pid))
    `
    const parent = spawn(process.execPath, ['-e', script], { stdio: ['ignore', 'pipe', 'inherit'] })
    const [said] = await once(parent.stdout, 'data')
    const pid = Number(String(said))
    const lives = () => existsSync(`/proc/${pid}`) && !readFileSync(`/proc/${pid}/stat`, 'utf8').includes(') Z ')
    expect(lives()).toBe(true)
    parent.kill('SIGKILL')
    await vi.waitFor(() => expect(lives()).toBe(false), { timeout: 5000 })
    rmSync(dir, { recursive: true })
  })
})
