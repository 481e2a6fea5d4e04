import { join } from 'node:path'
import { describe, expect, it } from 'vitest'
import type { HistoryStore } from '../../edge/history/store.ts'
import { BufferedOutput, type Delivery, type Sender } from '../../edge/outputs/buffered.ts'
import type { Point } from '../../edge/outputs/output.ts'
import { START_MS, type StandingClock, standingClock, storeAt, temporaryFolder } from '../history/store-for-tests.ts'

const pointAt = (n: number): Point => ({ measurement: 'signal', tags: { site: 'A' }, fields: { n }, tMs: START_MS + n })
const numbers = (points: readonly Point[]): number[] => points.map(({ fields }) => Number(fields['n']))
const range = (n: number): number[] => Array.from({ length: n }, (_, i) => i)

/** A clock whose `every` fires when the test says so. */
function steppedClock(): StandingClock & { step(ms: number): Promise<void> } {
  const runs = new Set<() => void>()
  const clock = standingClock()
  const step = async (ms: number): Promise<void> => {
    clock.tMs += ms
    for (const run of [...runs]) run()
    // The sender of these tests answers at once: one turn of the event loop and its work is done.
    await new Promise((resolve) => setImmediate(resolve))
  }
  const every = (_everyMs: number, run: () => void) => {
    runs.add(run)
    return () => runs.delete(run)
  }
  return Object.assign(clock, { every, step })
}

/** A database that holds what it was given, and answers as the test wants. */
class Database implements Sender {
  readonly held = new Map<number, number>()
  requests = 0
  answer: (points: readonly Point[]) => Delivery = () => ({ kind: 'taken' })

  async send(points: readonly Point[]): Promise<Delivery> {
    this.requests += 1
    const delivery = this.answer(points)
    const refused = delivery.kind === 'partly_taken' ? new Set(delivery.refused.map(({ index }) => index)) : new Set()
    if (delivery.kind === 'taken' || delivery.kind === 'partly_taken') {
      points.forEach((point, index) => {
        if (!refused.has(index)) this.held.set(Number(point.fields['n']), point.tMs)
      })
    }
    return delivery
  }
}

function set(most = 100) {
  const path = join(temporaryFolder(), 'history.db')
  const clock = steppedClock()
  const store = storeAt(path, { clock })
  const database = new Database()
  const output = new BufferedOutput({ store, sender: database, clock, mostInBatch: most })
  const write = (ns: readonly number[]): void => {
    output.write(ns.map(pointAt))
    store.flush()
  }
  output.start()
  return { path, clock, store, database, output, write }
}

const held = (database: Database): number[] => [...database.held.keys()].sort((a, b) => a - b)
const letters = (store: HistoryStore): number[] => numbers(store.deadLetters().map(({ point }) => point))

it('sends what is spooled in batches and empties the spool', async () => {
  const { clock, store, database, output, write } = set()
  expect(output.health().state).toBe('idle')
  write(range(250))
  await clock.step(500)
  expect(held(database)).toEqual(range(250))
  expect(database.requests).toBe(3)
  expect(store.spoolSize()).toBe(0)
  expect(output.health()).toEqual({ state: 'idle', waiting: 0, sent: 250, refused: 0, trouble: undefined })
})

it('keeps everything through an outage, says why, tries less and less often, and catches up', async () => {
  const { clock, store, database, output, write } = set()
  database.answer = () => ({ kind: 'away', sentence: 'It is away.' })
  for (let s = 0; s < 120; s += 1) {
    write([s])
    await clock.step(1000)
  }
  expect(output.health()).toMatchObject({ state: 'waiting', waiting: 120, sent: 0, trouble: 'It is away.' })
  expect(database.requests).toBeLessThan(12)
  database.answer = () => ({ kind: 'taken' })
  await clock.step(30_000)
  expect(held(database)).toEqual(range(120))
  expect(output.health()).toMatchObject({ state: 'idle', waiting: 0, sent: 120, trouble: undefined })
  expect(store.dropped()).toEqual({})
})

it('waits as long as the database asks, within reason', async () => {
  const { clock, database, write } = set()
  database.answer = () => ({ kind: 'away', sentence: 'Overloaded.', pauseMs: 10_000 })
  write([1])
  await clock.step(500)
  await clock.step(9000)
  expect(database.requests).toBe(1)
  await clock.step(1500)
  expect(database.requests).toBe(2)
})

describe('a refused point', () => {
  it('that the answer names becomes a dead letter, the others are settled', async () => {
    const { clock, store, database, output, write } = set()
    database.answer = (points) => {
      const index = numbers(points).indexOf(7)
      return index < 0 ? { kind: 'taken' } : { kind: 'partly_taken', refused: [{ index, reason: 'a text before' }] }
    }
    write(range(20))
    await clock.step(500)
    expect(held(database)).toEqual(range(20).filter((n) => n !== 7))
    expect(store.deadLetters()).toEqual([{ point: pointAt(7), reason: 'a text before' }])
    expect(output.health()).toMatchObject({ waiting: 0, sent: 19, refused: 1 })
  })

  it('that the answer does not name is found by halving, however many there are', async () => {
    const { clock, store, database, output, write } = set()
    const bad = new Set([0, 13, 14, 77, 99, 205])
    database.answer = (points) =>
      numbers(points).some((n) => bad.has(n)) ? { kind: 'refused', reason: 'no' } : { kind: 'taken' }
    write(range(210))
    await clock.step(500)
    expect(held(database)).toEqual(range(210).filter((n) => !bad.has(n)))
    expect(letters(store).sort((a, b) => a - b)).toEqual([...bad])
    expect(output.health()).toMatchObject({ state: 'idle', waiting: 0, sent: 204, refused: 6 })
  })

  it('after point after point of them slows the queue down instead of emptying it into the dead letters', async () => {
    const { clock, store, database, output, write } = set()
    database.answer = () => ({ kind: 'refused', reason: 'no such policy' })
    write(range(500))
    await clock.step(500)
    await clock.step(1000)
    expect(output.health()).toMatchObject({ state: 'waiting', trouble: expect.stringContaining('no such policy') })
    expect(store.deadLetters().length).toBeLessThan(60)
    database.answer = () => ({ kind: 'taken' })
    await clock.step(60_000)
    expect(held(database).length + store.deadLetters().length).toBe(500)
  })
})

it('goes on after a restart where it was: what was not confirmed is sent again', async () => {
  const { path, clock, store, database, output, write } = set()
  database.answer = () => ({ kind: 'away', sentence: 'It is away.' })
  write(range(30))
  await clock.step(500)
  await output.stop()
  store.close()
  const again = storeAt(path, { clock })
  const second = new BufferedOutput({ store: again, sender: database, clock })
  database.answer = () => ({ kind: 'taken' })
  second.start()
  await clock.step(500)
  expect(held(database)).toEqual(range(30))
})

it('does not stop before the batch on its way is settled, but not for ever', async () => {
  const { clock, store, output, write } = set()
  const { promise, resolve } = Promise.withResolvers<Delivery>()
  const slow = new BufferedOutput({ store, sender: { send: () => promise }, clock })
  await output.stop()
  slow.start()
  write([1])
  await clock.step(500)
  const stopped = slow.stop()
  resolve({ kind: 'taken' })
  await stopped
  expect(store.spoolSize()).toBe(0)
  const stuck = new BufferedOutput({ store, sender: { send: () => new Promise(() => undefined) }, clock })
  stuck.start()
  write([2])
  await clock.step(500)
  const given = stuck.stop()
  await clock.step(5000)
  await given
  expect(store.spoolSize()).toBe(1)
})

it('survives a sender that breaks its promise and throws', async () => {
  const { clock, store, output, write } = set()
  await output.stop()
  const sender = { send: () => Promise.reject(new Error('boom')) }
  const broken = new BufferedOutput({ store, sender, clock })
  broken.start()
  write([1])
  await clock.step(500)
  expect(broken.health()).toMatchObject({ state: 'waiting', waiting: 1, trouble: expect.stringContaining('boom') })
})
