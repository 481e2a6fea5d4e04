/**
 * Samples and forecasts on disk: narrow rows while their minute lasts, one compressed blob per minute afterwards, with
 * roll-ups by minute and by hour. All writing happens inside the store's transaction.
 */
import type { DatabaseSync } from 'node:sqlite'
import { deflateRawSync, inflateRawSync } from 'node:zlib'
import type { StoredForecast } from '../columns.ts'
import { packPoints, unpackPoints } from './chunk.ts'
import type { PendingForecast } from './group.ts'
import type { SignalPoint, SignalRollup, TimeSpan } from './store.ts'

const MINUTE_MS = 60_000
const HOUR_MS = 3_600_000
/** Late samples are waited for so long before a minute is packed, in sample time and by the clock. */
const LATE_MS = 10_000
const LATE_BY_CLOCK_MS = 300_000
/** Minutes packed in one commit: keeps it to some 20 ms however many signals there are; 1,800 series still keep up. */
const PACKED_AT_ONCE = 30

const minuteOf = (tMs: number): number => Math.floor(tMs / MINUTE_MS) * MINUTE_MS

export class SampleTables {
  private readonly sql
  private newestTMs = 0
  private damaged = 0

  constructor(database: DatabaseSync) {
    this.sql = statements(database)
  }

  addSignals(points: readonly SignalPoint[]): void {
    for (const { unwind, signal, tMs, value } of points) {
      this.sql.addSignal.run(unwind, signal, minuteOf(tMs), tMs, value)
      if (tMs > this.newestTMs) this.newestTMs = tMs
    }
  }

  addForecasts(rows: readonly PendingForecast[]): void {
    for (const { unwind, tMs, row } of rows) {
      this.sql.addForecast.run(unwind, minuteOf(tMs), tMs, row)
      if (tMs > this.newestTMs) this.newestTMs = tMs
    }
  }

  /**
   * Packs minutes that are over, a few at a time.
   * @returns how many packed minutes were found unreadable and gave way to the late samples that were to join them.
   */
  pack(nowMs: number): number {
    this.damaged = 0
    // A sample from the future must not make every present minute look over.
    const newest = Math.min(this.newestTMs, nowMs + MINUTE_MS)
    const over = Math.max(newest - LATE_MS, nowMs - LATE_BY_CLOCK_MS) - MINUTE_MS
    const signals = this.sql.signalMinutesOver.all(over, PACKED_AT_ONCE)
    for (const { unwind, signal, minute_ms } of signals)
      this.packSignal(String(unwind), String(signal), Number(minute_ms))
    const forecasts = this.sql.forecastMinutesOver.all(over, PACKED_AT_ONCE)
    for (const { unwind, minute_ms } of forecasts) this.packForecast(String(unwind), Number(minute_ms))
    return this.damaged
  }

  private packSignal(unwind: string, signal: string, minuteMs: number): void {
    const fresh = this.sql.signalTail
      .all(minuteMs, unwind, signal)
      .map((row): SignalPoint => ({ unwind, signal, tMs: Number(row['t_ms']), value: row['value'] as number | null }))
    const packed = this.sql.signalMinute.get(unwind, signal, minuteMs)?.['points'] as Uint8Array | undefined
    const all = packed === undefined ? fresh : [...this.readable(() => unpackPoints(packed)), ...fresh]
    all.sort((a, b) => a.tMs - b.tMs)
    const { n, low, high, mean } = rollup(minuteMs, all)
    this.sql.putSignalMinute.run(unwind, signal, minuteMs, n, low, high, mean, packPoints(all))
    const added = rollup(minuteMs, fresh)
    const total = (added.mean ?? 0) * added.n
    const hourMs = Math.floor(minuteMs / HOUR_MS) * HOUR_MS
    this.sql.putSignalHour.run(unwind, signal, hourMs, added.n, added.low, added.high, total)
    this.sql.removeSignalTail.run(minuteMs, unwind, signal)
  }

  private packForecast(unwind: string, minuteMs: number): void {
    const fresh = this.sql.forecastTail
      .all(minuteMs, unwind)
      .map((row) => JSON.parse(String(row['row'])) as StoredForecast)
    const packed = this.sql.forecastMinute.get(unwind, minuteMs)?.['rows'] as Uint8Array | undefined
    const all = packed === undefined ? fresh : [...this.readable(() => unpackRows(packed)), ...fresh]
    all.sort(byTime)
    this.sql.putForecastMinute.run(unwind, minuteMs, deflateRawSync(JSON.stringify(all)))
    this.sql.removeForecastTail.run(minuteMs, unwind)
  }

  private readable<T>(unpack: () => T[]): T[] {
    try {
      return unpack()
    } catch {
      this.damaged += 1
      return []
    }
  }

  signals(unwind: string, signal: string, { fromTMs, toTMs }: TimeSpan): SignalPoint[] {
    const packed = this.sql.signalMinutesIn
      .all(unwind, signal, minuteOf(fromTMs), toTMs)
      .flatMap((row) => unpackPoints(row['points'] as Uint8Array))
    const tail = this.sql.signalTailIn
      .all(unwind, signal, fromTMs, toTMs)
      .map((row): SignalPoint => ({ unwind, signal, tMs: Number(row['t_ms']), value: row['value'] as number | null }))
    return [...packed, ...tail].filter(({ tMs }) => tMs >= fromTMs && tMs < toTMs).sort((a, b) => a.tMs - b.tMs)
  }

  forecasts(unwind: string, { fromTMs, toTMs }: TimeSpan): StoredForecast[] {
    const packed = this.sql.forecastMinutesIn
      .all(unwind, minuteOf(fromTMs), toTMs)
      .flatMap((row) => unpackRows(row['rows'] as Uint8Array))
    const tail = this.sql.forecastTailIn
      .all(unwind, fromTMs, toTMs)
      .map((row) => JSON.parse(String(row['row'])) as StoredForecast)
    return [...packed, ...tail].filter(({ time }) => isWithin(Date.parse(time), fromTMs, toTMs)).sort(byTime)
  }

  /** Of minutes that are packed, and the hours that those make up. */
  rollups(unwind: string, signal: string, per: 'minute' | 'hour', { fromTMs, toTMs }: TimeSpan): SignalRollup[] {
    const rows = (per === 'minute' ? this.sql.minuteRollups : this.sql.hourRollups).all(unwind, signal, fromTMs, toTMs)
    return rows.map((row) => ({
      tMs: Number(row['t_ms']),
      n: Number(row['n']),
      low: row['low'] as number | null,
      high: row['high'] as number | null,
      mean: row['mean'] as number | null,
    }))
  }

  prune(beforeTMs: number): void {
    this.sql.pruneSignals.run(beforeTMs)
    this.sql.pruneForecasts.run(beforeTMs)
  }
}

function rollup(tMs: number, points: readonly SignalPoint[]): SignalRollup {
  let n = 0
  let low = Number.POSITIVE_INFINITY
  let high = Number.NEGATIVE_INFINITY
  let mean = 0
  for (const { value } of points) {
    if (value === null) continue
    n += 1
    low = Math.min(low, value)
    high = Math.max(high, value)
    mean += (value - mean) / n
  }
  return n === 0 ? { tMs, n, low: null, high: null, mean: null } : { tMs, n, low, high, mean }
}

const unpackRows = (packed: Uint8Array): StoredForecast[] => JSON.parse(inflateRawSync(packed).toString('utf8'))
const isWithin = (tMs: number, fromTMs: number, toTMs: number): boolean => tMs >= fromTMs && tMs < toTMs
const byTime = (a: StoredForecast, b: StoredForecast): number => Date.parse(a.time) - Date.parse(b.time)

function statements(database: DatabaseSync) {
  const sql = (text: string) => database.prepare(text)
  return {
    addSignal: sql('INSERT INTO signal_tail (unwind, signal, minute_ms, t_ms, value) VALUES (?, ?, ?, ?, ?)'),
    addForecast: sql('INSERT INTO forecast_tail (unwind, minute_ms, t_ms, row) VALUES (?, ?, ?, ?)'),
    signalMinutesOver: sql('SELECT DISTINCT minute_ms, unwind, signal FROM signal_tail WHERE minute_ms <= ? LIMIT ?'),
    forecastMinutesOver: sql('SELECT DISTINCT minute_ms, unwind FROM forecast_tail WHERE minute_ms <= ? LIMIT ?'),
    signalTail: sql(
      'SELECT t_ms, value FROM signal_tail WHERE minute_ms = ? AND unwind = ? AND signal = ? ORDER BY rowid',
    ),
    forecastTail: sql('SELECT row FROM forecast_tail WHERE minute_ms = ? AND unwind = ? ORDER BY rowid'),
    removeSignalTail: sql('DELETE FROM signal_tail WHERE minute_ms = ? AND unwind = ? AND signal = ?'),
    removeForecastTail: sql('DELETE FROM forecast_tail WHERE minute_ms = ? AND unwind = ?'),
    signalMinute: sql('SELECT points FROM signal_minutes WHERE unwind = ? AND signal = ? AND t_ms = ?'),
    forecastMinute: sql('SELECT rows FROM forecast_minutes WHERE unwind = ? AND t_ms = ?'),
    putSignalMinute: sql('INSERT OR REPLACE INTO signal_minutes VALUES (?, ?, ?, ?, ?, ?, ?, ?)'),
    putForecastMinute: sql('INSERT OR REPLACE INTO forecast_minutes VALUES (?, ?, ?)'),
    putSignalHour: sql(`INSERT INTO signal_hours VALUES (?, ?, ?, ?, ?, ?, ?)
      ON CONFLICT DO UPDATE SET n = n + excluded.n, total = total + excluded.total,
        low = min(coalesce(low, excluded.low), coalesce(excluded.low, low)),
        high = max(coalesce(high, excluded.high), coalesce(excluded.high, high))`),
    signalMinutesIn: sql(
      'SELECT points FROM signal_minutes WHERE unwind = ? AND signal = ? AND t_ms >= ? AND t_ms < ? ORDER BY t_ms',
    ),
    forecastMinutesIn: sql(
      'SELECT rows FROM forecast_minutes WHERE unwind = ? AND t_ms >= ? AND t_ms < ? ORDER BY t_ms',
    ),
    signalTailIn: sql(
      'SELECT t_ms, value FROM signal_tail WHERE unwind = ? AND signal = ? AND t_ms >= ? AND t_ms < ? ORDER BY rowid',
    ),
    forecastTailIn: sql('SELECT row FROM forecast_tail WHERE unwind = ? AND t_ms >= ? AND t_ms < ? ORDER BY rowid'),
    minuteRollups: sql(`SELECT t_ms, n, low, high, mean FROM signal_minutes
      WHERE unwind = ? AND signal = ? AND t_ms >= ? AND t_ms < ? ORDER BY t_ms`),
    hourRollups: sql(`SELECT t_ms, n, low, high, CASE WHEN n > 0 THEN total / n END AS mean FROM signal_hours
      WHERE unwind = ? AND signal = ? AND t_ms >= ? AND t_ms < ? ORDER BY t_ms`),
    pruneSignals: sql('DELETE FROM signal_minutes WHERE t_ms < ?'),
    pruneForecasts: sql('DELETE FROM forecast_minutes WHERE t_ms < ?'),
  }
}
