/** `check --recording` says in words and in JSON which tag looks wrong. */
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterAll, beforeAll, describe, expect, it, vi } from 'vitest'
import type { ConsistencyView } from '../../edge/api/messages.ts'
import { check } from '../../edge/cli/check.ts'
import { simulate } from '../truth/line-simulator.ts'
import { recordingCsv } from '../truth/recording-file.ts'
import { REQUIRED, USUAL } from '../truth/scenario.ts'

const folder = mkdtempSync(join(tmpdir(), 'lastwrap-check-'))
/** What `process.exitCode` is while all is well. */
const NO_STATUS = null
const config = join(folder, 'plant.yaml')
const recording = join(folder, 'yesterday.csv')

beforeAll(() => {
  const simulation = simulate({ signals: REQUIRED, durationS: 420 })
  const address = simulation.tags.find(({ signal }) => signal === 'line_speed')?.address
  for (const row of simulation.rows) {
    // One foot is 0.3048 m, exact by definition.
    if (row.address === address && typeof row.value === 'number') row.value /= 0.3048
  }
  writeFileSync(config, simulation.config)
  writeFileSync(recording, recordingCsv(simulation.rows))
})
afterAll(() => rmSync(folder, { recursive: true, force: true }))

async function printed(isJson: boolean, path = recording, status: number | null = 1): Promise<string> {
  const log = vi.spyOn(console, 'log').mockImplementation(() => undefined)
  try {
    await check({ config, data: folder, recording: path, timeout: 1, json: isJson })
    // A script has to notice: a tag that is surely wrong ends with 1, as it does without a recording.
    expect(process.exitCode ?? null).toBe(status)
    return log.mock.calls.map(([line]) => String(line)).join('\n')
  } finally {
    process.exitCode = undefined
    log.mockRestore()
  }
}

describe('check --recording', () => {
  it('prints the finding and every comparison after the tags', async () => {
    const text = await printed(false)
    expect(text.indexOf('label_press.line_speed')).toBeLessThan(text.indexOf('  ! line_speed ('))
    expect(text).toContain('its unit looks like ft/min, the config says m/min. Set its unit to ft/min.')
    expect(text).toMatch(/By line speed \d+ m left the roll, by its area and label \d+ m: a factor of 0\.30\d\./)
  })

  it('prints one JSON document with --json', async () => {
    const document = JSON.parse(await printed(true)) as { tags: { rows: number }[]; unwinds: ConsistencyView[] }
    expect(document.tags.map(({ rows }) => rows)).toEqual([4200, 4200, 4200])
    expect(document.unwinds[0]?.findings.map(({ id }) => id)).toEqual(['line_speed.unit'])
  })

  it('names a mapped tag that the recording lacks, or that never says what it can, and ends with 1', async () => {
    const simulation = simulate({ signals: REQUIRED, durationS: 30 })
    const [speed, diameter] = ['line_speed', 'roll_diameter'].map(
      (name) => simulation.tags.find(({ signal }) => signal === name)?.address,
    )
    const rows = simulation.rows
      .filter(({ address }) => address !== speed)
      .map((row) => (row.address === diameter ? { ...row, value: 'AQ-4100' } : row))
    const [lacking, other] = [join(folder, 'lacking.csv'), join(folder, 'other.csv')]
    writeFileSync(lacking, recordingCsv(rows))
    const lines = (await printed(false, lacking)).trim().split('\n')
    expect(lines.at(-1)).toContain(`Without a usable value in the recording: label_press.line_speed (${speed});`)
    expect(lines.at(-1)).toContain(`label_press.roll_diameter (${diameter}).`)
    writeFileSync(other, recordingCsv(simulation.rows))
    expect(await printed(false, other, NO_STATUS)).not.toContain('Without a usable value')
  })

  it('says of a recording with a header alone that it has 0 rows', async () => {
    const path = join(folder, 'header.csv')
    writeFileSync(path, 'time,tag,value,quality\n')
    const log = vi.spyOn(console, 'log').mockImplementation(() => undefined)
    await expect(check({ config, data: folder, recording: path, timeout: 1, json: true })).rejects.toThrow('0 rows')
    log.mockRestore()
    process.exitCode = undefined
  })

  it('tells the diameters of two spindles apart, and names the one in another unit in its JSON', async () => {
    const simulation = simulate({ signals: USUAL, bySpindle: true, rollS: 300, firstRoll: 0.9, durationS: 480 })
    const path = join(folder, 'spindles.csv')
    writeFileSync(path, recordingCsv(simulation.rows))
    const before = readFileSync(config, 'utf8')
    writeFileSync(config, simulation.config.replace(/(UnwindB\.Diameter', unit: )mm/, '$1in'))
    try {
      const document = JSON.parse(await printed(true, path)) as {
        tags: { signals: string[] }[]
        unwinds: ConsistencyView[]
      }
      const names = document.tags.flatMap(({ signals }) => signals)
      expect(names).toEqual(expect.arrayContaining(['A', 'B'].map((name) => `label_press.roll_diameter (${name})`)))
      expect(document.unwinds[0]?.findings.map(({ id, looks_like }) => [id, looks_like])).toEqual([
        ['roll_diameter.B.unit', 'mm as in'],
      ])
    } finally {
      writeFileSync(config, before)
    }
  })

  it('wants a recording with --json', async () => {
    await expect(check({ config, data: folder, timeout: 1, json: true })).rejects.toThrow('add --recording FILE')
  })
})
