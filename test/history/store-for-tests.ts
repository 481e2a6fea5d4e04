/** A store in a folder of its own, with a clock that stands until it is moved. */
import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { onTestFinished } from 'vitest'
import type { SpliceView } from '../../edge/api/messages.ts'
import type { Clock } from '../../edge/clock.ts'
import type { ForecastRow } from '../../edge/columns.ts'
import { DEFAULT_KEEP, openStore, type StoreOptions } from '../../edge/history/sqlite-store.ts'
import type { HistoryStore } from '../../edge/history/store.ts'

export const START_MS = Date.UTC(2026, 2, 2, 6, 0, 0)

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

export function spliceView(startedTMs: number, changes: Partial<SpliceView> = {}): SpliceView {
  return {
    id: `label_press-${startedTMs}`,
    unwind: 'label_press',
    started: new Date(startedTMs).toISOString(),
    ended: null,
    outcome: null,
    cause: null,
    flags: '',
    diameter: 130.2,
    speed: 300,
    stopped_seconds: null,
    web_from_buffer: null,
    buffer_low: null,
    left_on_roll: null,
    phases: [],
    transfer: null,
    closed: false,
    has_trace: false,
    ...changes,
  }
}

export function forecastRow(tMs: number, changes: Partial<ForecastRow> = {}): ForecastRow {
  return {
    time: new Date(tMs).toISOString(),
    unwind: 'label_press',
    state: 'running',
    diameter: 400.5,
    caliper: 80.1,
    metres_to_splice: 1143.54,
    metres_low: 1140,
    metres_high: 1147,
    seconds_to_splice: 226.7,
    seconds_low: 225,
    seconds_high: 228,
    buffer_stored: 10,
    buffer_needed: 20,
    buffer_margin: 5,
    safe_speed: null,
    ...changes,
  }
}
