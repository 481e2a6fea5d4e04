/** A process that writes is killed with -9, again and again: nothing acknowledged is lost, nothing is there by half. */
import { type ChildProcess, spawn } from 'node:child_process'
import { once } from 'node:events'
import { join } from 'node:path'
import { createInterface } from 'node:readline'
import { expect, it, onTestFinished } from 'vitest'
import type { HistoryStore } from '../../edge/history/store.ts'
import { POINTS_PER_ROUND, roundOf, SPLICE_ROUNDS, SPOOLED_PER_ROUND, spliceOf } from './rounds.ts'
import { storeAt, temporaryFolder } from './store-for-tests.ts'

const KILLS = 5
const ALL = { fromTMs: 0, toTMs: Number.MAX_SAFE_INTEGER }

/** Runs the writer until it acknowledged `rounds` of them, then kills it wherever it is. @returns the last acknowledged. */
async function writeAndKill(path: string, firstRound: number, rounds: number): Promise<number> {
  const writer: ChildProcess = spawn(
    process.execPath,
    [join(import.meta.dirname, 'round-writer.ts'), path, String(firstRound)],
    { stdio: ['ignore', 'pipe', 'inherit'] },
  )
  onTestFinished(() => void writer.kill('SIGKILL'))
  const gone = once(writer, 'exit')
  let last = -1
  for await (const line of createInterface({ input: writer.stdout! })) {
    last = Number(line)
    if (last === firstRound + rounds - 1) writer.kill('SIGKILL')
  }
  expect(await gone).toEqual([null, 'SIGKILL'])
  return last
}

/** How much of each kind is there, by round. */
function countsByRound(store: HistoryStore) {
  const perRound = (times: number[]): Map<number, number> => {
    const counts = new Map<number, number>()
    for (const tMs of times) counts.set(roundOf(tMs), (counts.get(roundOf(tMs)) ?? 0) + 1)
    return counts
  }
  const signals = ['line_speed', 'roll_diameter'].flatMap((signal) => store.signals('label_press', signal, ALL))
  return {
    signals: perRound(signals.map(({ tMs }) => tMs)),
    forecasts: perRound(store.forecasts('label_press', ALL).map(({ time }) => Date.parse(time))),
    spooled: perRound(store.spooled(1_000_000).map(({ point }) => point.tMs)),
    splices: perRound(store.splices({ limit: 1_000_000 }).map(({ started }) => Date.parse(started))),
  }
}

it(`is whole after each of ${KILLS} kills`, { timeout: 60_000 }, async () => {
  const path = join(temporaryFolder(), 'history.db')
  let next = 0
  for (let kill = 0; kill < KILLS; kill += 1) {
    const acknowledged = await writeAndKill(path, next, 20 + kill * 7)
    const store = storeAt(path)
    const { signals, forecasts, spooled, splices } = countsByRound(store)
    const written = Math.max(...signals.keys())
    expect(store.notices()).toEqual([])
    expect(written).toBeGreaterThanOrEqual(acknowledged)
    // One round may have been committed and not yet acknowledged; it is then whole as well.
    for (let round = 0; round <= written; round += 1) {
      const hasSplice = round % SPLICE_ROUNDS !== 0
      const there = [signals, forecasts, spooled, splices].map((counts) => counts.get(round) ?? 0)
      expect([round, ...there]).toEqual([round, POINTS_PER_ROUND, 1, SPOOLED_PER_ROUND, hasSplice ? 1 : 0])
      expect(store.tracePoints(spliceOf(round).id)).toHaveLength(POINTS_PER_ROUND)
    }
    expect(store.snapshot('round')).toEqual({ tMs: written, data: { round: written } })
    expect([forecasts, spooled].map((counts) => Math.max(...counts.keys()))).toEqual([written, written])
    store.close()
    next = written + 1
  }
})
