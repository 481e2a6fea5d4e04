/** A recording that ends too early gives all that it holds up to there, from its first row on. */
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { constants, gunzipSync, gzipSync } from 'node:zlib'
import { afterAll, expect, it } from 'vitest'
import { loadConfigText } from '../../edge/config/load.ts'
import { recordingTags } from '../../edge/config/tags.ts'
import type { Sample } from '../../edge/sample.ts'
import { newReport, readRecording } from '../../edge/sources/recording.ts'
import { simulate } from '../truth/line-simulator.ts'
import { recordingCsv } from '../truth/recording-file.ts'
import { REQUIRED } from '../truth/scenario.ts'

const folder = mkdtempSync(join(tmpdir(), 'lastwrap-recording-'))
afterAll(() => rmSync(folder, { recursive: true, force: true }))

const simulation = simulate({ signals: REQUIRED, durationS: 300 })
const whole = gzipSync(recordingCsv(simulation.rows))
const tags = recordingTags(loadConfigText(simulation.config, 'plant.yaml').config)

async function read(bytes: Buffer) {
  const path = join(folder, 'cut.csv.gz')
  writeFileSync(path, bytes)
  const report = newReport()
  const samples: Sample[] = []
  for await (const piece of readRecording(path, tags, report)) samples.push(...piece)
  return { report, samples }
}

it.each([0.02, 0.1, 0.3, 0.5, 0.7, 0.9, 0.999])(
  'a gzip cut at %f of its length gives every whole row before',
  async (share) => {
    const cut = whole.subarray(0, Math.floor(share * whole.length))
    // What the same library unpacks at once, without streams.
    const lines = gunzipSync(cut, { finishFlush: constants.Z_SYNC_FLUSH }).toString().split('\n')
    const { report, samples } = await read(cut)
    expect(report.rows).toBe(lines.length - 2)
    expect([report.malformed, samples.length]).toEqual([0, report.rows])
    expect(samples[0]?.tMs).toBe(simulation.rows[0]?.tMs)
    expect(report.cutShort).toContain(`ends too early (unexpected end of file) after line ${lines.length - 1}:`)
  },
)

it('a gzip with rubbish in its middle gives the rows before it', async () => {
  const spoilt = Buffer.from(whole)
  spoilt.fill(0xff, whole.length / 2, whole.length / 2 + 64)
  const { report, samples } = await read(spoilt)
  expect(samples[0]?.tMs).toBe(simulation.rows[0]?.tMs)
  expect(samples.length).toBeGreaterThan(0.3 * simulation.rows.length)
  expect(report.cutShort).toContain('ends too early')
})

it('one that is whole says nothing of an end', async () => {
  const { report, samples } = await read(whole)
  expect([report.cutShort, samples.length]).toEqual([undefined, simulation.rows.length])
})
