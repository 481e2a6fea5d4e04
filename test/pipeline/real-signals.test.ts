/** Every kind of real signal: the countdown stays near the truth, no splice is made up or lost, no alarm cries wolf. */
import { describe, expect, test } from 'vitest'
import type { AlarmRow } from '../../edge/columns.ts'
import { simulate } from '../truth/line-simulator.ts'
import { REAL_SIGNALS } from '../truth/real-signals.ts'
import { describeVerdict, forecastErrors, judgeSplices, rms, share } from './judge.ts'
import { replayInTwo, replaySimulation } from './replay-simulation.ts'

const HORIZONS_S = [30, 20, 10]

const runs = REAL_SIGNALS.map((one, i) => {
  const run = simulate({ ...one.scenario, seed: 500 + i })
  const said = replaySimulation(run)
  return { ...one, run, said, errors: forecastErrors(run, said.forecast, HORIZONS_S) }
})

/** Short rolls leave less time than it takes to prepare the next: that this is said is not what these cases are about. */
const raised = (alarms: readonly AlarmRow[]): string[] =>
  [...new Set(alarms.filter(({ event }) => event === 'raised').map(({ alarm }) => alarm))]
    .filter((alarm) => alarm !== 'roll_not_ready')
    .sort()

describe.each(runs)('$name', ({ run, said, errors, allowedS, alarms, statesAgree }) => {
  test('the countdown', () => {
    for (const [i, horizonS] of HORIZONS_S.entries()) {
      const metres = errors.filter((one) => one.horizonS === horizonS).flatMap((one) => one.metres ?? [])
      expect(metres.length, `forecasts ${horizonS} s before`).toBeGreaterThan(0)
      const inSeconds = metres.map((one) => one / (run.scenario.speedMpm / 60))
      expect(rms(inSeconds), `${horizonS} s before`).toBeLessThan(allowedS[i]!)
    }
  })

  test('splices, alarms, states, and numbers that are numbers', () => {
    expect(describeVerdict(judgeSplices(run, said.splices))).toEqual([])
    expect(said.splices.every(({ outcome }) => outcome === 'good')).toBe(true)
    expect(said.splices.filter(({ flags }) => flags.includes('slow_cycle'))).toEqual([])
    expect(raised(said.alarms)).toEqual(alarms)
    const states = new Map(said.forecast.map((row) => [Date.parse(row.time), row.state]))
    expect(share(run.truth.slice(10).map((row) => states.get(row.tMs) === row.state))).toBeGreaterThan(statesAgree)
    for (const row of said.forecast) {
      for (const value of Object.values(row)) expect(typeof value !== 'number' || Number.isFinite(value)).toBe(true)
      expect(row.metres_low ?? 0).toBeGreaterThanOrEqual(0)
      expect(row.metres_to_splice ?? 0).toBeGreaterThanOrEqual(row.metres_low ?? 0)
      expect(row.metres_high ?? 0).toBeGreaterThanOrEqual(row.metres_to_splice ?? 0)
    }
  })
})

test('over all of them the 80 % interval holds 70 to 95 % of the truths', () => {
  const inside = share(runs.flatMap(({ errors }) => errors).map((one) => one.isMetresInside))
  expect(inside).toBeGreaterThan(0.7)
  expect(inside).toBeLessThan(0.95)
})

test('a sensor that sticks is noticed within the web in which the diameter should have moved by four steps', () => {
  const { run, said } = runs.find(({ name }) => name === 'stuck sensor')!
  const { fromS } = run.scenario.disturbances[0]!
  const at = run.truth.find((row) => row.tMs >= run.scenario.startTMs + fromS * 1000)!
  // 2·t/(π·D) of diameter per metre; a reading that stays the same is told from noise by a quarter of that noise.
  const fallMmPerS = ((2 * run.scenario.caliperUm * 1e-3) / (Math.PI * at.diameterMm)) * (at.speedMpm / 60) * 1000
  const stepMm = Math.max(run.scenario.quantumMm, run.scenario.noiseMm / 4)
  const noticed = said.alarms.find(({ alarm, event }) => alarm === 'diameter_implausible' && event === 'raised')!
  // The alarm's delay is a second, assessed twice a second; a silent tag is given three of its periods.
  const allowedS = (4 * stepMm) / fallMmPerS + 1 + 0.5 + (3 * run.scenario.periodMs) / 1000
  expect((Date.parse(noticed.time) - run.scenario.startTMs) / 1000 - fromS).toBeLessThanOrEqual(allowedS)
})

test('clearly rounded ramps make no longer stop', () => {
  const { run, said } = runs.find(({ name }) => name === 'ramps rounded over 0.8 s')!
  for (const { truth, said: splice } of judgeSplices(run, said.splices).pairs) {
    // By straight lines it was half a second too long; a report of the carriage is a tenth.
    expect(Math.abs(splice.stopped_seconds! - truth.stoppedSeconds!)).toBeLessThan(0.15)
  }
})

test.each(['indexing web', 'indexing web, surface speed mapped', 'indexing web, four strokes a second'])(
  '%s: start, stop and web of each splice',
  (wanted) => {
    const { run, said } = runs.find(({ name }) => name === wanted)!
    const { pairs } = judgeSplices(run, said.splices)
    expect(pairs.length).toBeGreaterThanOrEqual(2)
    for (const { truth, said: splice } of pairs) {
      expect(Math.abs(Date.parse(splice.started) - truth.startedTMs)).toBeLessThan(300)
      expect(Math.abs(splice.stopped_seconds! - truth.stoppedSeconds)).toBeLessThan(0.2)
      expect(Math.abs(splice.web_from_buffer! - truth.webFromBufferM!)).toBeLessThan(0.15)
      expect(Math.abs(splice.buffer_low! - truth.bufferLowM)).toBeLessThan(0.15)
      expect(Math.abs(splice.speed! - truth.speedMpm)).toBeLessThan(0.03 * truth.speedMpm)
    }
  },
)

/** One of each: the program's state, a gap, a preset that converges, a totaliser, a reading that only falls. */
const RESTARTED = [
  'computed from the line speed',
  'preset that takes fifteen turns',
  'totaliser in whole metres that is set to nought',
  'only allowed to fall, preset',
  'half-used roll after threading',
  'indexing web',
]

test.each(RESTARTED)('%s: a daemon restarted anywhere knows what it knew', (wanted) => {
  const { run, said } = runs.find(({ name }) => name === wanted)!
  // A moment that no phase of the scenario is tied to, another one for each case.
  const afterS = 20 + ((wanted.length * 7.31) % 150)
  const split = replayInTwo(run.config, run.rows, run.scenario.startTMs + afterS * 1000)
  expect(split.forecast).toEqual(said.forecast)
  expect(split.alarms).toEqual(said.alarms)
})
