/** Against the InfluxDB that Debian carries (1.6), through its v1 write path. */
import { afterAll, beforeAll, describe, expect, it, vi } from 'vitest'
import { systemClock } from '../../edge/clock.ts'
import type { DatabaseConfig } from '../../edge/config/config.ts'
import { DatabaseOutput } from '../../edge/outputs/database-output.ts'
import type { Point } from '../../edge/outputs/output.ts'
import { forecastRow, START_MS, spliceView } from '../history/samples.ts'
import { influxServer, queryInflux } from '../support/databases.ts'
import type { RealServer } from '../support/real-server.ts'
import { serverBinary } from '../support/server-binaries.ts'
import { FIRST_MS, numbered, spooledOutput, writeThroughOutage } from './spooled-output.ts'

const COUNT = 20_000

const configOf = (server: RealServer): DatabaseConfig => ({
  url: server.url,
  dialect: 'v1',
  org: '',
  bucket: 'unwinds',
  token: undefined,
  user: undefined,
})

describe.runIf(serverBinary('influxdb'))('influxdb', () => {
  let server: RealServer

  beforeAll(async () => {
    server = await influxServer()
    await server.start()
  })
  afterAll(() => server?.remove())

  it('is waited for with a sentence while it has no such database, and loses nothing by it', async () => {
    const set = spooledOutput(configOf(server))
    set.write([0, 1, 2].map(numbered))
    await set.until(() => set.output.health().state === 'waiting')
    expect(set.output.health().trouble).toMatch(/knows no unwinds or has no v1 write path \(404\): create unwinds/)
    await queryInflux(server, 'CREATE DATABASE unwinds')
    await set.emptied()
    expect(await queryInflux(server, 'SELECT count(n) FROM signal')).toEqual([[0, 3]])
    await queryInflux(server, 'DROP DATABASE unwinds')
  })

  it('killed and away for a while in the middle, has every point once', async () => {
    await queryInflux(server, 'CREATE DATABASE unwinds')
    const set = spooledOutput(configOf(server))
    await writeThroughOutage(set, COUNT, { begin: () => server.kill('SIGKILL'), end: () => server.start() })
    const [[, count, sum] = []] = await queryInflux(server, 'SELECT count(n), sum(n) FROM signal')
    expect([count, sum]).toEqual([COUNT, (COUNT * (COUNT - 1)) / 2])
    expect(set.output.health()).toMatchObject({ sent: COUNT, refused: 0 })
    expect(set.store.deadLetters()).toEqual([])
  })

  it('that refuses a type keeps the rest: the refused are dead letters and the queue goes on', async () => {
    await queryInflux(server, 'CREATE DATABASE unwinds')
    const set = spooledOutput(configOf(server))
    const tags = { site: 'Alder Quay Works', unwind: 'coater' }
    const other = (n: number, fields: Point['fields']): Point => ({
      measurement: 'signal',
      tags,
      fields,
      tMs: FIRST_MS + n,
    })
    set.write([other(0, { tension: 1, mode: 'run' })])
    await set.emptied()
    const good = Array.from({ length: 300 }, (_, i) => other(i + 1, { tension: i }))
    // One conflict alone is named by the answer; two kinds of it are not, and the batch is halved.
    set.write([...good.slice(0, 100), other(9001, { tension: 'high' }), ...good.slice(100, 200)])
    await set.emptied()
    set.write([other(9002, { tension: 'low' }), ...good.slice(200), other(9003, { mode: 4 })])
    await set.emptied()
    const letters = set.store.deadLetters()
    expect(letters.map(({ point }) => point.tMs - FIRST_MS).sort()).toEqual([9001, 9002, 9003])
    expect(letters[0]?.reason).toBe('field tension of signal is string here and float in the database')
    expect(letters.every(({ reason }) => /string|float/.test(reason))).toBe(true)
    expect(await queryInflux(server, "SELECT count(tension) FROM signal WHERE unwind = 'coater'")).toEqual([[0, 301]])
    expect(set.output.health()).toMatchObject({ state: 'idle', waiting: 0, refused: 3, trouble: undefined })
  })

  it('shows the newest revision of a splice, two alarms of one millisecond, and all four measurements', async () => {
    await queryInflux(server, 'CREATE DATABASE unwinds')
    const { store, output: other } = spooledOutput(configOf(server))
    await other.stop()
    const site = 'Alder Quay Works'
    const output = new DatabaseOutput({ site, config: configOf(server), secrets: {}, store, clock: systemClock })
    const first = spliceView(START_MS, { outcome: 'failed', cause: 'web_break', flags: 'early, "odd"\\' })
    output.splice(first)
    output.splice({ ...first, outcome: 'good', cause: null, closed: true })
    const common = { time: first.started, unwind: 'label_press', event: 'raised', priority: 'high' } as const
    for (const alarm of ['splice_failed', 'web_break'] as const) {
      output.alarm({ ...common, alarm, value: 1, limit: null, text: 'Joint apart,\nsee "to" it' })
    }
    output.forecasts([forecastRow(START_MS)])
    output.signals([{ unwind: 'label_press', signal: 'extra.oven temp', tMs: START_MS, value: 81.5 }])
    output.start()
    await vi.waitFor(() => expect(output.health()).toMatchObject({ sent: 6, waiting: 0 }), { timeout: 20_000 })
    await output.stop()
    expect(await queryInflux(server, 'SELECT outcome, cause, flags, diameter FROM splice')).toEqual([
      [START_MS * 1000, 'good', '', 'early, "odd"\\', 130.2],
    ])
    const rows = await queryInflux(server, 'SELECT alarm, text FROM alarm')
    expect(rows.map(([, alarm, text]) => [alarm, text])).toEqual([
      ['splice_failed', 'Joint apart, see "to" it'],
      ['web_break', 'Joint apart, see "to" it'],
    ])
    expect(await queryInflux(server, 'SELECT state, diameter FROM forecast')).toEqual([
      [START_MS * 1000, 'running', 400.5],
    ])
    expect(await queryInflux(server, 'SELECT "extra.oven temp" FROM signal')).toEqual([[START_MS * 1000, 81.5]])
    expect(await queryInflux(server, 'SHOW TAG KEYS FROM splice')).toEqual([['site'], ['unwind']])
  })
})

describe.runIf(serverBinary('influxdb'))('influxdb that asks who writes', () => {
  let server: RealServer

  beforeAll(async () => {
    server = await influxServer({ INFLUXDB_HTTP_AUTH_ENABLED: 'true' })
    await server.start()
    await queryInflux(server, `CREATE USER monitor WITH PASSWORD 'right' WITH ALL PRIVILEGES`)
    await queryInflux(server, 'CREATE DATABASE unwinds', 'monitor:right')
  })
  afterAll(() => server?.remove())

  it('refuses a wrong password: the queue waits with a sentence; the right one delivers', async () => {
    const config = { ...configOf(server), user: { name: 'monitor', password: undefined } }
    const wrong = spooledOutput(config, { password: 'wrong' })
    wrong.write([numbered(1)])
    await wrong.until(() => wrong.output.health().state === 'waiting')
    expect(wrong.output.health().trouble).toMatch(/refuses the user, password or token \(401\)/)
    expect(wrong.output.health().waiting).toBe(1)
    const right = spooledOutput(config, { password: 'right' })
    right.write([numbered(2)])
    await right.emptied()
    expect(await queryInflux(server, 'SELECT count(n) FROM signal', 'monitor:right')).toEqual([[0, 1]])
  })
})
