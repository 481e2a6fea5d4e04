/** The main numbers of the advice beside each stored forecast: here, and in the database. */

import { join } from 'node:path'
import { describe, expect, test } from 'vitest'
import { FORECAST_COLUMNS, type StoredForecast } from '../../edge/columns.ts'
import { History } from '../../edge/history/history.ts'
import { forecastPoint } from '../../edge/outputs/points.ts'
import { newReplay, samplesOf } from '../pipeline/replay-simulation.ts'
import { simulate } from '../truth/line-simulator.ts'
import { storeAt, temporaryFolder } from './store-for-tests.ts'

const run = simulate({ rollS: 400, firstRoll: 0.9, durationS: 120, seed: 3 })
const tMs = run.scenario.startTMs + 100_000
const { replay, said } = newReplay(run.config)
replay.take(samplesOf(run.rows).filter((sample) => sample.tMs <= tMs))
const rows = replay.unwinds.storedForecasts(tMs)

describe('a stored forecast', () => {
  test('has the forecast and the advice, and the CSV columns stay as they are', () => {
    const [row] = rows as [StoredForecast]
    expect(row).toMatchObject({ unwind: run.scenario.unwind, state: 'running' })
    for (const key of ['must_be_ready_seconds', 'lasting_speed', 'smallest_splice_diameter', 'left_on_core'] as const) {
      expect(row[key], key).toBeGreaterThan(0)
    }
    expect(row.must_be_ready_seconds!).toBeLessThan(row.seconds_to_splice!)
    expect(row.must_be_ready_low!).toBeLessThan(row.must_be_ready_seconds!)
    expect(row.flag_metres).toBeNull()
    expect(Object.keys(said.forecast[0]!)).toEqual([...FORECAST_COLUMNS])
  })

  test('is one point with all known numbers as fields', () => {
    const point = forecastPoint('works', rows[0]!)
    expect(point).toMatchObject({ measurement: 'forecast', tags: { site: 'works', unwind: run.scenario.unwind }, tMs })
    expect(point?.fields['must_be_ready_seconds']).toBe(rows[0]?.must_be_ready_seconds)
    expect(point?.fields['smallest_splice_diameter']).toBe(rows[0]?.smallest_splice_diameter)
    expect(point?.fields).not.toHaveProperty('flag_metres')
  })

  test('is kept by the history on this machine, every five seconds', () => {
    const store = storeAt(join(temporaryFolder(), 'history.sqlite'))
    const history = new History(store, undefined)
    let asked = 0
    const give = (at: number) => () => {
      asked += 1
      return rows.map((row) => ({ ...row, time: new Date(at).toISOString() }))
    }
    for (let second = 0; second < 10; second += 1) history.forecasts(give(tMs + second * 1000), tMs + second * 1000)
    store.flush()
    const kept = store.forecasts(run.scenario.unwind, { fromTMs: tMs, toTMs: tMs + 10_000 })
    expect(asked).toBe(2)
    expect(kept.map(({ lasting_speed }) => lasting_speed)).toEqual([rows[0]?.lasting_speed, rows[0]?.lasting_speed])
  })
})
