/** Alarms over simulated lines: silent where all is well, and there in time where something is not. */
import { describe, expect, test } from 'vitest'
import type { AlarmId } from '../../edge/columns.ts'
import { simulate } from '../truth/line-simulator.ts'
import { ALL, REQUIRED, type Scenario, SUBSTRATES, USUAL } from '../truth/scenario.ts'
import { replaySimulation } from './replay-simulation.ts'

const MAPPED = { required: REQUIRED, usual: USUAL, all: ALL }
/** The next roll is ready long before it is needed. */
const WELL: Partial<Scenario> = { preparationS: 40, durationS: 620, seed: 5 }

const raised = (given: Partial<Scenario>): { alarm: AlarmId; tMs: number; priority: string }[] =>
  replaySimulation(simulate(given))
    .alarms.filter(({ event }) => event === 'raised')
    .map(({ alarm, time, priority }) => ({ alarm, tMs: Date.parse(time), priority }))

describe.each(Object.entries(MAPPED))('with %s signals', (_mapped, signals) => {
  const quiet: [string, Partial<Scenario>][] = [
    ...Object.entries(SUBSTRATES),
    ['a festoon that rides full', { bufferMode: 'rides_full' }],
    ['a planned slow-down', { spliceSpeedMpm: 150 }],
    ['flying splices', { method: 'flying' }],
    ['stopped splices', { method: 'stopped' }],
    ['noise of 5 mm', { noiseMm: 5 }],
    ['tags on change', { onChange: true }],
    ['tags once a second', { periodMs: 1000 }],
    ['an out-of-round roll', { outOfRoundMm: 2 }],
    ['the reading 3 mm and 1 % off', { offsetMm: 3, scale: 1.01 }],
    [
      'stops and ramps',
      { firstRoll: 1, schedule: [60, 120, 200, 260].map((atS, i) => ({ atS, speedMpm: [0, 300, 100, 300][i]! })) },
    ],
  ]
  test.each(quiet)('%s: good splices raise nothing', (_name, given) => {
    expect(raised({ ...WELL, signals, ...given }).map(({ alarm }) => alarm)).toEqual([])
  })

  test('a splicer that does not start is overdue within 3 s, and missed once the line stands', () => {
    const given = { ...WELL, signals, events: [{ roll: 0, kind: 'ran_out' as const }] }
    const past = simulate(given).truth.find(({ readingMm }) => readingMm < SUBSTRATES.label.spliceMm)!
    const alarms = raised(given)
    const overdue = alarms.find(({ alarm }) => alarm === 'splice_overdue')
    expect(overdue!.tMs - past.tMs).toBeGreaterThan(0)
    expect(overdue!.tMs - past.tMs).toBeLessThan(3000)
    expect(alarms.filter(({ alarm }) => alarm === 'splice_missed').length).toBe(1)
  })

  test('a failed splice is one alarm', () => {
    const alarms = raised({ ...WELL, signals, events: [{ roll: 0, kind: 'cycle_too_slow' }] })
    expect(alarms.filter(({ alarm }) => alarm === 'splice_failed').length).toBe(1)
    expect(alarms.filter(({ alarm }) => alarm === 'splice_missed')).toEqual([])
  })

  test('a buffer that is too small for this speed is said two minutes before the fill', () => {
    const given = { ...WELL, signals, rollS: 400, firstRoll: 0.9, capacityM: 18, durationS: 450 }
    const short = raised(given).find(({ alarm }) => alarm === 'buffer_short')
    const run = simulate(given)
    expect(run.splices[0]).toMatchObject({ outcome: 'failed', cause: 'buffer_empty' })
    const fill = run.truth.find(({ state }) => state === 'filling')!
    expect(fill.tMs - short!.tMs).toBeGreaterThanOrEqual(120_000)
  })
})

test('a roll that is not ready is said in time to prepare it', () => {
  const given = { ...WELL, signals: USUAL, rollS: 400, firstRoll: 0.9, durationS: 420, preparationS: 120 }
  const run = simulate({ ...given, events: [{ roll: 0, kind: 'no_new_roll' }] })
  const undisturbed = simulate(given)
  const fill = undisturbed.truth.find(({ state }) => state === 'filling')!
  const first = replaySimulation(run).alarms.find(
    ({ alarm, event }) => alarm === 'roll_not_ready' && event === 'raised',
  )
  // First at 1.5 × the preparation before the deadline, which is the fill's start (trade notes).
  const aheadS = (fill.tMs - Date.parse(first!.time)) / 1000
  expect(aheadS).toBeGreaterThan(1.3 * 120)
  expect(aheadS).toBeLessThan(1.8 * 120)
})
