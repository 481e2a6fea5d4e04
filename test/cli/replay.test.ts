/** What `replay` leaves behind and says at its end. */
import { type ChildProcess, spawn } from 'node:child_process'
import { once } from 'node:events'
import { existsSync, mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterAll, describe, expect, it, vi } from 'vitest'
import { replayVerb } from '../../edge/cli/replay.ts'
import { simulate } from '../truth/line-simulator.ts'
import { recordingCsv } from '../truth/recording-file.ts'
import { REQUIRED } from '../truth/scenario.ts'

const folder = mkdtempSync(join(tmpdir(), 'lastwrap-replay-'))
afterAll(() => rmSync(folder, { recursive: true, force: true }))
const config = join(folder, 'plant.yaml')
const simulation = simulate({ signals: REQUIRED, durationS: 20 })
writeFileSync(config, simulation.config)
const recordingOf = (name: string, text: string): string => {
  writeFileSync(join(folder, name), text)
  return join(folder, name)
}

it.each([
  ['time,tag,value\n', 'has a header and 0 rows'],
  ['time,tag,value\n2026-03-02T06:00:00Z,another,1\n', 'holds none of the tags'],
  ['when,tag,value\n', 'lacks the column "time"'],
])('leaves nothing of a recording that gives nothing: %j', async (text, reason) => {
  const recording = recordingOf('nothing.csv', text)
  const out = join(folder, 'proof')
  await expect(replayVerb({ config, recording, out, every: 1 })).rejects.toThrow(reason)
  expect(existsSync(out)).toBe(false)
  // Nor does it cost the results of the last one.
  mkdirSync(out)
  writeFileSync(join(out, 'splices.csv'), 'of yesterday')
  await expect(replayVerb({ config, recording, out, every: 1 })).rejects.toThrow(reason)
  expect(readdirSync(out)).toEqual(['splices.csv'])
  expect(readFileSync(join(out, 'splices.csv'), 'utf8')).toBe('of yesterday')
  rmSync(out, { recursive: true })
})

it('says in one line what it read and where the results are', async () => {
  const recording = recordingOf('short.csv', recordingCsv(simulation.rows))
  const out = join(folder, 'results')
  const log = vi.spyOn(console, 'log').mockImplementation(() => undefined)
  await replayVerb({ config, recording, out, every: 1 })
  const lines = log.mock.calls.map(([line]) => String(line))
  log.mockRestore()
  expect(lines).toHaveLength(1)
  expect(lines[0]).toMatch(
    /^600 rows read from \S+Z to \S+Z: 0 splices, \d+ alarm events?; the results are in .*results\.$/,
  )
  expect(readdirSync(out).toSorted()).toEqual(['alarms.csv', 'forecast.csv', 'splices.csv'])
})

it('says why a file can not be read without the path twice', async () => {
  const recording = join(folder, 'none.csv')
  await expect(replayVerb({ config, recording, out: folder, every: 1 })).rejects.toThrow(
    `The recording ${recording} can't be read (no such file or directory): name a CSV file`,
  )
})

describe('a replay that does not come to its end', () => {
  const MAIN = join(import.meta.dirname, '../../edge/main.ts')
  const whole = simulate({ signals: REQUIRED, durationS: 3600 })
  const recording = recordingOf('hour.csv', recordingCsv(whole.rows))
  const out = join(folder, 'half')
  const unfinished = () => (existsSync(out) ? readdirSync(out).filter((name) => name.endsWith('.part')) : [])
  const children: ChildProcess[] = []
  afterAll(() => {
    for (const child of children) child.kill('SIGKILL')
  })

  /** Half-way through: its files are there and rows are in them. */
  async function begun(): Promise<{ child: ChildProcess; said: string[]; files: string[] }> {
    const before = unfinished()
    const child = spawn(process.execPath, [MAIN, 'replay', '--config', config, '--recording', recording, '--out', out])
    children.push(child)
    const said: string[] = []
    for (const stream of [child.stdout, child.stderr]) stream.on('data', (piece: Buffer) => said.push(String(piece)))
    const own = () => unfinished().filter((name) => !before.includes(name))
    await vi.waitFor(() => expect(own()).toHaveLength(3), { timeout: 30_000, interval: 5 })
    return { child, said, files: own() }
  }

  async function ended({ child }: { child: ChildProcess }, signal: NodeJS.Signals): Promise<unknown[]> {
    const gone = once(child, 'exit')
    child.kill(signal)
    return gone
  }

  it('leaves nothing where a person ends it', async () => {
    const one = await begun()
    // Before it listens a signal ends it at once; its files are there only after that.
    expect(await ended(one, 'SIGINT')).toEqual([1, null])
    expect(one.said.join('')).toContain(`The replay was ended early: ${out} is as it was before.`)
    expect(existsSync(out)).toBe(false)
  })

  it('has its files removed by the next one where it was killed, and not while it still runs', async () => {
    const killed = await begun()
    await ended(killed, 'SIGKILL')
    const running = await begun()
    expect(running.said.join('')).toContain(
      `Removed what a replay that was killed left in ${out}: ${killed.files.toSorted().join(', ')}.`,
    )
    expect(unfinished()).toEqual(running.files)
    running.child.kill('SIGSTOP')
    writeFileSync(join(out, 'notes.csv.1.part'), "another program's")
    const short = recordingOf('short.csv', recordingCsv(simulation.rows))
    await replayVerb({ config, recording: short, out, every: 1 })
    expect(unfinished().toSorted()).toEqual([...running.files, 'notes.csv.1.part'].toSorted())
    await ended(running, 'SIGKILL')
  })
})
