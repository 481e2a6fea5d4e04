/** How the monitor starts, or doesn't: as the process that a person or a service manager starts. */
import { execFile } from 'node:child_process'
import { once } from 'node:events'
import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { type AddressInfo, createServer } from 'node:net'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { DatabaseSync } from 'node:sqlite'
import { afterAll, describe, expect, test } from 'vitest'
import { systemClock } from '../../edge/clock.ts'
import { DEFAULT_KEEP, openStore } from '../../edge/history/sqlite-store.ts'
import { START_MS, spliceView } from '../history/samples.ts'
import { startDaemonProcess, until } from '../support/daemon-process.ts'
import { configText } from '../unwinds/bench.ts'

const MAIN = join(import.meta.dirname, '../../edge/main.ts')
const root = mkdtempSync(join(tmpdir(), 'lastwrap-start-'))
afterAll(() => rmSync(root, { recursive: true, force: true }))

const folder = (): string => mkdtempSync(join(root, 'case-'))

function configIn(dir: string, text = configText()): string {
  const file = join(dir, 'plant.yaml')
  writeFileSync(file, text)
  return file
}

/** Runs to its end; its sources are away, which never ends it. */
function start(words: readonly string[], cwd?: string): Promise<{ status: number; said: string[] }> {
  return new Promise((resolve) => {
    execFile(process.execPath, [MAIN, 'start', ...words], { timeout: 50_000, cwd }, (error, stdout, stderr) =>
      resolve({
        status: error === null ? 0 : Number(error.code ?? -1),
        said: `${stdout}${stderr}`.trim().split('\n'),
      }),
    )
  })
}

describe.concurrent('ends with status 2 and says why', () => {
  test('where its port is taken', async ({ expect }) => {
    const other = createServer().listen(0, '127.0.0.1')
    await once(other, 'listening')
    const { port } = other.address() as AddressInfo
    const dir = folder()
    const ended = await start(['--config', configIn(dir), '--data', join(dir, 'data'), '--port', String(port)])
    other.close()
    expect(ended.status).toBe(2)
    expect(ended.said).toEqual([
      `Another program listens on 127.0.0.1:${port} already: stop it, or set another port in web.listen or with --port.`,
    ])
  })

  test('where its data folder can not be made', async ({ expect }) => {
    const dir = folder()
    writeFileSync(join(dir, 'file'), '')
    const ended = await start(['--config', configIn(dir), '--data', join(dir, 'file/data'), '--port', '0'])
    expect(ended.status).toBe(2)
    expect(ended.said).toHaveLength(1)
    expect(ended.said[0]).toMatch(/^The data folder .*file\/data can't be made \(.+\): name one .* --data\.$/)
  })

  test('where the system says of its data folder that it has no parent, which would else hang', async ({ expect }) => {
    const dir = folder()
    for (const words of [['--config', configIn(dir)], []]) {
      const ended = await start([...words, '--data', '/proc/lastwrap/data', '--port', '0'])
      expect(ended.status).toBe(2)
      expect(ended.said).toEqual([
        expect.stringMatching(/^The data folder \/proc\/lastwrap\/data can't be made \(.+\): name one .* --data\.$/),
      ])
    }
  })

  test.each([
    ['the demo', 'demo-data', false],
    ['a plant', 'data', true],
  ] as const)('where the folder of %s can not be made: the two never share one', async (_, name, hasConfig) => {
    const dir = folder()
    writeFileSync(join(dir, name), '')
    const ended = await start([...(hasConfig ? ['--config', configIn(dir)] : []), '--port', '0'], dir)
    expect(ended.status).toBe(2)
    expect(ended.said[0]).toMatch(new RegExp(`^The data (folder|directory) \\S*/${name} can`))
  })

  test('where another one runs in its data folder, which then gives it back', async ({ expect }) => {
    const dir = folder()
    const data = join(dir, 'data')
    const words = ['--config', configIn(dir), '--data', data, '--port', '0']
    const first = await startDaemonProcess(configIn(dir), data)
    const ended = await start(words)
    expect(ended.status).toBe(2)
    expect(ended.said).toEqual([
      expect.stringMatching(
        /^The data folder .*\/data is in use by another Lastwrap \(process \d+\): stop that one, or /,
      ),
    ])
    await first.end('SIGTERM')
    // What a killed one leaves behind holds nobody: no such process, or one that is something else.
    writeFileSync(join(data, 'lock'), '1\n')
    const again = await startDaemonProcess(configIn(dir), data)
    await again.end('SIGTERM')
  })

  test('where nothing can be written in its data folder, whoever it runs as', async ({ expect }) => {
    const ended = await start(['--config', configIn(folder()), '--data', '/proc', '--port', '0'])
    expect(ended.status).toBe(2)
    expect(ended.said).toHaveLength(1)
    expect(ended.said[0]).toMatch(/^The data folder \/proc can't be written \(.+\): name one that can with --data\.$/)
  })

  test("where its history is another program's", async ({ expect }) => {
    const dir = folder()
    mkdirSync(join(dir, 'data'))
    const other = new DatabaseSync(join(dir, 'data/history.sqlite'))
    other.exec('CREATE TABLE recipes (name TEXT)')
    other.close()
    const ended = await start(['--config', configIn(dir), '--data', join(dir, 'data'), '--port', '0'])
    expect(ended.status).toBe(2)
    expect(ended.said).toHaveLength(1)
    expect(ended.said[0]).toMatch(/is a database of another program/)
  })

  test('where its config is wrong: one line for every fault, with its place', async ({ expect }) => {
    const dir = folder()
    const text = configText()
      .replace('core_diameter: 100 mm', 'core_diameter: 100')
      .replace('    name: coater', '    nam: coater')
    const ended = await start(['--config', configIn(dir, text), '--data', join(dir, 'data'), '--port', '0'])
    expect(ended.status).toBe(2)
    expect(ended.said).toHaveLength(2)
    expect(ended.said[0]).toMatch(/plant\.yaml:\d+:\d+: unwinds\.press\.roll\.core_diameter: /)
    expect(ended.said[1]).toMatch(/plant\.yaml:\d+:\d+: unwinds\.coater\.nam.*name/)
  })

  test('where there is no config', async ({ expect }) => {
    const ended = await start(['--config', join(root, 'none.yaml'), '--data', join(root, 'none')])
    expect(ended).toEqual({
      status: 2,
      said: [`There is no file ${join(root, 'none.yaml')}: give the path of the config with --config.`],
    })
  })
})

test('with sources that are away it serves, says so, starts whatever its snapshots hold, and ends cleanly', async () => {
  const dir = folder()
  const config = configIn(dir)
  const data = join(dir, 'data')
  const first = await startDaemonProcess(config, data)
  expect(await first.unwind('press')).toMatchObject({
    state: 'unknown',
    reason: expect.stringMatching(
      /^(Waiting for the first values|No value of line_speed \(.+\) from press_gateway)\.$/,
    ),
  })
  await until(
    'each source says why',
    8000,
    async () => {
      const { sources } = await first.health()
      return sources.length === 2 && sources.every(({ trouble }) => trouble?.startsWith('Nothing answers at'))
    },
    () => first.health(),
  )
  expect(await first.end('SIGTERM')).toMatchObject({ status: 0, signal: null })
  // A splice that the monitor did not live to see the end of.
  const history = openStore(join(data, 'history.sqlite'), { clock: systemClock, keep: DEFAULT_KEEP })
  const left = spliceView(START_MS, { unwind: 'press', id: `press-${START_MS}` })
  history.putSplice(left)
  history.close()
  // What a person, a disk or another version may have left there.
  const store = new DatabaseSync(join(data, 'history.sqlite'))
  const broken = {
    'unwind:press': '{"version":1,"signals":7}',
    'unwind:coater': '[',
    site: '{"alarms":5}',
    traces: '{}',
  }
  for (const [key, text] of Object.entries(broken)) {
    const { changes } = store.prepare('UPDATE snapshots SET data = ? WHERE key = ?').run(text, key)
    expect(Number(changes), key).toBe(1)
  }
  store.close()
  const second = await startDaemonProcess(config, data)
  try {
    expect((await second.health()).store.trouble).toBeNull()
    expect(await second.unwind('press')).toMatchObject({ state: 'unknown' })
    const [finished] = await second.splices('press')
    expect(finished).toMatchObject({ id: left.id, closed: true, details: { cut_short: left.started } })
    const told = second.lines.filter((line) => /can't be restored/.test(line))
    expect(
      told.some((line) =>
        /^the calculation of press failed.*its snapshot can't be restored \(.+\), it starts anew$/.test(line),
      ),
    ).toBe(true)
    for (const key of ['site', 'traces']) {
      expect(
        told.some((line) => line.startsWith(`what was known of ${key} can't be restored (`)),
        key,
      ).toBe(true)
    }
  } finally {
    const { status, afterMs } = await second.end('SIGTERM')
    expect(status).toBe(0)
    expect(afterMs).toBeLessThan(30_000)
  }
}, 40_000)

test('two changes of the config in short order leave one connection a source and the last word', async () => {
  const dir = folder()
  const config = configIn(dir)
  const daemon = await startDaemonProcess(config, join(dir, 'data'))
  try {
    for (const stale of ['11 s', '12 s', '13 s', '14 s']) {
      configIn(
        dir,
        configText()
          .replaceAll('stale_after: 10 s', `stale_after: ${stale}`)
          .replace('name: press', `name: press ${stale}`),
      )
      daemon.process.kill('SIGHUP')
      await until('it is taken up', 5000, async () => (await daemon.unwind('press')).name === `press ${stale}`)
    }
    await until(
      'all are applied',
      10_000,
      () => daemon.lines.filter((line) => line.startsWith('config applied')).length >= 4,
    )
    expect((await daemon.health()).sources.map(({ name }) => name).sort()).toEqual(['hall_broker', 'press_gateway'])
    // An editor that saves by renaming leaves no file for a moment.
    rmSync(config)
    daemon.process.kill('SIGHUP')
    const refusal = await until('the refusal', 5000, () => daemon.lines.find((line) => /was not applied/.test(line)))
    expect(refusal).toBe(
      `the changed config was not applied, the last good one runs on: There is no file ${config}: give the path of the config with --config.`,
    )
  } finally {
    expect(await daemon.end('SIGTERM')).toMatchObject({ status: 0 })
  }
}, 40_000)
