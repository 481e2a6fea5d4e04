/** The OPC UA source, browsing and probing against a real server in a process of its own. */
import { mkdtemp, rename, rm } from 'node:fs/promises'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterAll, beforeAll, describe, expect, test } from 'vitest'
import { browse } from '../../edge/browse.ts'
import type { OpcUaSourceConfig, TagRef, UnwindConfig } from '../../edge/config/config.ts'
import { probeSources } from '../../edge/probe.ts'
import { createOpcUaSource } from '../../edge/sources/opcua.ts'
import type { Source } from '../../edge/sources/source.ts'
import { type OpcUaServerProcess, startOpcUaServer } from '../support/opcua-server.ts'
import { RecordingListener, testPorts } from '../support/recording-listener.ts'
import { startTcpProxy, type TcpProxy } from '../support/tcp-proxy.ts'

const USER = { name: 'monitor', password: 'only-reads' }
const KEEP_ALIVE_S = 2
const tag = (name: string, valuePath?: string): TagRef => ({
  source: 'plc',
  address: name.includes('=') ? name : `ns=1;s=${name}`,
  valuePath,
  timePath: undefined,
})

let folder: string
let server: OpcUaServerProcess
const open: Source[] = []

beforeAll(async () => {
  process.env['LASTWRAP_TEST_PLC'] = USER.password
  process.env['LASTWRAP_TEST_WRONG'] = 'guessed'
  folder = await mkdtemp(join(tmpdir(), 'lastwrap-opcua-'))
  server = await startOpcUaServer({ folder: join(folder, 'server'), user: USER })
})
afterAll(async () => {
  await Promise.all(open.map((source) => source.stop()))
  await server?.stop()
  await rm(folder, { recursive: true, force: true })
})

const configOf = (endpoint: string, more: Partial<OpcUaSourceConfig> = {}): OpcUaSourceConfig => ({
  kind: 'opcua',
  name: 'plc',
  endpoint,
  security: { policy: 'Basic256Sha256', mode: 'sign_and_encrypt' },
  user: { name: USER.name, password: { env: 'LASTWRAP_TEST_PLC' } },
  samplingMs: 100,
  publishingMs: 200,
  keepAliveS: KEEP_ALIVE_S,
  staleAfterS: 10,
  time: 'source',
  ...more,
})

async function listen(config: OpcUaSourceConfig, tags: TagRef[], log: string[] = []) {
  const source = createOpcUaSource(config, tags, testPorts(folder, log))
  open.push(source)
  const heard = new RecordingListener()
  await source.start(heard)
  return { source, heard }
}

const movesIn = (trouble: string | undefined): [string, string] => {
  const match = /move (\S+) to (\S+) if/.exec(trouble ?? '')
  return [match?.[1] ?? '', match?.[2] ?? '']
}

/** What a person does after reading the sentence; nothing where it was done before. */
async function trustServer(): Promise<void> {
  const { source, heard } = await listen(configOf(server.endpoint), [])
  const health = await heard.until(
    'an answer',
    () => (heard.health?.state === 'refused' || heard.health?.state === 'connected') && heard.health,
  )
  await source.stop()
  const [from, to] = movesIn(health.trouble)
  if (from !== '') await rename(from, to)
}

describe('trust', () => {
  test('an unknown server is refused with the file to move; once a person moved it, it connects', async () => {
    const { source, heard } = await listen(configOf(server.endpoint), [tag('Press.LineSpeed')])
    const refused = await heard.until('refusal', () => heard.health?.state === 'refused' && heard.health)
    expect(refused.trouble).toContain('certificate that nobody has trusted yet')
    expect(refused.trouble).toContain("a person's decision")
    const [from, to] = movesIn(refused.trouble)
    expect(from).toContain(join(folder, 'certificates/opcua/rejected'))
    expect(to).toContain(join(folder, 'certificates/opcua/trusted/certs'))
    expect(heard.samples).toEqual([])
    await rename(from, to)
    const sample = await heard.until('a value', () => heard.of('ns=1;s=Press.LineSpeed')[0])
    expect(sample).toMatchObject({ source: 'plc', value: 300, quality: 'good' })
    expect(source.health()).toMatchObject({ state: 'connected', trouble: undefined, clockOffsetMs: 0 })
    await source.stop()
    expect(await server.tell({ order: 'sessions' })).toBe(0)
  })

  test('a wrong password is one clear sentence', async () => {
    const { source, heard } = await listen(
      configOf(server.endpoint, { user: { name: USER.name, password: { env: 'LASTWRAP_TEST_WRONG' } } }),
      [tag('Press.LineSpeed')],
    )
    const refused = await heard.until('refusal', () => heard.health?.state === 'refused' && heard.health)
    expect(refused.trouble).toBe(
      `The server plc (${server.endpoint}) refuses the user name or password: correct them under sources.plc.user, or allow the user at the server.`,
    )
    await source.stop()
  })

  test('a security that the server does not offer is answered with what it offers', async () => {
    const { source, heard } = await listen(
      configOf(server.endpoint, { security: { mode: 'none', policy: 'None' } }),
      [],
    )
    const refused = await heard.until('refusal', () => heard.health?.state === 'refused' && heard.health)
    expect(refused.trouble).toContain('does not offer mode none')
    expect(refused.trouble).toContain('Basic256Sha256, sign_and_encrypt')
    await source.stop()
  })

  test('nothing there is no error, only a state', async () => {
    const { source, heard } = await listen(configOf('opc.tcp://127.0.0.1:9'), [tag('Press.LineSpeed')])
    const state = await heard.until('a sentence', () => heard.health?.trouble !== undefined && heard.health)
    expect(state).toMatchObject({ state: 'connecting' })
    expect(state.trouble).toContain('Nothing answers at plc')
    await source.stop()
  })
})

describe('values', () => {
  beforeAll(trustServer)

  test('the units that the server itself states come with them, where it states any', async () => {
    const { source, heard } = await listen(configOf(server.endpoint), [tag('Festoon.Position'), tag('Press.LineSpeed')])
    const units = (): (string | undefined)[] => source.health().tags.map(({ statedUnit }) => statedUnit)
    expect(await heard.until('units', () => units()[0] !== undefined && units())).toEqual(['%', undefined])
  })

  test('types, unknown nodes, arrays, quality and text, each told apart', async () => {
    const tags = [
      tag('Press.LineSpeed'),
      tag('Unwind.Ready'),
      tag('Unwind.RollId'),
      tag('Unwind.Material'),
      tag('Press.Negative'),
      tag('Drives.Speeds', '[2]'),
      tag('Drives.Speeds'),
      tag('Press.Nope'),
      tag('rubbish=1'),
      tag('ns=0;i=85'),
    ]
    const { source, heard } = await listen(configOf(server.endpoint), tags)
    await heard.until('all values', () => heard.samples.length >= 6)
    const lastOf = (name: string) => heard.of(name).at(-1)?.value
    expect(lastOf('ns=1;s=Unwind.Ready')).toBe(true)
    expect(lastOf('ns=1;s=Unwind.RollId')).toBe('R-0012')
    expect(lastOf('ns=1;s=Unwind.Material')).toBe('coated board')
    expect(lastOf('ns=1;s=Press.Negative')).toBe(-2)
    expect(lastOf('ns=1;s=Drives.Speeds#[2]')).toBe(3)
    const health = new Map(source.health().tags.map((each) => [each.tag.address + (each.tag.valuePath ?? ''), each]))
    expect(health.get('ns=1;s=Drives.Speeds')).toMatchObject({ ignored: 1, samples: 0 })
    expect(health.get('ns=1;s=Drives.Speeds')?.trouble).toContain('is an array')
    expect(health.get('ns=1;s=Press.Nope')?.trouble).toContain('has no variable ns=1;s=Press.Nope')
    expect(health.get('ns=1;s=Press.Nope')?.trouble).toContain('lastwrap browse')
    expect(health.get('rubbish=1')?.trouble).toContain('is no node id')
    expect(health.get('ns=0;i=85')?.trouble).toContain('is no variable')
    expect(source.health().state).toBe('connected')

    const address = 'ns=1;s=Press.LineSpeed'
    await server.tell({ order: 'set', name: 'Press.LineSpeed', value: 250, status: 'UncertainLastUsableValue' })
    expect(
      await heard.until('uncertain', () => heard.of(address).find((each) => each.quality === 'uncertain')),
    ).toMatchObject({ value: 250 })
    await server.tell({ order: 'set', name: 'Press.LineSpeed', value: 0, status: 'BadSensorFailure' })
    expect(await heard.until('bad', () => heard.of(address).find((each) => each.quality === 'bad'))).toMatchObject({
      value: undefined,
    })
    expect(source.health().tags[0]?.trouble).toContain('BadSensorFailure')
    await server.tell({ order: 'set', name: 'Press.LineSpeed', value: Number.NaN })
    await heard.until('NaN ignored', () => (source.health().tags[0]?.ignored ?? 0) > 0)
    await server.tell({ order: 'set', name: 'Press.LineSpeed', value: 300 })
    await heard.until('good again', () => heard.of(address).at(-1)?.value === 300)
    expect(source.health().tags[0]).toMatchObject({ quality: 'good', trouble: undefined })

    // A node that appears later (a PLC that loads its program) is found without a restart.
    await server.tell({ order: 'add', name: 'Press.Nope' })
    await heard.until('the late node', () => heard.of('ns=1;s=Press.Nope')[0]?.value === 1)
    await source.stop()
  })

  test('a PLC clock that is two hours behind is understood within a few seconds of changes', async () => {
    const { source, heard } = await listen(configOf(server.endpoint), [tag('Press.Counter')])
    const behindMs = 2 * 3_600_000
    await heard.until('first value', () => heard.samples[0])
    // Source stamps only: the server's own clock is right, as with a gateway in front of an old PLC.
    for (
      let count = 1;
      source.health().clockOffsetMs === 0 || source.health().clockOffsetMs === undefined;
      count += 1
    ) {
      expect(count).toBeLessThan(30)
      const seen = heard.samples.length
      await server.tell({ order: 'set', name: 'Press.Counter', value: count, sourceTMs: Date.now() - behindMs })
      await heard.until('the change', () => heard.samples.length > seen)
    }
    expect(Math.abs((source.health().clockOffsetMs ?? 0) + behindMs)).toBeLessThan(1000)
    await server.tell({ order: 'set', name: 'Press.Counter', value: 99, sourceTMs: Date.now() - behindMs })
    const last = await heard.until('the last', () => heard.samples.find((each) => each.value === 99))
    expect(Math.abs(last.tMs - last.arrivalTMs)).toBeLessThan(1000)
    await source.stop()
  })
})

describe('faults', () => {
  let proxy: TcpProxy
  let plc: OpcUaServerProcess
  beforeAll(async () => {
    await trustServer()
    plc = await startOpcUaServer({ folder: join(folder, 'server'), user: USER })
    proxy = await startTcpProxy(plc.port)
  })
  afterAll(async () => {
    await proxy?.close()
    await plc?.stop()
  })

  test('a cut of 10 s loses no value', async () => {
    const log: string[] = []
    const tags = [tag('Press.Counter'), tag('Press.LineSpeed')]
    const { source, heard } = await listen(configOf(`opc.tcp://127.0.0.1:${proxy.port}`), tags, log)
    const counter = 'ns=1;s=Press.Counter'
    await heard.until('first values', () => heard.samples.length >= 2)
    await plc.tell({ order: 'count', name: 'Press.Counter', everyMs: 250 })
    await heard.until('counting', () => Number(heard.of(counter).at(-1)?.value) >= 4)
    const cutTMs = Date.now()
    proxy.cut()
    const lost = await heard.until('loss', () => heard.samples.find((each) => each.quality === 'bad'))
    expect(lost.tMs - cutTMs).toBeLessThan(1500 * KEEP_ALIVE_S)
    expect(heard.health).toMatchObject({ state: 'lost' })
    expect(
      heard.samples
        .filter((each) => each.quality === 'bad')
        .map((each) => each.address)
        .sort(),
    ).toEqual([counter, 'ns=1;s=Press.LineSpeed'])
    await new Promise((resolve) => setTimeout(resolve, cutTMs + 10_000 - Date.now()))
    proxy.plugIn()
    await heard.until('the line speed again', () => heard.of('ns=1;s=Press.LineSpeed').at(-1)?.quality === 'good')
    await plc.tell({ order: 'stop_counting' })
    // Messages that are sent again may come after newer ones.
    const newest = Math.max(...heard.of(counter).map((each) => Number(each.value ?? 0)))
    expect(newest).toBeGreaterThan(40)
    const missing = () => {
      const seen = new Set(heard.of(counter).map((each) => each.value))
      return Array.from({ length: newest }, (_, index) => index + 1).filter((count) => !seen.has(count))
    }
    await heard
      .until('every count', () => missing().length === 0, 3000)
      .catch((thrown) => {
        throw new Error(`${thrown.message} Missing: ${missing()}. ${log.join('\n')}`)
      })
    // Late values carry their own time.
    const late = heard.of(counter).filter((each) => each.arrivalTMs - each.tMs > 2000)
    expect(late.length).toBeGreaterThan(20)
    await source.stop()
  })

  test('a killed and restarted PLC is lost in time and comes back by itself', async () => {
    const { source, heard } = await listen(configOf(plc.endpoint), [tag('Press.LineSpeed'), tag('Press.Nope')])
    const address = 'ns=1;s=Press.LineSpeed'
    await heard.until('first value', () => heard.of(address)[0])
    const killedTMs = Date.now()
    plc.kill('SIGKILL')
    const lost = await heard.until('loss', () => heard.of(address).find((each) => each.quality === 'bad'))
    expect(lost.tMs - killedTMs).toBeLessThan(1500 * KEEP_ALIVE_S)
    plc = await startOpcUaServer({ folder: join(folder, 'server'), port: plc.port, user: USER })
    const startedTMs = Date.now()
    const back = await heard.until('return', () =>
      heard.of(address).find((each) => each.tMs > lost.tMs && each.value === 300),
    )
    // It tries again every few seconds; a busy machine takes its time over a secure channel.
    expect(back.arrivalTMs - startedTMs).toBeLessThan(20_000)
    expect(heard.health).toMatchObject({ state: 'connected' })
    expect(source.health().tags[1]?.trouble).toContain('has no variable')
    await plc.tell({ order: 'set', name: 'Press.LineSpeed', value: 123 })
    await heard.until('live values', () => heard.of(address).at(-1)?.value === 123)
    await source.stop()
  })

  test('a frozen PLC is noticed in time, and its values hold again when it goes on', async () => {
    const { source, heard } = await listen(configOf(plc.endpoint), [tag('Unwind.RollId')])
    await heard.until('first value', () => heard.samples[0])
    const frozenTMs = Date.now()
    plc.kill('SIGSTOP')
    const lost = await heard.until('loss', () => heard.samples.find((each) => each.quality === 'bad'))
    expect(lost.tMs - frozenTMs).toBeLessThan(1500 * KEEP_ALIVE_S)
    plc.kill('SIGCONT')
    const back = await heard.until('return', () => heard.samples.find((each) => each.tMs > lost.tMs))
    expect(back).toMatchObject({ value: 'R-0012', quality: 'good' })
    const stopTMs = Date.now()
    await source.stop()
    expect(Date.now() - stopTMs).toBeLessThan(20_000)
    expect(source.health().state).toBe('stopped')
  })
})

describe('looking before mapping', () => {
  beforeAll(trustServer)

  test('browse lists variables with type, unit, value and quality, and finds words', async () => {
    const options = {
      endpoint: server.endpoint,
      user: { name: USER.name, password: { env: 'LASTWRAP_TEST_PLC' } },
      ports: testPorts(folder),
    }
    const all = await browse(options)
    expect(all.isCut).toBe(false)
    expect(all.rows.find((row) => row.address === 'ns=1;s=Festoon.Position')).toEqual({
      address: 'ns=1;s=Festoon.Position',
      valuePath: undefined,
      path: 'AlderQuay/Festoon.Position',
      type: 'Double',
      unit: '%',
      value: '25',
      quality: 'good',
    })
    expect(all.rows.find((row) => row.address === 'ns=1;s=Drives.Speeds')).toMatchObject({
      type: 'Double[3]',
      value: '[1, 2, 3]',
    })
    expect(all.rows.find((row) => row.address === 'ns=1;s=Press.Negative')).toMatchObject({
      type: 'Int64',
      value: '-2',
    })
    const found = await browse({ ...options, search: 'press SPEED' })
    expect(found.rows.map((row) => row.address)).toEqual(['ns=1;s=Press.LineSpeed'])
    await expect(browse({ ...options, endpoint: 'http://127.0.0.1' })).rejects.toThrow('opc.tcp://')
  })

  test('check says which source and tag answered what', async () => {
    const signals = [tag('Unwind.Diameter'), tag('Press.Missing')].map((each) => ({ tag: each }))
    const probes = await probeSources(
      {
        sources: { plc: configOf(server.endpoint), gone: configOf('opc.tcp://127.0.0.1:9', { name: 'gone' }) },
        unwinds: [{ signals } as unknown as UnwindConfig],
      },
      { timeoutMs: 10_000, ports: testPorts(folder) },
    )
    expect(probes).toMatchObject([
      {
        name: 'plc',
        isReachable: true,
        trouble: undefined,
        tags: [
          { quality: 'good', value: '812.5', trouble: undefined },
          { quality: 'bad', value: undefined },
        ],
      },
      { name: 'gone', isReachable: false, tags: [] },
    ])
    expect(probes[0]?.tags[1]?.trouble).toContain('has no variable ns=1;s=Press.Missing')
    expect(probes[1]?.trouble).toContain('Nothing answers at gone')
  })
})
