/** What can be taken away: read back with a library that reads CSV by RFC 4180. */
import { parse } from 'csv-parse/sync'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { SPLICE_COLUMNS } from '../../edge/columns.ts'
import { startApi, type TestApi } from '../support/start-api.ts'

let api: TestApi
beforeAll(async () => {
  api = await startApi()
})
afterAll(() => api.app.close())

const read = async (path: string): Promise<{ head: string[]; rows: Record<string, string>[]; file: string }> => {
  const answer = await api.app.inject(path)
  expect([answer.statusCode, answer.headers['content-type']]).toEqual([200, 'text/csv; charset=utf-8'])
  const rows = parse(answer.body, { columns: true, record_delimiter: '\r\n' }) as Record<string, string>[]
  return { head: Object.keys(rows[0] ?? {}), rows, file: String(answer.headers['content-disposition']) }
}

/** Without the unit behind it. */
const nameOf = (head: string): string => head.replace(/ \[.*\]$/, '')
/** The unit is in the name, in a column of its own, or there is none. */
const SAYS_IT = /_seconds$|^seconds_|_metres$|_per_metre$|_share$|^speed_kept$|^guide_left$|^entered_by_hand$/

describe('/api/splices.csv', () => {
  it('names the unit of every figure in its head, behind the name that the API has', async () => {
    const { head, rows } = await read('/api/splices.csv')
    const isFigure = (column: string) => rows.some((row) => /^-?\d+(\.\d+)?$/.test(row[column]!))
    const figures = head.filter(isFigure)
    expect(figures.length).toBeGreaterThan(20)
    expect(figures.filter((column) => nameOf(column) === column && !SAYS_IT.test(column))).toEqual([])
    const [splice] = api.daemon.splices({ limit: 1 })
    const known = { ...splice, ...splice!.details }
    expect(
      head.filter((column) => nameOf(column) !== column && nameOf(column) !== 'gap' && !(nameOf(column) in known)),
    ).toEqual([])
    expect(head).toEqual(expect.arrayContaining(['speed [m/min]', 'setting [mm]', 'acceleration [m/s²]', 'gap [mm]']))
  })

  it('has all that the filters leave, with the contract’s columns first, however many pages that takes', async () => {
    const { head, rows } = await read('/api/splices.csv')
    expect(head.slice(0, SPLICE_COLUMNS.length).map(nameOf)).toEqual([...SPLICE_COLUMNS])
    const all = api.daemon.splices({ limit: 10_000 })
    expect(rows.map(({ id }) => id)).toEqual(all.map(({ id }) => id))
    const failed = await read('/api/splices.csv?outcome=failed&unwind=label_press')
    expect(failed.rows.length).toBe(api.daemon.splices({ outcome: 'failed', unwind: 'label_press', limit: 99 }).length)
  })

  it('has what people said, without who, and no text that a spreadsheet would run', async () => {
    const [failed] = api.daemon.splices({ outcome: 'failed', limit: 1 })
    const note = '=HYPERLINK("http://x"), said\n"twice"'
    const payload = { outcome: 'good', done: ['knife_changed', 'tape_changed'], note, person: 'Crew B' }
    await api.app.inject({ method: 'POST', url: `/api/splices/${failed!.id}/entries`, payload })
    const { rows } = await read('/api/splices.csv')
    const row = rows.find(({ id }) => id === failed!.id)!
    expect([row['outcome'], row['reviewed_outcome'], row['done']]).toEqual([
      'failed',
      'good',
      'knife_changed;tape_changed',
    ])
    expect(row['notes']).toBe(`'${note}`)
    expect(JSON.stringify(rows)).not.toContain('Crew B')
  })
})

describe('/api/splices/:id/trace.csv', () => {
  it('has one line a moment, units in the head', async () => {
    const [good] = api.daemon.splices({ outcome: 'good', limit: 1 })
    const { head, rows, file } = await read(`/api/splices/${good!.id}/trace.csv`)
    const trace = api.daemon.trace(good!.id)!
    expect(head).toEqual([
      'time',
      ...trace.columns.map(({ signal, unit }) => (unit === '' ? signal : `${signal} [${unit}]`)),
    ])
    expect(rows.length).toBe(trace.time.length)
    // A tag that its config maps to words stands in words.
    expect(new Set(rows.map((row) => row['extra.splicer_mode']))).toEqual(
      new Set(['waiting', 'festoon fills', 'splicing']),
    )
    expect(Number(rows[600]![head[1]!])).toBe(trace.columns[0]!.values[600])
    expect(file).toContain(`trace_${good!.id}.csv`)
  })

  it('says so where none is kept', async () => {
    const old = api.daemon.splices({ limit: 500 }).find(({ has_trace }) => !has_trace)!
    expect((await api.app.inject(`/api/splices/${old.id}/trace.csv`)).statusCode).toBe(404)
  })
})
