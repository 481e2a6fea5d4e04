/** Machines that a bench of drawn ones found: figures nobody had in mind, each a trap of its own. */
import { describe, expect, test } from 'vitest'
import { simulate } from '../truth/line-simulator.ts'
import { REQUIRED, type Scenario, SUBSTRATES, USUAL } from '../truth/scenario.ts'
import { describeVerdict, judgeSplices } from './judge.ts'
import { replaySimulation } from './replay-simulation.ts'

const judged = (given: Partial<Scenario>) => {
  const run = simulate({ preparationS: 30, repairS: 60, ...given })
  return { run, verdict: judgeSplices(run, replaySimulation(run).splices) }
}

/** Within 10 % or two sample periods (recording contract), once the first cycles have shown what the machine is like. */
function expectStops({ run, verdict }: ReturnType<typeof judged>, from: number): void {
  expect(describeVerdict(verdict)).toEqual([])
  expect(verdict.pairs.length).toBeGreaterThan(from + 2)
  for (const { truth, said } of verdict.pairs.slice(from)) {
    const allowedS = Math.max(0.1 * truth.stoppedSeconds, (2 * run.scenario.periodMs) / 1000)
    expect(Math.abs(said.stopped_seconds! - truth.stoppedSeconds), said.id).toBeLessThanOrEqual(allowedS)
  }
}

describe('the stop by the carriage alone', () => {
  const rolls: Partial<Scenario> = { signals: REQUIRED, rollS: 90, durationS: 900, spareM: 6 }

  test('a tach that reads 1 % high is not taken for rounded ramps', () => {
    expectStops(judged({ ...rolls, tachScale: 1.01, speedMpm: 500, decelerationMps2: 1.55, accelerationMps2: 1.3 }), 1)
  })

  test('long ramps into a festoon of 200 m, polled twenty times a second', () => {
    const drives = { decelerationMps2: 1.84, accelerationMps2: 1.09, stopS: 1.2 }
    expectStops(judged({ ...rolls, ...drives, rollS: 150, speedMpm: 745, spliceMm: 190, periodMs: 50 }), 0)
  })

  test('ramps with round corners', () => {
    expectStops(judged({ ...rolls, jerkS: 0.4, seed: 302 }), 4)
  })
})

describe('a line that stops for its roll', () => {
  test('ten seconds of web before the splice, with no roll ready, it was stopped for the roll', () => {
    const { verdict } = judged({
      ...SUBSTRATES.nonwoven,
      ...{
        method: 'flying',
        signals: USUAL,
        speedMpm: 69,
        coreMm: 128,
        spliceMm: 137,
        noiseMm: 0.9,
        lineRampMps2: 0.25,
      },
      ...{ rollS: 150, durationS: 420, events: [{ roll: 1, kind: 'no_new_roll' }] },
    })
    expect(describeVerdict(verdict)).toEqual([])
    expect(verdict.pairs.map(({ said }) => `${said.outcome} ${said.cause}`)).toContain('missed no_new_roll')
  })

  test('where nothing says whether a roll was ready, the roll changed then says that it stood for it', () => {
    const { verdict } = judged({
      ...SUBSTRATES.board,
      ...{ signals: REQUIRED, speedMpm: 108, coreMm: 126, spliceMm: 135, lineRampMps2: 0.355, repairS: 120 },
      ...{
        bufferMode: 'rides_full',
        overspeed: 0.23,
        decelerationMps2: 2.9,
        filterS: 0.02,
        rollS: 150,
        durationS: 600,
      },
      events: [{ roll: 1, kind: 'no_new_roll' }],
    })
    expect(describeVerdict(verdict)).toEqual([])
    expect(verdict.pairs.map(({ said }) => said.outcome)).toContain('missed')
  })

  test('the reading of a bare core is none of a new roll, though the web was expected to go on', () => {
    const { verdict } = judged({
      ...SUBSTRATES.nonwoven,
      ...{ method: 'flying', signals: REQUIRED, speedMpm: 580, coreMm: 98, spliceMm: 125, noiseMm: 1, offsetMm: -2 },
      ...{ filterS: 1.4, caliperOff: -0.045, outOfRoundMm: 1, quantumMm: 0.5, lineRampMps2: 0.25, repairS: 120 },
      ...{ rollS: 150, durationS: 500, events: [{ roll: 1, kind: 'ran_out' }] },
    })
    expect(describeVerdict(verdict)).toEqual([])
    expect(verdict.pairs.map(({ said }) => said.outcome)).toContain('missed')
  })

  test('a short ramp polled once a second began where its only two speeds lead', () => {
    const { verdict } = judged({
      ...SUBSTRATES.board,
      ...{
        method: 'stopped',
        joinS: 25,
        signals: USUAL,
        speedMpm: 74,
        lineRampMps2: 0.516,
        periodMs: 1000,
        triggerDelayS: 0.34,
      },
      ...{ coreMm: 107, spliceMm: 122, rollS: 150, durationS: 900, noiseMm: 0.2, filterS: 0.18 },
    })
    expect(describeVerdict(verdict)).toEqual([])
    for (const { truth, said } of verdict.pairs)
      expect(Math.abs(Date.parse(said.started) - truth.startedTMs), said.id).toBeLessThanOrEqual(500)
  })

  test('a stop made for the joint is no run-out, however little web it leaves', () => {
    const { verdict } = judged({
      ...{ method: 'stopped', joinS: 25, signals: USUAL, speedMpm: 300, lineRampMps2: 0.4, periodMs: 1000 },
      ...{ caliperUm: 40, coreMm: 100, spliceMm: 109.8, noiseMm: 0.1, rollS: 120, durationS: 700 },
    })
    expect(describeVerdict(verdict)).toEqual([])
    expect(verdict.pairs.length).toBeGreaterThan(2)
    expect(verdict.pairs.map(({ said }) => said.outcome)).not.toContain('missed')
  })
})
