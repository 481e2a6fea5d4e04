/** What is left of a compressed recording when `record` is killed or the power fails. */
import { readFileSync } from 'node:fs'
import { mkdtemp, rm } from 'node:fs/promises'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { constants, gunzipSync } from 'node:zlib'
import { expect, onTestFinished, test, vi } from 'vitest'
import { RecordingWriter } from '../../edge/record.ts'

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
