/**
 * `npm run bench:history` (`-- --share 0.05` for less): a store of 5 years × 30 unwinds × 60 splices a day (3.3 million records,
 * 5000 traces) in a folder of its own, which is deleted afterwards. Prints how long the list takes for every combination of
 * filters and for a later page, and a trace to open, beside a bare SQLite query for the same rows. Asked for: 200 ms and
 * 100 ms; ends with status 1 otherwise. The full store takes some 10 GB of disk.
 */
import { mkdtempSync, rmSync, statSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { performance } from 'node:perf_hooks'
import type { SpliceFilter } from '../../edge/api/messages.ts'
import { packPoints } from '../../edge/history/chunk.ts'
import { DEFAULT_KEEP, openStore } from '../../edge/history/sqlite-store.ts'
import type { SignalPoint } from '../../edge/history/store.ts'
import { openStoreFile } from '../../edge/history/store-file.ts'
import { traceView } from '../../edge/history/trace-view.ts'
import { wordsOf } from '../../edge/splice-words.ts'
import { spliceView } from '../history/samples.ts'
import { randomStream } from '../truth/random.ts'

const shareAt = process.argv.indexOf('--share')
const share = shareAt < 0 ? 1 : Number(process.argv[shareAt + 1])
const UNWINDS = 30
const EVERY_MS = 86_400_000 / 60
const count = Math.round(5 * 365.25 * 60 * UNWINDS * share)
const TRACES = Math.min(5000, count)
const LIST_MS = 200
const TRACE_MS = 100
const ROUNDS = 5
const FIRST_TMS = Date.UTC(2021, 0, 1)
const MATERIALS = ['kraft brown 80', 'kraft white 70', 'film 12', 'film 20', 'board 300']
const random = randomStream(1, 'history')

const progress = (text: string): void => {
  if (process.stderr.isTTY) process.stderr.write(`\r\x1b[K${text}`)
}
const median = (values: number[]): number => values.toSorted((a, b) => a - b)[values.length >> 1]!

const folder = mkdtempSync(join(tmpdir(), 'lastwrap-bench-'))
try {
  const path = join(folder, 'history.sqlite')
  const ids = build(path)
  const size = statSync(path).size / 1e9
  console.log(`${count} records, ${TRACES} traces, ${size.toFixed(1)} GB`)
  const isMet = [measureLists(path), measureTraces(path, ids)].every(Boolean)
  process.exitCode = isMet ? 0 : 1
} finally {
  rmSync(folder, { recursive: true, force: true })
}

/** @returns ids of the splices with traces. */
function build(path: string): string[] {
  const { database } = openStoreFile(path, { nowMs: () => FIRST_TMS })
  database.exec('PRAGMA synchronous = OFF')
  const put = database.prepare(
    `INSERT INTO splices (id, unwind, started_ms, outcome, revision, recorded_ms, view, word_id) VALUES (?, ?, ?, ?, 1, ?, ?, ?)`,
  )
  const putWords = database.prepare('INSERT INTO splice_words (rowid, words) VALUES (?, ?)')
  const putUnwindWords = database.prepare('INSERT INTO unwind_words (rowid, words) VALUES (?, ?)')
  const putBadWords = database.prepare(
    'INSERT INTO bad_words (rowid, unwind, verdict, why, words) VALUES (?, ?, ?, ?, ?)',
  )
  const blank = JSON.stringify(spliceView(0, { closed: true }))
  const fill = templateOf(blank)
  const traced: string[] = []
  database.exec('BEGIN')
  for (let i = 0; i < count; i += 1) {
    const unwind = `unwind_${String(i % UNWINDS).padStart(2, '0')}`
    // Unwinds splice at different times of their 24 minutes.
    const tMs = FIRST_TMS + Math.floor(i / UNWINDS) * EVERY_MS + (i % UNWINDS) * 47_001
    const bad = random.even()
    const outcome = bad < 0.98 ? 'good' : bad < 0.99 ? 'failed' : bad < 0.996 ? 'missed' : 'aborted'
    const cause = outcome === 'good' ? null : bad < 0.987 ? 'web_break' : bad < 0.995 ? 'no_new_roll' : 'splicer_fault'
    const material = MATERIALS[Math.floor(random.even() * MATERIALS.length)]!
    const roll = `R${String(10_000_000 + i)}`
    const id = `${unwind}-${tMs}`
    put.run(id, unwind, tMs, outcome, tMs, fill(id, unwind, tMs, outcome, cause, roll, material), tMs * 1024)
    const words = wordsOf(`${roll} ${material}${i % 50_021 === 7 ? ' oven' : ''}`)
    putWords.run(tMs * 1024, words.join(' '))
    putUnwindWords.run(tMs * 1024, words.map((word) => `${unwind}_${word}`).join(' '))
    if (outcome !== 'good') putBadWords.run(tMs * 1024, unwind, outcome, cause, words.join(' '))
    if (i >= count - TRACES) traced.push(id)
    if (i % 20_000 === 0) {
      database.exec('COMMIT; BEGIN')
      progress(`records: ${((100 * i) / count).toFixed(0)} %`)
    }
  }
  const putTrace = database.prepare('INSERT INTO trace_pieces VALUES (?, 1, ?, ?)')
  const packed = packPoints(tracePoints())
  for (const id of traced) putTrace.run(id, FIRST_TMS, packed)
  database.exec('COMMIT')
  database.close()
  progress('')
  return traced
}

type Fill = (
  id: string,
  unwind: string,
  tMs: number,
  outcome: string,
  cause: string | null,
  roll: string,
  material: string,
) => string

/** A whole record's JSON without writing it anew a million times. */
function templateOf(blank: string): Fill {
  const view = JSON.parse(blank) as { details: object }
  return (id, unwind, tMs, outcome, cause, roll, material) =>
    JSON.stringify({
      ...view,
      id,
      unwind,
      started: new Date(tMs).toISOString(),
      outcome,
      cause,
      details: { ...view.details, roll_id: roll, material },
    })
}

/** Two minutes of twelve signals at 10 Hz, as a full-rate trace has them. */
function tracePoints(): SignalPoint[] {
  const signals = ['line_speed', 'unwind_speed', 'roll_diameter', 'buffer_stored', 'tension', 'tension_setpoint']
  const all = [...signals, ...signals.map((name) => `extra.${name}`)]
  return Array.from({ length: 1210 }, (_, i) =>
    all.map((signal) => ({ unwind: 'u', signal, tMs: FIRST_TMS + i * 100, value: 5 + random.normal() })),
  ).flat()
}

function measureLists(path: string): boolean {
  const store = openStore(path, {
    clock: { nowMs: () => FIRST_TMS, every: () => () => undefined },
    keep: DEFAULT_KEEP,
    flushEverySecond: false,
  })
  const { database } = openStoreFile(path, { nowMs: () => FIRST_TMS })
  const lastTMs = FIRST_TMS + Math.floor(count / UNWINDS) * EVERY_MS
  const middle = { fromTMs: FIRST_TMS + (lastTMs - FIRST_TMS) * 0.4, toTMs: FIRST_TMS + (lastTMs - FIRST_TMS) * 0.5 }
  let isMet = true
  const rows: { name: string; ms: number; ratio: number; found: number }[] = []
  for (const unwind of [undefined, 'unwind_07'])
    for (const outcome of [undefined, 'good', 'failed'])
      for (const cause of [undefined, 'web_break'])
        for (const text of [undefined, 'kraft', 'oven', 'film 12 r1000', 'R10000077'])
          for (const span of [{}, middle])
            for (const isLater of [false, true]) {
              const asked = { unwind, outcome, cause, text, ...span }
              const filter = {
                ...Object.fromEntries(Object.entries(asked).filter(([, one]) => one !== undefined)),
                limit: 200,
              } as SpliceFilter
              if (isLater)
                filter.before = {
                  startedTMs: Math.floor(middle.fromTMs + (middle.toTMs - middle.fromTMs) / 2),
                  id: 'unwind_15',
                }
              const times: number[] = []
              let found: string[] = []
              for (let round = 0; round < ROUNDS; round += 1) {
                const began = performance.now()
                found = store.splices(filter).map(({ id }) => id)
                times.push(performance.now() - began)
              }
              const bare = database.prepare(`SELECT view FROM splices WHERE id IN (${found.map(() => '?').join(',')})`)
              const bareTimes = Array.from({ length: ROUNDS }, () => {
                const began = performance.now()
                bare.all(...found)
                return performance.now() - began
              })
              const name = [...Object.keys(filter).filter((key) => key !== 'limit'), text ?? '', outcome ?? '']
                .filter(Boolean)
                .join(' ')
              rows.push({
                name: name || 'everything',
                ms: median(times),
                ratio: median(times) / Math.max(0.05, median(bareTimes)),
                found: found.length,
              })
            }
  rows.sort((a, b) => b.ms - a.ms)
  for (const { name, ms, ratio, found } of rows.slice(0, 12)) {
    console.log(`list ${name}: ${ms.toFixed(1)} ms, ${ratio.toFixed(1)} × the bare query, ${found} found`)
  }
  isMet &&= rows[0]!.ms < LIST_MS
  console.log(
    `lists: ${rows.length} combinations, median ${median(rows.map(({ ms }) => ms)).toFixed(1)} ms, slowest ${rows[0]!.ms.toFixed(1)} ms; asked for < ${LIST_MS}`,
  )
  database.close()
  store.close()
  return isMet
}

function measureTraces(path: string, ids: readonly string[]): boolean {
  const store = openStore(path, {
    clock: { nowMs: () => FIRST_TMS, every: () => () => undefined },
    keep: DEFAULT_KEEP,
    flushEverySecond: false,
  })
  const { database } = openStoreFile(path, { nowMs: () => FIRST_TMS })
  const bare = database.prepare('SELECT points FROM trace_pieces WHERE splice_id = ?')
  const [times, bareTimes]: [number[], number[]] = [[], []]
  for (let i = 0; i < 40; i += 1) {
    const id = ids[Math.floor((i / 40) * ids.length)]!
    const began = performance.now()
    traceView(store.splice(id)!, store.tracePoints(id), () => ({ unit: '', is_state: false }))
    times.push(performance.now() - began)
    const bareBegan = performance.now()
    bare.all(id)
    bareTimes.push(performance.now() - bareBegan)
  }
  const worst = Math.max(...times)
  console.log(
    `traces: median ${median(times).toFixed(1)} ms, ${(median(times) / median(bareTimes)).toFixed(0)} × the bare query ` +
      `(it unpacks and aligns ${tracePoints().length} points), slowest ${worst.toFixed(1)} ms; asked for < ${TRACE_MS}`,
  )
  database.close()
  store.close()
  return median(times) < TRACE_MS
}
