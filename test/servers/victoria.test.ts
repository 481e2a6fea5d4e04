/**
 * Against the victoria-metrics that Debian carries, through its Influx-compatible v2 path.
 *
 * It keeps what it was last sent in memory for a second or so, so it is ended with SIGTERM here: what a kill loses there
 * was acknowledged, and is the database's to answer for. It keeps a point that is sent twice as two samples, unless
 * `-dedup.minScrapeInterval` is set, as it has to be in production.
 */
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import type { DatabaseConfig } from '../../edge/config/config.ts'
import { type RealServer, realServer } from '../support/real-server.ts'
import { serverBinary } from '../support/server-binaries.ts'
import { FIRST_MS, spooledOutput, writeThroughOutage } from './spooled-output.ts'

const COUNT = 20_000

describe.runIf(serverBinary('victoria-metrics'))('victoria-metrics', () => {
  let server: RealServer

  beforeAll(async () => {
    server = await realServer({
      name: 'victoria-metrics',
      args: (folder, port) => [
        `-storageDataPath=${folder}/data`,
        `-httpListenAddr=127.0.0.1:${port}`,
        '-dedup.minScrapeInterval=1ms',
        '-memory.allowedBytes=200MB',
      ],
      readyPath: '/health',
    })
    await server.start()
  })
  afterAll(() => server?.remove())

  it('ended and away for a while in the middle, has every point once', async () => {
    const config: DatabaseConfig = {
      url: server.url,
      dialect: 'v2',
      org: 'works',
      bucket: 'unwinds',
      token: undefined,
      user: undefined,
    }
    const set = spooledOutput(config)
    await writeThroughOutage(set, COUNT, { begin: () => server.kill('SIGTERM'), end: () => server.start() })
    await fetch(`${server.url}/internal/force_flush`)
    const answer = await fetch(`${server.url}/api/v1/export?match[]=signal_n&start=${FIRST_MS / 1000 - 60}`)
    const series = (await answer.text())
      .trim()
      .split('\n')
      .map((line) => JSON.parse(line) as { metric: Record<string, string>; values: number[]; timestamps: number[] })
    expect(series.map(({ metric }) => metric['unwind'])).toEqual(['label_press'])
    const byTime = new Map(series[0]?.timestamps.map((tMs, i) => [tMs, series[0]?.values[i]]))
    expect(series[0]?.timestamps).toHaveLength(COUNT)
    expect(byTime.size).toBe(COUNT)
    expect([...byTime].every(([tMs, n]) => tMs === FIRST_MS + (n ?? -1) * 100)).toBe(true)
    expect(set.output.health()).toMatchObject({ sent: COUNT, refused: 0 })
  })
})
