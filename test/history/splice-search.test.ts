/** The list's filters against the same filter done on a plain list in memory; and the log. */
import { join } from 'node:path'
import { describe, expect, it } from 'vitest'
import type { SpliceFilter, SpliceView } from '../../edge/api/messages.ts'
import { OUTCOMES } from '../../edge/columns.ts'
import { ownMigrations } from '../../edge/history/migrations/migrate.ts'
import { openStoreFile } from '../../edge/history/store-file.ts'
import { verdictOf } from '../../edge/splice-review.ts'
import { wordsOf } from '../../edge/splice-words.ts'
import type { LogEntry } from '../../edge/trend-views.ts'
import { randomStream } from '../truth/random.ts'
import { entryOf, START_MS, spliceView, storeAt, temporaryFolder } from './store-for-tests.ts'

const UNWINDS = ['press_1', 'press_2', 'coater']
const CAUSES = ['web_break', 'no_new_roll'] as const
const MATERIALS = ['kraft brown', 'kraft white', 'film']

function someSplices(count: number): SpliceView[] {
  const random = randomStream(5, 'search')
  const one = <T>(list: readonly T[]): T => list[Math.floor(random.even() * list.length)]!
  return Array.from({ length: count }, (_, i) => {
    const outcome = random.even() < 0.6 ? 'good' : one(OUTCOMES)
    // Some start in the same ms, on different unwinds.
    const tMs = START_MS + Math.floor(i / 2) * 60_000
    const view = spliceView(tMs, { outcome, cause: outcome === 'good' ? null : one(CAUSES) })
    const unwind = UNWINDS[i % 3]!
    const details = { ...view.details, roll_id: `R-${1000 + i}`, material: one(MATERIALS) }
    return { ...view, unwind, id: `${unwind}-${tMs}`, details }
  })
}

const textOf = ({ details, review }: SpliceView): string[] =>
  wordsOf(
    [details.roll_id, details.material, ...(review?.entries.map(({ note }) => note) ?? [])]
      .filter((part) => part !== null)
      .join(' '),
  )

/** The same question asked of a list. */
function plain(all: readonly SpliceView[], filter: SpliceFilter): string[] {
  const { unwind, outcome, cause, text = '', fromTMs = -Infinity, toTMs = Infinity, limit } = filter
  const known = new Set(all.flatMap(textOf))
  return all
    .filter((splice) => {
      const tMs = Date.parse(splice.started)
      const verdict = verdictOf(splice)
      const words = textOf(splice)
      return (
        (unwind === undefined || splice.unwind === unwind) &&
        (outcome === undefined || verdict.outcome === outcome) &&
        (cause === undefined || verdict.cause === cause) &&
        wordsOf(text).every((asked) =>
          words.some((word) => (asked.length < 4 || known.has(asked) ? word === asked : word.startsWith(asked))),
        ) &&
        tMs >= fromTMs &&
        tMs <= toTMs
      )
    })
    .sort((a, b) => Date.parse(b.started) - Date.parse(a.started) || (a.id < b.id ? 1 : -1))
    .slice(0, limit)
    .map(({ id }) => id)
}

describe('the list', () => {
  const all = someSplices(120)

  it('answers every combination of filters as a plain list does, page by page', () => {
    const store = storeAt(join(temporaryFolder(), 'history.sqlite'))
    for (const splice of all) store.putSplice(splice)
    store.putSpliceEntry(all[10]!.id, entryOf({ outcome: 'failed', cause: 'web_break', note: 'Naht offen am Öfen' }))
    // The machine called these bad, and people say otherwise: they are found as what people say.
    const bad = all.filter(({ outcome }) => outcome === 'failed')
    for (const { id } of bad.slice(0, 4)) store.putSpliceEntry(id, entryOf({ outcome: 'good' }))
    const kept = all.map(({ id }) => store.splice(id)!)
    const someTMs = START_MS + 20 * 60_000
    let asked = 0
    for (const unwind of [undefined, 'press_2'])
      for (const outcome of [undefined, 'good', 'failed'])
        for (const cause of [undefined, 'web_break'])
          for (const text of [undefined, 'kraft', 'KRAFT white', 'kraf', 'r-10', '1010', '101', 'ofen', 'Öfen', 'raft'])
            for (const [fromTMs, toTMs] of [[], [someTMs, undefined], [someTMs, someTMs + 30 * 60_000]]) {
              const filter = { unwind, outcome, cause, text, fromTMs, toTMs } as Omit<SpliceFilter, 'limit'>
              const whole = plain(kept, { ...filter, limit: 1000 })
              const pages: string[] = []
              for (let before: SpliceFilter['before']; ; ) {
                const page = store.splices({ ...filter, ...(before && { before }), limit: 13 })
                pages.push(...page.map(({ id }) => id))
                const last = page.at(-1)
                if (last === undefined || page.length < 13) break
                before = { startedTMs: Date.parse(last.started), id: last.id }
              }
              expect(pages, JSON.stringify(filter)).toEqual(whole)
              asked += whole.length > 0 ? 1 : 0
            }
    expect(asked).toBeGreaterThan(40)
  })

  it('is found by what caused a splice and by what was done, in place of words that were typed', () => {
    const path = join(temporaryFolder(), 'history.sqlite')
    const store = storeAt(path)
    const some = all.slice(0, 40)
    for (const splice of some) store.putSplice(splice)
    const [first, second, third] = [some[3]!, some[7]!, some[11]!]
    const at = (s: number): string => new Date(START_MS + s * 1000).toISOString()
    store.putSpliceEntry(first.id, entryOf({ time: at(1), done: ['knife_changed'], thing: 'vacuum_weak' }))
    store.putSpliceEntry(second.id, entryOf({ time: at(2), note: 'Messer gewechselt' }))
    store.putSpliceEntry(third.id, entryOf({ time: at(3), done: ['knife_changed'] }))
    store.putSpliceEntry(third.id, entryOf({ time: at(4), takes_back: at(3) }))
    const found = (filter: Omit<SpliceFilter, 'limit'>, from = store) =>
      from.splices({ ...filter, limit: 10 }).map(({ id }) => id)
    const newestFirst = [second.id, first.id]
    expect(found({ text: 'knife changed' })).toEqual([first.id])
    expect(found({ text: 'knife' })).toEqual([first.id])
    expect(found({ text: 'Messer gewechselt' })).toEqual([second.id])
    const said = ['done_knife_changed', 'thing_knife_blunt']
    const typed = { text: 'messer gewechselt', said }
    expect(found(typed)).toEqual(newestFirst)
    // Near the bound they are read one by one, behind it by their index; each of the three tables answers.
    expect(found({ ...typed, toTMs: START_MS + 3_600_000 })).toEqual(newestFirst)
    expect(found({ said: ['thing_vacuum_weak'] })).toEqual([first.id])
    expect(found({ ...typed, unwind: first.unwind })).toEqual(
      newestFirst.filter((id) => store.splice(id)!.unwind === first.unwind),
    )
    store.putSpliceEntry(first.id, entryOf({ time: at(5), outcome: 'failed', cause: 'web_break' }))
    expect(found({ ...typed, outcome: 'failed', cause: 'web_break' })).toEqual(
      newestFirst.filter((id) => verdictOf(store.splice(id)!).cause === 'web_break'),
    )
    expect(found({ ...typed, unwind: 'nowhere' })).toEqual([])
    store.close()
    // A store whose words are from before is found in the same way.
    const old = openStoreFile(path, { nowMs: () => START_MS }).database
    old.exec('PRAGMA user_version = 4')
    old.prepare('DELETE FROM splice_words WHERE rowid = (SELECT word_id FROM splices WHERE id = ?)').run(first.id)
    old.close()
    expect(found({ said: ['thing_vacuum_weak'] }, storeAt(path))).toEqual([first.id])
  })

  it('of an older store is found in the same way after its migration', () => {
    const path = join(temporaryFolder(), 'history.sqlite')
    const migrations = ownMigrations().filter(({ version }) => version < 4)
    const old = openStoreFile(path, { nowMs: () => START_MS, migrations }).database
    for (const { id, unwind, started, outcome, ...rest } of all.slice(0, 20)) {
      old
        .prepare(
          'INSERT INTO splices (id, unwind, started_ms, outcome, revision, recorded_ms, view) VALUES (?, ?, ?, ?, 1, 0, ?)',
        )
        .run(id, unwind, Date.parse(started), outcome, JSON.stringify({ id, unwind, started, outcome, ...rest }))
    }
    old.close()
    const store = storeAt(path)
    expect(store.splices({ text: 'kraft', limit: 100 }).map(({ id }) => id)).toEqual(
      plain(all.slice(0, 20), { text: 'kraft', limit: 100 }),
    )
    expect(store.splices({ cause: 'web_break', limit: 100 }).map(({ id }) => id)).toEqual(
      plain(all.slice(0, 20), { cause: 'web_break', limit: 100 }),
    )
  })
})

it('the log is kept, found by what it is of, and counted against', () => {
  const path = join(temporaryFolder(), 'history.sqlite')
  const store = storeAt(path)
  const entry = (tMs: number, kind: LogEntry['kind'], subject: string): LogEntry => ({
    id: `press-${kind}-${subject}-${tMs}`,
    unwind: 'press',
    time: new Date(tMs).toISOString(),
    kind,
    subject,
    side: null,
    from: null,
    to: null,
    unit: '',
    person: 'Ada',
    note: '',
    taken_back: null,
  })
  store.putLog(entry(START_MS, 'service', 'knife'))
  store.putLog(entry(START_MS + 1000, 'setting', 'extra.press_time'))
  store.putLog(entry(START_MS + 2000, 'service', 'tape'))
  for (const [i, outcome] of (['good', 'failed', 'missed', 'good'] as const).entries()) {
    const tMs = START_MS + i * 1000
    store.putSplice({ ...spliceView(tMs, { outcome }), unwind: 'press', id: `press-${tMs}` })
  }
  expect(store.log({ limit: 10 }).map(({ subject }) => subject)).toEqual(['tape', 'extra.press_time', 'knife'])
  expect(store.log({ unwind: 'press', kind: 'service', subject: 'knife', limit: 1 })[0]?.person).toBe('Ada')
  expect(store.log({ unwind: 'other', limit: 10 })).toEqual([])
  expect(store.log({ fromTMs: START_MS + 500, toTMs: START_MS + 1500, limit: 10 }).length).toBe(1)
  expect(store.countSplices('press', { fromTMs: START_MS, toTMs: START_MS + 10_000 })).toEqual({
    splices: 3,
    failures: 1,
  })
  // Whoever takes a service back leaves an entry; one of a service that was never entered takes nothing back.
  const back = (atMs: number, from: number): LogEntry => ({
    ...entry(START_MS + atMs, 'service_taken_back', 'knife'),
    from: new Date(START_MS + from).toISOString(),
    person: 'Bo',
  })
  store.putLog(back(3000, 1))
  expect(store.log({ limit: 10 })).toHaveLength(3)
  store.putLog(back(4000, 0))
  const all = store.log({ limit: 10 })
  expect(all.map(({ kind, taken_back }) => [kind, taken_back?.person ?? null])).toEqual([
    ['service_taken_back', null],
    ['service', null],
    ['setting', null],
    ['service', 'Bo'],
  ])
  const standing = store.log({ unwind: 'press', kind: 'service', standing: true, limit: 10 })
  expect(standing.map(({ subject }) => subject)).toEqual(['tape'])
})
