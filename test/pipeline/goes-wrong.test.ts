/**
 * What goes wrong at a splice and shows only in what the generator does not do by itself, and what looks like a splice and is
 * none. Every row of the trade's table (trade notes, "What goes wrong") and where it is tested:
 *
 * | what happens                                  | recording or seeded case                                         |
 * | --------------------------------------------- | ---------------------------------------------------------------- |
 * | new roll not ready, splicer not in automatic   | missed-no-new-roll; splices `no_new_roll`; alarms, catalogue      |
 * | splicer ignores its diameter                   | missed-ran-out-required-only; splices `ran_out`; triggers         |
 * | tape misses, bad leading edge                  | failed-web-break; splices `web_break`; behind a blind turret      |
 * | joint opens later, at a station                | here; joints                                                      |
 * | stop too slow; buffer not full                 | failed-cycle-too-slow; splices `cycle_too_slow`, `buffer_empty`   |
 * | cycle starts and resets                        | aborted-then-good; splices `aborted`                              |
 * | tail carried along, telescoped: people stop    | here                                                              |
 * | new roll slips on its chuck                    | here                                                              |
 * | stop gets longer each week                     | splices `slow_stop`; trends                                       |
 * | carriage loses pressure                        | here: told by its tension, and no splice is made up of a carriage that wanders |
 * | position moves at equal speeds                 | consistency                                                       |
 * | spliced early                                  | splices `manual_early`                                            |
 *
 * Look-alikes: stops, crawls, threading, roll changes by hand, arms, dropouts, gaps (splices, stops-and-a-hand-change); turret
 * indexes, computed diameters, indexing (real-signals); jogging (here).
 */
import { describe, expect, test } from 'vitest'
import type { SignalName } from '../../edge/signals/catalogue.ts'
import { type Simulation, simulate } from '../truth/line-simulator.ts'
import { randomStream } from '../truth/random.ts'
import type { RecordingRow } from '../truth/recording-file.ts'
import { ALL, REQUIRED, type Scenario, USUAL } from '../truth/scenario.ts'
import { describeVerdict, judgeSplices } from './judge.ts'
import { replaySimulation } from './replay-simulation.ts'

const SHORT: Partial<Scenario> = {
  rollS: 90,
  firstRoll: 0.8,
  preparationS: 30,
  repairS: 25,
  durationS: 260,
  spareM: 6,
}
const MAPPED: [string, readonly SignalName[]][] = [
  ['required', REQUIRED],
  ['all', ALL],
]

/** Replays a recording of which some tags say something else. */
function replayWith(run: Simulation, spoil: (row: RecordingRow) => RecordingRow['value']) {
  const said = replaySimulation({ config: run.config, rows: run.rows.map((row) => ({ ...row, value: spoil(row) })) })
  return { said, verdict: judgeSplices(run, said.splices) }
}
const alarmsOf = ({ alarms }: ReturnType<typeof replaySimulation>): string[] => [
  ...new Set(alarms.flatMap(({ alarm, event }) => (event === 'raised' && alarm !== 'roll_not_ready' ? [alarm] : []))),
]

test('a joint that opens at a station is a web break of its splice', () => {
  const run = simulate({
    ...SHORT,
    signals: ALL,
    stationsM: [20],
    durationS: 230,
    events: [{ roll: 0, kind: 'web_break' }],
  })
  const said = replaySimulation(run)
  expect(said.splices.map(({ outcome, cause }) => [outcome, cause])).toEqual([
    ['failed', 'web_break'],
    ['good', null],
  ])
  // The web parts 25 m behind the transfer: past a station at 20 m only by what the buffer held.
  expect(alarmsOf(said)).toContain('web_break')
})

describe.each(MAPPED)('with %s signals', (_mapped, signals) => {
  test('people who stop the line for a tail or a telescoped roll right after a splice make it a failed one', () => {
    const before = simulate({ ...SHORT, signals, durationS: 120 })
    const stopS = (before.splices[0]!.backTMs! - before.scenario.startTMs) / 1000 + 3
    const schedule = [
      { atS: stopS, speedMpm: 0 },
      { atS: stopS + 40, speedMpm: 300 },
    ]
    const run = simulate({ ...SHORT, signals, lineRampMps2: 1, schedule })
    const said = replaySimulation(run)
    // By rule: the line stopped after the transfer with web in the buffer. What it was a person says.
    expect(said.splices.map(({ outcome, cause }) => [outcome, cause])).toEqual([
      ['failed', 'web_break'],
      ['good', null],
    ])
    expect(alarmsOf(said)).toEqual(['splice_failed'])
  })

  test('a carriage that loses pressure and wanders once the web is slack is no splice', () => {
    const run = simulate({ ...SHORT, signals })
    const fromTMs = run.scenario.startTMs + 100_000
    const random = randomStream(1, 'slack')
    const { said, verdict } = replayWith(run, ({ tMs, address, value }) => {
      const sinceS = (tMs - fromTMs) / 1000
      if (sinceS < 0 || sinceS > 30) return value
      if (address.endsWith('Unwind.Tension')) return (value as number) * Math.max(0.3, 1 - sinceS / 8)
      const wanders = address.endsWith('Festoon.Position') && sinceS > 10
      return wanders ? (value as number) + 6 * Math.sin(sinceS / 1.7) + random.normal() : value
    })
    expect(describeVerdict(verdict)).toEqual([])
    expect(said.splices.every(({ outcome }) => outcome === 'good')).toBe(true)
    const slack = said.alarms.filter(({ alarm, event }) => alarm === 'tension_low' && event !== 'cleared')
    if (!signals.includes('tension_setpoint')) expect(slack).toEqual([])
    else {
      // Told before the position says anything, which is 10 s after the tension began to fall.
      expect(slack.map(({ event }) => event)).toEqual(['raised'])
      expect((Date.parse(slack[0]!.time) - fromTMs) / 1000).toBeLessThan(10)
    }
  })
})

test('a new roll that slips on its chuck turns too fast for its web: the splice and its stop are read all the same', () => {
  const run = simulate({ ...SHORT, signals: ALL })
  const { transferTMs } = run.splices[0]!
  const { said, verdict } = replayWith(run, ({ tMs, address, value }) => {
    const slips = address.endsWith('SpindleSpeed') && tMs > transferTMs! && tMs < transferTMs! + 20_000
    return slips ? (value as number) * 1.12 : value
  })
  expect(describeVerdict(verdict)).toEqual([])
  for (const { truth, said: splice } of verdict.pairs) {
    expect(splice.outcome).toBe('good')
    expect(Math.abs(splice.stopped_seconds! - truth.stoppedSeconds)).toBeLessThan(0.2)
  }
  expect(alarmsOf(said)).toEqual([])
})

describe.each(['zero_speed', 'flying', 'stopped'] as const)('jogging at a %s splicer', (method) => {
  test.each([
    ['required', REQUIRED],
    ['usual', USUAL],
  ] as const)('with %s signals is no splice and raises nothing', (_mapped, signals) => {
    // Pushes of a second or two, as a hand makes them, after a roll was changed.
    const pushes = [60, 61.2, 63, 64.5, 66, 67, 69.5, 70.4, 73, 74, 78, 79.1]
    const schedule = [
      { atS: 30, speedMpm: 0 },
      ...pushes.map((atS, i) => ({ atS, speedMpm: i % 2 === 0 ? 12 : 0 })),
      { atS: 95, speedMpm: 300 },
    ]
    const given = { ...SHORT, method, signals, firstRoll: 1, durationS: 130, lineRampMps2: 0.5 }
    const run = simulate({ ...given, schedule, handChangesS: [55] })
    expect(run.splices).toEqual([])
    const said = replaySimulation(run)
    expect(said.splices).toEqual([])
    expect(alarmsOf(said)).toEqual([])
  })
})
