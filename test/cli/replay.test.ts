/** What `replay` leaves behind and says at its end. */
import { existsSync, mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterAll, expect, it, vi } from 'vitest'
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
