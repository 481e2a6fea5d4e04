/** What `replay` says and with which status it ends when a file is not as it should be: contract, "Bad input". */
import { execFile } from 'node:child_process'
import { existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { gzipSync } from 'node:zlib'
import { afterAll, describe, expect, test } from 'vitest'
import { simulate } from '../truth/line-simulator.ts'
import { REQUIRED } from '../truth/scenario.ts'

const MAIN = join(import.meta.dirname, '../../edge/main.ts')
const root = mkdtempSync(join(tmpdir(), 'lastwrap-bad-input-'))
afterAll(() => rmSync(root, { recursive: true, force: true }))

const base = simulate({ signals: REQUIRED, durationS: 30, periodMs: 1000 })
const csv = base.csv()
const lines = csv.split('\n')
const [lineSpeed, diameter, position] = base.tags.map((tag) => tag.address) as [string, string, string]

interface Ended {
  status: number
  said: string
  forecastRows: number
}

/** Runs the command as a person would, in its own folder. */
function replay(recording: string | Buffer | undefined, config = base.config, name = 'recording.csv'): Promise<Ended> {
  const folder = mkdtempSync(join(root, 'case-'))
  const path = join(folder, name)
  const out = join(folder, 'out')
  writeFileSync(join(folder, 'plant.yaml'), config)
  if (recording !== undefined) writeFileSync(path, recording)
  const words = [MAIN, 'replay', '--config', join(folder, 'plant.yaml'), '--recording', path, '--out', out]
  return new Promise((resolve) => {
    execFile(process.execPath, words, (error, stdout, stderr) => {
      const forecast = join(out, 'forecast.csv')
      resolve({
        status: error === null ? 0 : Number(error.code),
        said: `${stdout}${stderr}`,
        forecastRows: existsSync(forecast) ? readFileSync(forecast, 'utf8').trimEnd().split('\n').length - 1 : 0,
      })
    })
  })
}

const changed = (line: number, text: string): string => lines.with(line - 1, text).join('\n')

describe.concurrent('ends with one sentence and status 2', () => {
  test('a file that is not there', async ({ expect }) => {
    const ended = await replay(undefined)
    expect(ended).toMatchObject({ status: 2, forecastRows: 0 })
    expect(ended.said).toContain('recording.csv')
    expect(ended.said.trimEnd().split('\n').length).toBe(1)
  })

  test('a missing column', async ({ expect }) => {
    const ended = await replay(changed(1, 'time,name,value,quality'))
    expect(ended).toMatchObject({ status: 2, forecastRows: 0 })
    expect(ended.said).toMatch(/recording\.csv/)
    expect(ended.said).toMatch(/line 1\b/)
    expect(ended.said).toMatch(/\btag\b/)
  })

  test('an empty file', async ({ expect }) => {
    const ended = await replay('')
    expect(ended).toMatchObject({ status: 2, forecastRows: 0 })
    expect(ended.said).toContain('recording.csv')
  })

  test('something that is no text at all', async ({ expect }) => {
    const ended = await replay(Buffer.from(Array.from({ length: 4000 }, (_, i) => (i * 7919) % 256)))
    expect(ended).toMatchObject({ status: 2, forecastRows: 0 })
  })

  test('a name that promises gzip over plain text', async ({ expect }) => {
    const ended = await replay(csv, base.config, 'recording.csv.gz')
    // Either it reads the text or it says that this is no gzip; it never crashes.
    expect([0, 2]).toContain(ended.status)
    expect(ended.said).not.toContain('    at ')
  })

  test('a required signal that is not mapped', async ({ expect }) => {
    const config = base.config.replace(/^ {6}line_speed:.*\n/m, '')
    const ended = await replay(csv, config)
    expect(ended).toMatchObject({ status: 2, forecastRows: 0 })
    expect(ended.said).toContain('line_speed')
    expect(ended.said).toContain('plant.yaml')
  })

  test('none of the tags present', async ({ expect }) => {
    const ended = await replay(csv.replaceAll('label_press', 'another_press'))
    expect(ended).toMatchObject({ status: 2, forecastRows: 0 })
    expect(ended.said).toContain('recording.csv')
    expect(ended.said).toContain('compare its column tag')
  })

  test('no row with a time that has a zone, which is not the tags’ fault', async ({ expect }) => {
    const ended = await replay(lines.map((line) => line.replace(/^([^,]+)Z,/, '$1,')).join('\n'))
    expect(ended).toMatchObject({ status: 2, forecastRows: 0 })
    expect(ended.said).toMatch(
      /^No row of the recording .*recording\.csv can be read; line 2: .* is no time: write ISO 8601/m,
    )
  })
})

describe.concurrent('goes on and says what was left out', () => {
  test('one tag missing is a warning', async ({ expect }) => {
    const ended = await replay(lines.filter((line) => !line.includes(position)).join('\n'))
    expect(ended.status).toBe(0)
    expect(ended.forecastRows).toBeGreaterThanOrEqual(29)
    expect(ended.said).toContain(position)
  })

  test('malformed rows are counted with their line number', async ({ expect }) => {
    const spoilt = lines
      .toSpliced(10, 0, 'not a time,x,1,', '2026-03-02T06:00:03.000Z')
      .toSpliced(20, 0, `2026-03-02T06:00:06.000,${lineSpeed},300,`)
      .join('\n')
    const ended = await replay(spoilt)
    expect(ended.status).toBe(0)
    expect(ended.forecastRows).toBeGreaterThanOrEqual(29)
    expect(ended.said).toMatch(/\b3\b/)
    expect(ended.said).toMatch(/line 11\b/)
  })

  test.for(['NaN', 'abc', '', 'Infinity', '1e999'])(
    'a diameter of "%s" is as if it were absent',
    async (value, { expect }) => {
      const at = lines.findIndex((line, i) => i > 30 && line.includes(diameter))
      const [time] = lines[at]!.split(',')
      const ended = await replay(changed(at + 1, `${time},${diameter},${value},`))
      const without = await replay(lines.toSpliced(at, 1).join('\n'))
      expect(ended.status).toBe(0)
      expect(ended.forecastRows).toBe(without.forecastRows)
    },
  )

  test('time that runs backwards by more than 5 s', async ({ expect }) => {
    const late = lines[5]!
    const ended = await replay(lines.toSpliced(70, 0, late).join('\n'))
    expect(ended.status).toBe(0)
    expect(ended.forecastRows).toBeGreaterThanOrEqual(29)
    expect(ended.said).toMatch(/line 71\b/)
  })

  test('the same file with every row twice gives the same number of rows', async ({ expect }) => {
    const twice = lines.flatMap((line, i) => (i === 0 || line === '' ? [line] : [line, line])).join('\n')
    const [ended, plain] = await Promise.all([replay(twice), replay(csv)])
    expect(ended).toMatchObject({ status: 0, forecastRows: plain.forecastRows })
  })

  test('a gzip that was cut short gives what it holds, one sentence and status 1', async ({ expect }) => {
    const whole = gzipSync(simulate({ signals: REQUIRED, durationS: 600 }).csv())
    const ended = await replay(whole.subarray(0, Math.floor(whole.length / 2)), base.config, 'recording.csv.gz')
    expect(ended.status).toBe(1)
    expect(ended.forecastRows).toBeGreaterThan(200)
    expect(ended.forecastRows).toBeLessThan(450)
    expect(ended.said).toContain('recording.csv.gz')
  })

  test('CRLF, quoted cells, a byte order mark and swapped columns read the same', async ({ expect }) => {
    const swapped = lines
      .filter((line) => line !== '')
      .map((line) => {
        const [time, tag, value, quality] = line.split(',')
        return `"${value}",${quality},"${tag}",${time}`
      })
      .join('\r\n')
    const ended = await replay(`\uFEFF${swapped}`)
    expect(ended.status).toBe(0)
    expect(ended.forecastRows).toBeGreaterThanOrEqual(29)
  })
})

test('a wrong option ends with status 2', async () => {
  const ended = await new Promise<number>((resolve) => {
    execFile(process.execPath, [MAIN, 'replay', '--recordings', 'x'], (error) => resolve(Number(error?.code ?? 0)))
  })
  expect(ended).toBe(2)
})
