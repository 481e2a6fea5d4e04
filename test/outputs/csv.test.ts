import { readFileSync, statSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { parse } from 'csv-parse/sync'
import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { ALARM_COLUMNS, type AlarmRow } from '../../edge/columns.ts'
import { CsvWriter, csvHeader, csvLine, csvText } from '../../edge/outputs/csv.ts'
import { forecastRow, START_MS, spliceView, temporaryFolder } from '../history/store-for-tests.ts'

const alarm = (text: string, value: number | null = null): AlarmRow => ({
  time: '2026-03-02T06:00:00.000Z',
  unwind: 'label_press',
  alarm: 'buffer_short',
  event: 'raised',
  priority: 'high',
  value,
  limit: 0,
  text,
})

describe('a file', () => {
  it('has the contract columns, fixed decimals, and nothing where nothing is known', () => {
    expect(csvText('forecast', [forecastRow(START_MS)])).toBe(
      'time,unwind,state,diameter,caliper,metres_to_splice,metres_low,metres_high,seconds_to_splice,seconds_low,' +
        'seconds_high,buffer_stored,buffer_needed,buffer_margin,safe_speed\n' +
        '2026-03-02T06:00:00.000Z,label_press,running,400.50,80.10,1143.540,1140.000,1147.000,226.70,225.00,228.00,' +
        '10.000,20.000,5.000,\n',
    )
    expect(csvLine('splices', spliceView(START_MS, { flags: 'early;manual', buffer_low: 1.23456 }))).toBe(
      `label_press,2026-03-02T06:00:00.000Z,,,,early;manual,130.20,300.00,,,1.235,,label_press-${START_MS}\n`,
    )
  })

  it('has no minus zero, and nothing for what is no number', () => {
    expect(csvLine('alarms', alarm('', -0.0001))).toContain('high,0.000,0.000,')
    expect(csvLine('alarms', alarm('', Number.NaN))).toContain('high,,0.000,')
  })

  it('is the same to the byte for numbers that differ in their last bits', () => {
    expect(csvLine('alarms', alarm('', 0.1 + 0.2))).toBe(csvLine('alarms', alarm('', 0.3)))
  })

  // RFC 4180, section 2, rules 6 and 7.
  it.each([
    ['a,b', '"a,b"'],
    ['say "on"', '"say ""on"""'],
    ['one\rtwo', '"one\rtwo"'],
    ['one\ntwo', '"one\ntwo"'],
    ['plain; text', 'plain; text'],
  ])('quotes %j where a reader would stumble', (text, quoted) => {
    expect(csvLine('alarms', alarm(text)).endsWith(`,${quoted}\n`)).toBe(true)
  })

  it('is read back by another reader whatever the text', () => {
    const text = fc.string({ unit: fc.constantFrom('a', ',', '"', '\n', '\r', ' ', ';', 'é') })
    fc.assert(
      fc.property(fc.array(text, { minLength: 1 }), (texts) => {
        const csv = csvText(
          'alarms',
          texts.map((one) => alarm(one)),
        )
        const rows = parse(csv, { columns: true, record_delimiter: '\n' }) as Record<string, string>[]
        expect(Object.keys(rows[0]!)).toEqual([...ALARM_COLUMNS])
        expect(rows.map(({ text }) => text)).toEqual(texts)
      }),
    )
  })
})

describe('the writer', () => {
  it('writes a long file with little in memory, byte for byte as in one piece', async () => {
    const path = join(temporaryFolder(), 'forecast.csv')
    const rows = Array.from({ length: 20_000 }, (_, i) => forecastRow(START_MS + i * 1000, { diameter: i / 3 }))
    const writer = new CsvWriter('forecast', path)
    let waits = 0
    for (const row of rows) {
      if (writer.write(row)) continue
      waits += 1
      await writer.ready()
    }
    await writer.close()
    expect(waits).toBeGreaterThan(10)
    expect(readFileSync(path, 'utf8')).toBe(csvText('forecast', rows))
  })

  it('leaves a header where there are no rows', async () => {
    const path = join(temporaryFolder(), 'splices.csv')
    await new CsvWriter('splices', path).close()
    expect(readFileSync(path, 'utf8')).toBe(csvHeader('splices'))
  })

  it('says in a sentence that the file can not be written', async () => {
    const folder = temporaryFolder()
    writeFileSync(join(folder, 'file'), '')
    const writer = new CsvWriter('splices', join(folder, 'file', 'splices.csv'))
    await expect(writer.close()).rejects.toThrow(/splices\.csv can't be written .*: name a folder that is writable/)
    const full = new CsvWriter('forecast', '/dev/full')
    for (let i = 0; i < 5000; i += 1) if (!full.write(forecastRow(START_MS))) break
    await expect(full.ready().then(() => full.close())).rejects.toThrow(
      "/dev/full can't be written (no space left on device): name a folder that is writable and has room.",
    )
    expect(statSync(join(folder, 'file')).size).toBe(0)
  })
})
