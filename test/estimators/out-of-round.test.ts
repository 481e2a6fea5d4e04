/** A roll that is out of round, by the truth generator's own roll and sensor: how far, and what it must not do to the countdown. */
import { describe, expect, test } from 'vitest'
import { DiameterEstimator } from '../../edge/estimators/diameter.ts'
import { replaySimulation } from '../pipeline/replay-simulation.ts'
import { simulate } from '../truth/line-simulator.ts'
import { Roll } from '../truth/roll.ts'
import { defineScenario, mps, REQUIRED, type Scenario, SUBSTRATES } from '../truth/scenario.ts'
import { DiameterSensor } from '../truth/sensor.ts'
import { TOGETHER } from './speeds.ts'

/** Amplitude that is found after some minutes of a roll, mm. */
function amplitudeMm(given: Partial<Scenario>, seconds: number): number {
  const s = defineScenario({ ...given, seed: 3 })
  const caliperM = s.caliperUm * 1e-6 * 1.03
  const roll = new Roll({ id: '', lengthM: 1500 * mps(s.speedMpm), coreM: s.coreMm / 1000, caliperM, drift: 0 })
  const sensor = new DiameterSensor(s, 'test')
  const estimator = new DiameterEstimator()
  const prior = { caliperM: s.caliperUm * 1e-6, caliperSdM: 0.05 * caliperM, offsetM: 0, offsetSdM: 3e-3 }
  for (let tMs = 0; tMs < seconds * 1000; tMs += s.periodMs) {
    sensor.scan(roll, tMs / 1000)
    estimator.reading(sensor.rawMm / 1000, tMs, roll.takenM, true, TOGETHER)
    estimator.step(tMs, roll.takenM, s.periodMs / 1000, () => prior)
    roll.take((mps(s.speedMpm) * s.periodMs) / 1000)
  }
  return 1000 * estimator.filter!.waveAmplitudeM
}

describe('GIVEN a roll that is out of round', () => {
  test.each([
    ['label, 6 mm', { ...SUBSTRATES.label, outOfRoundMm: 6 }],
    ['board, 8 mm', { ...SUBSTRATES.board, outOfRoundMm: 8 }],
    ['nonwoven, 5 mm under 3 mm of noise', { ...SUBSTRATES.nonwoven, outOfRoundMm: 5 }],
    ['film, 3 mm', { ...SUBSTRATES.film, outOfRoundMm: 3 }],
    ['label once a second, 6 mm in every second turn', { ...SUBSTRATES.label, outOfRoundMm: 6, periodMs: 1000 }],
    ['foil, 4 mm', { ...SUBSTRATES.foil, outOfRoundMm: 4 }],
  ] satisfies [string, Partial<Scenario>][])(
    'WHEN it is seen for two minutes (%s) THEN its amplitude is known',
    (_name, given) => {
      const found = amplitudeMm(given, 120)
      expect(found / given.outOfRoundMm).toBeGreaterThan(0.85)
      expect(found / given.outOfRoundMm).toBeLessThan(1.15)
    },
  )

  test('WHEN a roll is round THEN no wave is found that would count', () => {
    expect(amplitudeMm(SUBSTRATES.nonwoven, 120)).toBeLessThan(0.5)
    expect(amplitudeMm(SUBSTRATES.label, 120)).toBeLessThan(0.2)
  })
})

describe('GIVEN board of 4 mm out of round, read once a second, where it turns once a second', () => {
  const scenario: Partial<Scenario> = {
    ...SUBSTRATES.board,
    signals: REQUIRED,
    periodMs: 1000,
    caliperOff: 0.03,
    caliperWander: 0,
    caliperScatter: 0,
    rollS: 1130,
    firstRoll: 0.6,
    durationS: 330,
    seed: 5,
  }
  const wavy = simulate({ ...scenario, outOfRoundMm: 4 })
  const round = new Map(replaySimulation(simulate(scenario)).forecast.map((row) => [row.time, row]))
  const truth = new Map(wavy.truth.map((row) => [row.tMs, row]))
  const seen = replaySimulation(wavy).forecast.flatMap((row) => {
    const tMs = Date.parse(row.time)
    const [here, flat] = [truth.get(tMs), round.get(row.time)]
    // Two minutes to know caliper and wave.
    if (here === undefined || flat === undefined || tMs < wavy.scenario.startTMs + 120_000) return []
    const widthM = (one: typeof row): number => (one.metres_high! - one.metres_low!) / 2
    // One reading a second.
    const turnsPerReading = here.speedMpm / 60 / (Math.PI * here.diameterMm * 1e-3)
    const waveM = (4e-3 * Math.PI * here.diameterMm * 1e-3) / (2 * here.caliperUm * 1e-6)
    return [{ turnsPerReading, waveM, widerM: widthM(row) - widthM(flat), bent: row.caliper! / flat.caliper! - 1 }]
  })

  test('WHEN a reading comes within ± 10 % of once a turn THEN the interval is wider by the wave’s amplitude', () => {
    const resonant = seen.filter(({ turnsPerReading }) => Math.abs(turnsPerReading - 1) < 0.095)
    expect(resonant.length).toBeGreaterThan(100)
    for (const one of resonant) expect(one.widerM / one.waveM).toBeGreaterThan(0.8)
    for (const one of seen.filter(({ turnsPerReading }) => turnsPerReading < 0.895))
      expect(one.widerM / one.waveM).toBeLessThan(0.15)
  })

  test('WHEN the wave looks like a trend THEN the caliper is not bent by more than 0.2 %', () => {
    expect(Math.max(...seen.map(({ bent }) => Math.abs(bent)))).toBeLessThan(0.002)
  })
})
