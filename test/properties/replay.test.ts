/** What must hold of a replay whatever the recording: restarts, shifts of time, order of arrival, odd values. */
import fc from 'fast-check'
import { describe, expect, test } from 'vitest'
import type { ForecastRow } from '../../edge/columns.ts'
import { replayInTwo, replaySimulation } from '../pipeline/replay-simulation.ts'
import { simulate } from '../truth/line-simulator.ts'
import type { RecordingRow } from '../truth/recording-file.ts'
import { ALL, REQUIRED, type Scenario } from '../truth/scenario.ts'

/** A splice at 55 s, the next roll's at 150 s. */
const SHORT: Partial<Scenario> = { rollS: 90, firstRoll: 0.65, preparationS: 30, durationS: 170, repairS: 25 }

describe.each([
  ['required signals', { ...SHORT, signals: REQUIRED }],
  ['all signals', { ...SHORT, signals: ALL }],
  ['a failed splice', { ...SHORT, signals: ALL, events: [{ roll: 0, kind: 'web_break' as const }] }],
  ['a missed splice', { ...SHORT, signals: REQUIRED, events: [{ roll: 0, kind: 'ran_out' as const }] }],
  ['flying', { ...SHORT, method: 'flying' as const }],
  ['stopped', { ...SHORT, method: 'stopped' as const, joinS: 15 }],
] satisfies [string, Partial<Scenario>][])('%s', (_name, scenario) => {
  const run = simulate(scenario)
  const whole = replaySimulation(run)

  // Seconds at which something is under way: mid-roll, filling, slowing, stopped, starting, refilling, after.
  test.each([12, 40, 55.3, 57.2, 58.5, 61, 64, 70, 85, 110])('a restart after %d s changes nothing', (afterS) => {
    const split = replayInTwo(run.config, run.rows, run.scenario.startTMs + afterS * 1000)
    expect(split.forecast).toEqual(whole.forecast)
    expect(split.alarms).toEqual(whole.alarms)
    const ended = whole.splices.map(({ id, outcome, cause, flags }) => ({ id, outcome, cause, flags }))
    expect(split.splices.map(({ id, outcome, cause, flags }) => ({ id, outcome, cause, flags }))).toEqual(
      // What was closed before the restart is in the store, not in the pipeline.
      ended.filter(({ id }) => split.splices.some((splice) => splice.id === id)),
    )
  })
})

test('a shift of time shifts every stamp and changes nothing else', () => {
  const shiftMs = 123_456_000
  const [plain, shifted] = [0, shiftMs].map((ms) => {
    const run = simulate({ ...SHORT, startTMs: Date.parse('2026-03-02T06:00:00Z') + ms })
    return replaySimulation(run)
  })
  const back = (time: string): string => new Date(Date.parse(time) - shiftMs).toISOString()
  expect(shifted!.forecast.map((row) => ({ ...row, time: back(row.time) }))).toEqual(plain!.forecast)
  expect(shifted!.alarms.map((row) => ({ ...row, time: back(row.time) }))).toEqual(plain!.alarms)
  expect(
    shifted!.splices.map(({ started, outcome, web_from_buffer }) => [back(started), outcome, web_from_buffer]),
  ).toEqual(plain!.splices.map(({ started, outcome, web_from_buffer }) => [started, outcome, web_from_buffer]))
})

test('a diameter says the same whether it is read before its carriage or after it', () => {
  const run = simulate({ ...SHORT, signals: REQUIRED, periodMs: 1000 })
  const isDiameter = (row: RecordingRow): boolean => row.address.endsWith('Diameter')
  const instants = Map.groupBy(run.rows, (row) => row.tMs)
  const rows = [...instants.values()].flatMap((some) => [
    ...some.filter((row) => !isDiameter(row)),
    ...some.filter(isDiameter),
  ])
  expect(rows.map(({ address }) => address)).not.toEqual(run.rows.map(({ address }) => address))
  expect(replaySimulation({ config: run.config, rows }).forecast).toEqual(replaySimulation(run).forecast)
})

test('duplicates change nothing', () => {
  const run = simulate({ ...SHORT, signals: ALL })
  const twice = run.rows.flatMap((row) => [row, row])
  const { forecast, splices } = replaySimulation(run)
  const doubled = replaySimulation({ config: run.config, rows: twice })
  expect(doubled.splices.map(({ id, outcome }) => [id, outcome])).toEqual(
    splices.map(({ id, outcome }) => [id, outcome]),
  )
  expect(doubled.forecast.length).toBe(forecast.length)
  for (const [i, row] of doubled.forecast.entries()) {
    expect(row.state).toBe(forecast[i]!.state)
    // A reading that counts twice may weigh a little more, no more.
    const [a, b] = [row.metres_to_splice, forecast[i]!.metres_to_splice]
    if (a !== null && b !== null) expect(Math.abs(a - b)).toBeLessThan(0.03 * Math.abs(b) + 3)
  }
})

const NUMBERS = ['diameter', 'caliper', 'metres_to_splice', 'metres_low', 'metres_high', 'buffer_stored'] as const
function expectSane(row: ForecastRow): void {
  for (const value of Object.values(row)) if (typeof value === 'number') expect(Number.isFinite(value)).toBe(true)
  for (const name of NUMBERS.slice(0, 5)) expect(row[name] ?? 0).toBeGreaterThanOrEqual(0)
  const { metres_low: low, metres_to_splice: metres, metres_high: high } = row
  if (metres !== null) {
    expect(low).toBeLessThanOrEqual(metres)
    expect(high).toBeGreaterThanOrEqual(metres)
  }
}

test('no input, however odd, gives NaN, a negative length or a fault', () => {
  const run = simulate({ ...SHORT, signals: ALL, periodMs: 500, durationS: 90 })
  const odd = fc.record({
    at: fc.nat(run.rows.length - 1),
    length: fc.integer({ min: 1, max: 400 }),
    value: fc.oneof(
      fc.constantFrom(
        0,
        -1,
        1e-9,
        1e12,
        -1e308,
        Number.NaN,
        Number.POSITIVE_INFINITY,
        '',
        'abc',
        'NaN',
        true,
        undefined,
      ),
      fc.double(),
    ),
    quality: fc.constantFrom('good' as const, 'uncertain' as const, 'bad' as const),
    tag: fc.option(fc.nat(run.tags.length - 1), { nil: undefined }),
  })
  fc.assert(
    fc.property(fc.array(odd, { minLength: 1, maxLength: 6 }), (spoils) => {
      const rows = [...run.rows]
      for (const { at, length, value, quality, tag } of spoils) {
        const address = tag === undefined ? undefined : run.tags[tag]!.address
        for (let i = at; i < Math.min(rows.length, at + length); i++) {
          if (address === undefined || rows[i]!.address === address) rows[i] = { ...rows[i]!, value, quality }
        }
      }
      const said = replaySimulation({ config: run.config, rows })
      for (const row of said.forecast) expectSane(row)
      for (const splice of said.splices) {
        for (const value of Object.values(splice))
          if (typeof value === 'number') expect(Number.isFinite(value)).toBe(true)
        expect(splice.stopped_seconds ?? 0).toBeGreaterThanOrEqual(0)
        expect(splice.web_from_buffer ?? 0).toBeGreaterThanOrEqual(0)
        expect(splice.left_on_roll ?? 0).toBeGreaterThanOrEqual(0)
      }
    }),
    { numRuns: 20, seed: 11 },
  )
})
