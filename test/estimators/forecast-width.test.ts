/** How wide a forecast is, by what came of the ones before. */
import { expect, test } from 'vitest'
import { loadConfigText } from '../../edge/config/load.ts'
import { type ForecastInput, forecast } from '../../edge/estimators/forecast.ts'
import { learnedNothing } from '../../edge/estimators/learning/splicer.ts'
import { RollFilter } from '../../edge/estimators/roll-filter.ts'
import { Z80 } from '../../edge/estimators/statistics.ts'
import { simulate } from '../truth/line-simulator.ts'

const { config } = loadConfigText(simulate({ durationS: 1 }).config, 'simulated.yaml')
const { splicer, buffer } = config.unwinds[0]!

/** A roll of 80 µm whose caliper is known by `caliperSd` (share), twenty starts that scatter by 0.1 mm. */
function halfWidthM(diameterM: number, caliperSd: number, logWidth: number, more: Partial<ForecastInput> = {}): number {
  const roll = RollFilter.begin(
    { caliperM: 80e-6, caliperSdM: caliperSd * 80e-6, offsetM: 0, offsetSdM: 0 },
    { diameterM, cos: 0, sin: 0, varianceM2: 0 },
  )
  const learned = learnedNothing()
  learned.triggerM = Array.from({ length: 20 }, (_, i) => ({ value: i % 2 === 0 ? 1e-4 : -1e-4, tMs: 0 }))
  for (const horizonS of [1800, 600, 300, 120, 60, 20]) learned.trackRecord.logWidth[horizonS] = logWidth
  const input: ForecastInput = {
    ...{ roll, spliceDiameterM: 0.13, isSet: true, noiseM: 3e-4, readingPeriodS: 0.1, isStartSeen: true },
    ...{ speedMps: 5, lastSpeedMps: 5, storedM: buffer?.runningStoredM, fillRateMps: undefined, isFillRising: false },
    ...{ splicer, buffer, learned, newRoll: undefined },
    ...more,
  }
  const { metresLow, metresHigh } = forecast(input)!
  return (metresHigh - metresLow) / 2
}

test('GIVEN words that came true more or less often WHEN the splice is far THEN the interval is as much wider or narrower', () => {
  const usual = halfWidthM(0.4, 0.03, 0)
  expect(halfWidthM(0.4, 0.03, Math.log(2)) / usual).toBeCloseTo(2, 6)
  expect(halfWidthM(0.4, 0.03, Math.log(0.6)) / usual).toBeCloseTo(0.6, 6)
})

test('GIVEN words that all came true WHEN the splice is near THEN the interval still holds the scatter of the starts', () => {
  // Web per diameter at the setting, π·D/(2t): 2.55 m per mm.
  const scatterM = 1e-4 * ((Math.PI * 0.13) / (2 * 80e-6))
  expect(halfWidthM(0.131, 0, Math.log(0.6))).toBeGreaterThan(0.95 * Z80 * scatterM)
})

test('GIVEN a counter that goes by labels WHEN one splice was seen THEN the interval still holds what labels are off by', () => {
  // π(0.4² − 0.1²)/(4·80 µm) = 1473 m of web, 0.3 % of it and more: a label is off by a few per mille.
  const prior = { caliperM: 80e-6, caliperSdM: 0, offsetM: 0, offsetSdM: 0, coreM: 0.1 }
  const roll = RollFilter.begin(prior, { diameterM: 0.4, cos: 0, sin: 0, varianceM2: 0 })
  roll.take(1373)
  roll.update({ diameterM: roll.diameterM, cos: 0, sin: 0, varianceM2: 1e-14 })
  const learned = learnedNothing()
  learned.triggerM = [{ value: 1e-3, tMs: 0 }]
  const more = { roll, learned, isSet: false, spliceDiameterM: 0.1 }
  const [byLength, bySensor] = (['length', 'end_sensor'] as const).map((trigger) =>
    halfWidthM(0.4, 0, 0, { ...more, splicer: { ...splicer, trigger } }),
  )
  expect(byLength).toBeGreaterThan(Z80 * 0.003 * 1473)
  expect(byLength).toBeGreaterThan(2 * bySensor!)
})
