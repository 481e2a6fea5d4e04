/** A store in a folder of its own, with a clock that stands until it is moved. */
import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { onTestFinished } from 'vitest'
import type { Clock } from '../../edge/clock.ts'
import { DEFAULT_KEEP, openStore, type StoreOptions } from '../../edge/history/sqlite-store.ts'
import type { HistoryStore } from '../../edge/history/store.ts'
import { START_MS } from './samples.ts'

export { entryOf, forecastRow, START_MS, spliceView } from './samples.ts'

export interface StandingClock extends Clock {
  tMs: number
}

export function standingClock(tMs: number = START_MS): StandingClock {
  const clock: StandingClock = { tMs, nowMs: () => clock.tMs, every: () => () => undefined }
  return clock
}

export function temporaryFolder(): string {
  const folder = mkdtempSync(join(tmpdir(), 'lastwrap-history-'))
  onTestFinished(() => rmSync(folder, { recursive: true, force: true }))
  return folder
}

export function storeAt(path: string, options: Partial<StoreOptions> = {}): HistoryStore {
  const store = openStore(path, { clock: standingClock(), keep: DEFAULT_KEEP, flushEverySecond: false, ...options })
  onTestFinished(() => store.close())
  return store
}
