/** What is left of a compressed recording when `record` is killed or the power fails. */
import { existsSync, readFileSync } from 'node:fs'
import { mkdtemp, rm } from 'node:fs/promises'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { constants, gunzipSync } from 'node:zlib'
import { expect, onTestFinished, test, vi } from 'vitest'
import { silentTags } from '../../edge/cli/record.ts'
import { recordingTags } from '../../edge/config/tags.ts'
import { EnteredReader } from '../../edge/history/entered-reader.ts'
import { History } from '../../edge/history/history.ts'
import { DEFAULT_KEEP, openStore } from '../../edge/history/sqlite-store.ts'
import { RecordingWriter } from '../../edge/record.ts'
import type { Sample } from '../../edge/sample.ts'
import { newReport, readRecording } from '../../edge/sources/recording.ts'

test('rows that were flushed stand in the file while it is still being written', async () => {
  const folder = await mkdtemp(join(tmpdir(), 'lastwrap-record-'))
  onTestFinished(() => rm(folder, { recursive: true }))
  const path = join(folder, 'shift.csv.gz')
  const writer = new RecordingWriter(path, { sources: {}, unwinds: [] } as never)
  await writer.opened()
  writer.write({ tMs: 0, arrivalTMs: 0, source: 'plc', address: 'speed', value: 300, quality: 'good' })
  writer.flush()
  // RFC 1952 wants a trailer; a file that is still open has none, so it is unpacked as far as it goes.
  const soFar = () => gunzipSync(readFileSync(path), { finishFlush: constants.Z_SYNC_FLUSH }).toString()
  await vi.waitFor(() =>
    expect(soFar()).toMatch(/^time,tag,value,quality\n1970-01-01T00:00:00.000Z,.*speed.*,300,good\n$/),
  )
  await writer.close()
})

test('what people enter at the running monitor is recorded beside it, and read back with time and person', async () => {
  const folder = await mkdtemp(join(tmpdir(), 'lastwrap-entered-'))
  onTestFinished(() => rm(folder, { recursive: true }))
  const clock = { nowMs: () => 1_772_431_200_000, every: () => () => undefined }
  const store = openStore(join(folder, 'history.sqlite'), { clock, keep: DEFAULT_KEEP, flushEverySecond: false })
  const history = new History(store, undefined)
  const entry = (address: string, value: Sample['value'], tMs: number): Sample => {
    return { source: 'operator', address, value, quality: 'good', tMs, arrivalTMs: tMs, person: 'Mika, B' }
  }
  const before = entry('ready/press', false, 1000)
  const entries = [
    entry('ready/press', true, 5000),
    entry('waiting/press/roll_id', 'R-17', 5000),
    entry('stage/press/load', true, 6000),
  ]
  history.entered(before)
  store.flush()
  const reader = new EnteredReader(join(folder, 'history.sqlite'), 2000)
  expect(reader.read()).toEqual([])
  for (const one of entries) history.entered(one)
  store.flush()
  const read = reader.read()
  expect(read).toEqual(entries)
  expect([reader.read(), reader.trouble]).toEqual([[], undefined])
  reader.close()
  store.close()

  const config = { sources: {}, unwinds: [{ id: 'press', signals: [], splicer: { stations: [] } }] } as never
  const path = join(folder, 'shift.csv')
  const writer = new RecordingWriter(path, config, true)
  await writer.opened()
  for (const one of read) writer.write(one)
  await writer.close()
  const back: Sample[] = []
  for await (const samples of readRecording(path, recordingTags(config), newReport())) back.push(...samples)
  // A recording is text: what was a truth comes back as its word.
  expect(back).toEqual(entries.map((one) => ({ ...one, value: String(one.value) })))
})

test('without a monitor beside it there is nothing to read, and no fault', () => {
  const reader = new EnteredReader('/nonexistent/history.sqlite', 0)
  expect([reader.read(), reader.trouble]).toEqual([[], undefined])
})

test('a tag that gave no value is named at the end, with what is known of it', () => {
  const tag = (address: string, lastValue: string | undefined, trouble?: string, valuePath?: string) => ({
    tag: { source: 'plc', address, valuePath, timePath: undefined },
    ...{ quality: undefined, trouble, lastValue, lastTMs: undefined, samples: 0, ignored: 0 },
  })
  const tags = [
    tag('speed', '300'),
    tag('Unwnd.Speed', undefined, 'plc has no variable Unwnd.Speed.'),
    tag('line', undefined, undefined, 'v'),
  ]
  const health = {
    name: 'plc',
    kind: 'opcua',
    state: 'connected',
    trouble: undefined,
    sinceTMs: 0,
    clockOffsetMs: 0,
    tags,
  } as const
  expect(silentTags([{ ...health, tags }])).toEqual([
    'The recording holds no value of Unwnd.Speed of plc. plc has no variable Unwnd.Speed.',
    'The recording holds no value of line#v of plc. It changed nothing and said nothing: check its address with browse.',
  ])
})

test('a source that is away is told once, with all its tags, and not that it is tried again', () => {
  const tag = (address: string) => ({
    tag: { source: 'plc', address, valuePath: undefined, timePath: undefined },
    ...{ quality: undefined, trouble: undefined, lastValue: undefined, lastTMs: undefined, samples: 0, ignored: 0 },
  })
  const trouble = 'Nothing answers at plc: no server listens on that port. It is tried again and again.'
  const health = {
    ...({ name: 'plc', kind: 'opcua', state: 'connecting', trouble, sinceTMs: 0, clockOffsetMs: undefined } as const),
    tags: [tag('speed'), tag('diameter')],
  }
  const why = 'Nothing answers at plc: no server listens on that port.'
  expect(silentTags([health])).toEqual([`The recording holds no value of speed, diameter of plc. ${why}`])
  expect(silentTags([health], new Map([['plc', trouble]]))).toEqual([
    'The recording holds no value of speed, diameter of plc. Why is said above.',
  ])
})

test('a recording without a row leaves no file, one with another ending is refused, and a folder that is not there named once', async () => {
  const folder = await mkdtemp(join(tmpdir(), 'lastwrap-empty-'))
  onTestFinished(() => rm(folder, { recursive: true }))
  const path = join(folder, 'shift.csv.gz')
  const config = { sources: {}, unwinds: [] } as never
  const writer = new RecordingWriter(path, config)
  await writer.opened()
  expect(existsSync(path)).toBe(true)
  await writer.close()
  expect(existsSync(path)).toBe(false)
  expect(() => new RecordingWriter(join(folder, 'wn.xls'), config)).toThrow('name a file that ends in .csv or .csv.gz')
  const lost = join(folder, 'none', 'x.csv')
  await expect(new RecordingWriter(lost, config).opened()).rejects.toThrow(
    `The recording ${lost} can't be written (no such file or directory): name a file`,
  )
})
