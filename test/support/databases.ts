/** The databases that Debian carries, ready to start, and questions to them. */
import { writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { type RealServer, realServer } from './real-server.ts'

/** InfluxDB 1.6: written by its v1 path. */
export const influxServer = (env: Record<string, string> = {}): Promise<RealServer> =>
  realServer({
    name: 'influxdb',
    args: (folder, port) => ['run', '-config', influxConfig(folder, port)],
    env,
    readyPath: '/ping',
  })

function influxConfig(folder: string, port: number): string {
  const path = join(folder, 'influxdb.conf')
  const text = [
    'reporting-disabled = true',
    'bind-address = "127.0.0.1:0"',
    '[meta]',
    `dir = "${join(folder, 'meta')}"`,
    '[data]',
    `dir = "${join(folder, 'data')}"`,
    `wal-dir = "${join(folder, 'wal')}"`,
    '[http]',
    `bind-address = "127.0.0.1:${port}"`,
    'log-enabled = false',
  ]
  writeFileSync(path, text.join('\n'))
  return path
}

/** The rows of one InfluxQL statement on the database `unwinds`; times in µs. */
export async function queryInflux(server: RealServer, text: string, user?: string): Promise<unknown[][]> {
  const headers: Record<string, string> = user ? { authorization: `Basic ${btoa(user)}` } : {}
  const body = new URLSearchParams({ q: text, db: 'unwinds', epoch: 'u' })
  const answer = await fetch(`${server.url}/query`, { method: 'POST', body, headers })
  const { results } = (await answer.json()) as { results: { error?: string; series?: { values: unknown[][] }[] }[] }
  if (results[0]?.error) throw new Error(results[0].error)
  return results[0]?.series?.[0]?.values ?? []
}

/** victoria-metrics: written by its v2 path. */
export const victoriaServer = (): Promise<RealServer> =>
  realServer({
    name: 'victoria-metrics',
    args: (folder, port) => [
      `-storageDataPath=${folder}/data`,
      `-httpListenAddr=127.0.0.1:${port}`,
      // What is sent twice is kept twice otherwise.
      '-dedup.minScrapeInterval=1ms',
      '-memory.allowedBytes=200MB',
    ],
    readyPath: '/health',
  })

/** Times (ms) of one series by unwind, in order. */
export async function victoriaTimes(
  server: RealServer,
  metric: string,
  fromMs: number,
): Promise<Map<string, number[]>> {
  await fetch(`${server.url}/internal/force_flush`)
  const answer = await fetch(`${server.url}/api/v1/export?match[]=${metric}&start=${fromMs / 1000}`)
  const lines = (await answer.text())
    .trim()
    .split('\n')
    .filter((line) => line !== '')
  return new Map(
    lines.map((line) => {
      const series = JSON.parse(line) as { metric: Record<string, string>; timestamps: number[] }
      return [series.metric['unwind'] ?? '', series.timestamps]
    }),
  )
}
