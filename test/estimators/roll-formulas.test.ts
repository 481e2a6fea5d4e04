/** What the estimators count down, against published and calculated figures of the trade's formulas. */
import { describe, expect, test } from 'vitest'
import type { BufferConfig, SplicerConfig } from '../../edge/config/config.ts'
import { cycleNeed, highestSpeedMps, neededM } from '../../edge/estimators/buffer.ts'
import { forecast } from '../../edge/estimators/forecast.ts'
import { learnedNothing } from '../../edge/estimators/learning/splicer.ts'
import { RollFilter } from '../../edge/estimators/roll-filter.ts'

const known = (diameterMm: number, caliperUm: number, offsetMm = 0): RollFilter =>
  RollFilter.begin(
    { caliperM: caliperUm * 1e-6, caliperSdM: 0, offsetM: offsetMm / 1000, offsetSdM: 0 },
    { diameterM: diameterMm / 1000, cos: 1, sin: 0, varianceM2: 0 },
  )

describe('GIVEN a roll of known caliper', () => {
  // L = π(D² − d²)/(4t), Math Forum, Ask Dr. Math 67031; the first published: algebra.com question 1205007, 5554.34 m.
  test.each([
    [600, 80, 50, 5554.34, 2],
    [1000, 76.2, 100, 7808.378, 3],
    [1000, 152.4, 100, 7671.567, 3],
    [1200, 152.4, 80, 13909.149, 3],
    [800, 76.2, 25, 19923.778, 3],
    [400, 120, 100, 1143.54, 3],
  ])('WHEN it runs from %d to %d mm at %d µm THEN %d m remain', (outer, inner, caliper, lengthM, digits) => {
    expect(known(outer, caliper).remaining(inner / 1000).metres).toBeCloseTo(lengthM, digits)
  })

  // Wraps (D − d)/(2t), same source.
  test.each([
    [1000, 76.2, 100, 7808.378, 4619],
    [1000, 152.4, 100, 7671.567, 4238],
  ])(
    'WHEN it runs from %d to %d mm THEN the phase of its wave has made every turn',
    (outer, _inner, caliper, lengthM, wraps) => {
      const filter = known(outer, caliper)
      let turned = 0
      const steps = 100_000
      for (let i = 0; i < steps; i++) {
        const before = filter.thetaRad
        filter.take(lengthM / steps)
        turned += (filter.thetaRad - before + 2 * Math.PI) % (2 * Math.PI)
      }
      expect(Math.abs(turned / (2 * Math.PI) - wraps)).toBeLessThan(0.2)
    },
  )

  // One mm of D is πD/(2t): 1.885 m at 120 mm and 100 µm.
  test('WHEN the trigger moves by one mm THEN the metres move by πD/(2t)', () => {
    expect(known(400, 100).remaining(0.12).perTriggerM / 1000).toBeCloseTo(-1.885, 3)
  })

  test('WHEN sensor and setting have the same offset THEN the metres are those of the true diameters', () => {
    expect(known(403, 100, 3).remaining(0.123).metres).toBeCloseTo(1143.54, 3)
  })
})

const SPLICER: SplicerConfig = {
  method: 'zero_speed',
  trigger: 'diameter',
  stopS: 1,
  decelerationMps2: 2.5,
  accelerationMps2: 1.25,
  overspeed: 0.12,
} as SplicerConfig
const BUFFER: BufferConfig = {
  mode: 'fill_before',
  calibration: { fullStoredM: 25, emptyStoredM: 0 },
  fillStoredM: 20,
  runningStoredM: 10,
  reserveM: 0,
} as BufferConfig

describe('GIVEN a splicer’s data sheet', () => {
  const need = cycleNeed(SPLICER, learnedNothing())

  // N = v·t_s + v²/2a_d + v²/2a_a = 5 + 5 + 10 m; with 25 m to use 5.6752 m/s.
  test('WHEN it splices at 5 m/s THEN a cycle takes 20 m, and 25 m carry 340.51 m/min', () => {
    expect(neededM(need, 5)).toBeCloseTo(20, 12)
    expect(highestSpeedMps(need, 25)).toBeCloseTo(5.6752, 4)
    expect(highestSpeedMps(need, 25) * 60).toBeCloseTo(340.51, 2)
    expect(highestSpeedMps(need, 0)).toBe(0)
  })

  // T = (R − (S_sp − S_now))/v: R 1143.54 m, 5 m/s, S 10 → 20 m: 226.708 s, and not R/v = 228.708 s.
  test('WHEN the buffer has 10 m still to take THEN the time is two seconds less than metres ÷ speed', () => {
    const said = forecast({
      roll: known(400, 100),
      spliceDiameterM: 0.12,
      isSet: true,
      noiseM: 1e-9,
      readingPeriodS: 0.1,
      isStartSeen: true,
      speedMps: 5,
      lastSpeedMps: 5,
      storedM: 10,
      fillRateMps: undefined,
      splicer: SPLICER,
      buffer: BUFFER,
      learned: learnedNothing(),
      newRoll: undefined,
      isFillRising: false,
    })!
    // Where the splicer's reaction puts the start is learned, and apart from this formula.
    const reactionM = said.metres - 1143.54
    expect(said.seconds! - reactionM / 5).toBeCloseTo(226.708, 3)
    expect(reactionM).toBeGreaterThan(0)
    expect(reactionM).toBeLessThan(3)
  })
})
