import fc from 'fast-check'
import { describe, expect, test } from 'vitest'
import { lastingSpeed, readyBy } from '../../edge/advice/preparation.ts'
import { type ForecastInput, forecast } from '../../edge/estimators/forecast.ts'
import { learnedNothing } from '../../edge/estimators/learning/splicer.ts'
import { RollFilter } from '../../edge/estimators/roll-filter.ts'

/** A roll that is known exactly: 400 mm, 100 µm. */
const roll = RollFilter.begin(
  { caliperM: 100e-6, caliperSdM: 0, offsetM: 0, offsetSdM: 0 },
  { diameterM: 0.4, cos: 0, sin: 0, varianceM2: 0 },
)
const splicer: ForecastInput['splicer'] = {
  method: 'zero_speed',
  trigger: 'diameter',
  spliceDiameterM: 0.12,
  spliceSpeedMps: undefined,
  stopS: 1,
  decelerationMps2: 2.5,
  accelerationMps2: 1.25,
  overspeed: 0.125,
  unwind: 'driven',
  preparation: { fetchS: 0, loadS: 0, splicePrepS: 240, totalS: 240 },
  pathLengthM: 60,
  runOutRisk: 0.001,
  refusesWithinS: 0,
  tailM: 0,
  spareWraps: 3,
  wasteLimitM: 20,
  stations: [],
  sideLay: undefined,
  register: undefined,
}
const seenOften = (value: number) => Array.from({ length: 20 }, () => ({ value, tMs: 0 }))
/** Filled from 10 to 20 m; a splicer that always began exactly at its setting. */
const input: ForecastInput = {
  roll,
  spliceDiameterM: 0.12,
  isSet: true,
  noiseM: 1e-6,
  readingPeriodS: 0.1,
  isStartSeen: true,
  speedMps: 5,
  lastSpeedMps: 5,
  storedM: 10,
  fillRateMps: undefined,
  splicer,
  buffer: {
    mode: 'fill_before',
    calibration: { emptyPosition: 0, emptyStoredM: 0, fullPosition: 1, fullStoredM: 25 },
    runningStoredM: 10,
    fillStoredM: 20,
    tripStoredM: 0.5,
    reserveM: 1,
  },
  learned: { ...learnedNothing(), triggerM: seenOften(0), fillStoredM: seenOften(20) },
  newRoll: undefined,
  isFillRising: false,
}
const said = (at: ForecastInput) => forecast(at)

describe('when the roll must be ready', () => {
  // Project's reference values, section 7: D 400 → 120 mm, 100 µm, 5 m/s, 10 → 20 m stored: T = 226.708 s.
  test("is the fill's start: 226.708 s less 10 m at 12.5 % of 5 m/s", () => {
    const ready = readyBy(input, said(input), 0, false)!
    expect(said(input)?.seconds).toBeCloseTo(226.708, 1)
    expect(ready.by).toBe('fill')
    expect(ready.seconds).toBeCloseTo(226.708 - 16, 1)
  })

  test("is the splicer's refusal where that is earlier, and the splice itself where there is neither", () => {
    expect(readyBy(input, said(input), 30, false)).toMatchObject({ by: 'refusal' })
    expect(readyBy(input, said(input), 30, false)?.seconds).toBeCloseTo(226.708 - 30, 1)
    const bare = { ...input, buffer: undefined, storedM: undefined }
    expect(readyBy(bare, said(bare), 0, false)).toMatchObject({ by: 'splice' })
    expect(readyBy(bare, said(bare), 0, false)?.seconds).toBeCloseTo(228.708, 1)
  })

  test('is now once the fill has begun, and unknown while the line stands', () => {
    expect(readyBy(input, said(input), 0, true)).toMatchObject({ seconds: 0, high: 0 })
    const standing = { ...input, speedMps: undefined }
    expect(readyBy(standing, said(standing), 0, false)).toBeUndefined()
  })
})

describe('the lasting speed', () => {
  // (R − ΔS − ΔS/overspeed)/preparation: (1143.540 − 10 − 80)/240 m/s.
  test('closed form: web less what fills the buffer, over the preparation', () => {
    expect(lastingSpeed(input, 240, 0)?.speedMps).toBeCloseTo((1143.54 - 10 - 80) / 240, 2)
  })

  test('does not hang on the speed of now, and is known while the line stands', () => {
    const at = (speedMps: number | undefined) => lastingSpeed({ ...input, speedMps }, 240, 0)!.speedMps
    expect(at(undefined)).toBe(at(5))
    expect(at(2)).toBe(at(5))
  })

  test('is 0 where no speed is slow enough, and unknown without a roll or a preparation', () => {
    expect(lastingSpeed({ ...input, spliceDiameterM: 0.41 }, 240, 0)).toEqual({ speedMps: 0, lowMps: 0, highMps: 0 })
    expect(lastingSpeed({ ...input, roll: undefined }, 240, 0)).toBeUndefined()
    expect(lastingSpeed(input, 0, 0)).toBeUndefined()
  })

  test('low, middle and high are in order for any roll', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 0.05, max: 1.5, noNaN: true }),
        fc.double({ min: 0, max: 0.05, noNaN: true }),
        fc.integer({ min: 1, max: 20_000 }),
        fc.integer({ min: 0, max: 600 }),
        (diameterM, sdShare, preparationS, refusesWithinS) => {
          const any = RollFilter.begin(
            { caliperM: 80e-6, caliperSdM: sdShare * 80e-6, offsetM: 0, offsetSdM: sdShare * 0.01 },
            { diameterM, cos: 0, sin: 0, varianceM2: 1e-8 },
          )
          const speeds = lastingSpeed({ ...input, roll: any }, preparationS, refusesWithinS)!
          expect(speeds.lowMps).toBeGreaterThanOrEqual(0)
          expect(speeds.lowMps).toBeLessThanOrEqual(speeds.speedMps + 1e-9)
          expect(speeds.speedMps).toBeLessThanOrEqual(speeds.highMps + 1e-9)
        },
      ),
      { numRuns: 50 },
    )
  })
})
