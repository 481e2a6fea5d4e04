import { describe, expect, test } from 'vitest'
import { flagCountdown } from '../../edge/advice/flags.ts'
import { AdviceMemory } from '../../edge/advice/memory.ts'
import { RollFilter } from '../../edge/estimators/roll-filter.ts'
import type { Sample } from '../../edge/sample.ts'
import { randomStream } from '../truth/random.ts'

const rollOf = (diameterM: number, caliperSdM = 0, offsetSdM = 0) =>
  RollFilter.begin(
    { caliperM: 100e-6, caliperSdM, offsetM: 0, offsetSdM },
    { diameterM, cos: 0, sin: 0, varianceM2: 0 },
  )
const flag = (depthMm: number) => ({ depthM: depthMm / 1000, person: 'R. Lind', enteredTMs: 0 })

describe('a flag inside the roll', () => {
  // Project's reference values, section 7: 1000 → 76.2 mm at 100 µm is 7808.378 m (handbook relation).
  test('closed form: 461.9 mm deep in a roll of 1000 mm are 7808.378 m', () => {
    expect(flagCountdown(flag(461.9), rollOf(1), 0, undefined).metres).toBeCloseTo(7808.378, 3)
  })

  test('counts down with the web taken, whatever the roll is by now', () => {
    // GIVEN the same roll 1000 m later: its area has fallen by 0.1 m²
    const laterM = Math.sqrt(1 - (4 * 100e-6 * 1000) / Math.PI)
    expect(flagCountdown(flag(461.9), rollOf(laterM), 1000, undefined).metres).toBeCloseTo(6808.378, 3)
    expect(flagCountdown(flag(1), rollOf(laterM), 1000, undefined).metres).toBeLessThan(0)
  })

  test('stays on the core where the splice comes first', () => {
    expect(flagCountdown(flag(50), rollOf(1), 0, 2000).isBeforeSplice).toBe(true)
    expect(flagCountdown(flag(50), rollOf(1), 0, 1000).isBeforeSplice).toBe(false)
  })

  test('its spread is that of caliper, diameter and rule, by Monte Carlo within 3 %', () => {
    const [caliperSdM, offsetSdM] = [2e-6, 2e-3]
    const { sdM, metres } = flagCountdown(flag(60), rollOf(0.8, caliperSdM, offsetSdM), 0, undefined)
    const random = randomStream(5, 'flag')
    let [sum, squares] = [0, 0]
    const RUNS = 50_000
    for (let i = 0; i < RUNS; i += 1) {
      const t = 100e-6 + caliperSdM * random.normal()
      const h = 0.06 + 1e-3 * random.normal()
      const d = 0.8 + offsetSdM * random.normal()
      // A drift of 0.5 % between the flag's layers and those that were learned on.
      const lengthM = ((Math.PI * h * (d - h)) / t) * (1 + 0.005 * random.normal()) - metres
      sum += lengthM
      squares += lengthM ** 2
    }
    const spread = Math.sqrt(squares / RUNS - (sum / RUNS) ** 2)
    expect(Math.abs(spread / sdM - 1)).toBeLessThan(0.03)
  })

  test('a depth beyond the middle is the middle, and nothing is NaN', () => {
    for (const depthMm of [0.001, 500, 5000, 1e9]) {
      const told = flagCountdown(flag(depthMm), rollOf(1), 0, undefined)
      for (const value of [told.metres, told.low, told.high, told.sdM]) expect(Number.isFinite(value)).toBe(true)
    }
  })
})

describe('what advice remembers', () => {
  const sample = (address: string, value: Sample['value'], quality: Sample['quality'] = 'good'): Sample => ({
    source: 'operator',
    address,
    value,
    quality,
    tMs: 1000,
    arrivalTMs: 1000,
    person: 'R. Lind',
  })

  test('flags of the waiting roll become those of the running one', () => {
    const memory = new AdviceMemory()
    memory.accept(sample('flag/press/waiting', '17.5'), 'press', 100)
    memory.accept(sample('flag/press', 5), 'press', 100)
    memory.rollChanged(0, 2000, 'a', 1900)
    expect(memory.flags).toEqual([{ depthM: 0.0175, person: 'R. Lind', enteredTMs: 1000, fromWebM: 2000 }])
    expect(memory.waitingFlags).toEqual([])
  })

  test('takes no other unwind, no nonsense and no bad quality; is bounded', () => {
    const memory = new AdviceMemory()
    expect(memory.accept(sample('flag/other', 5), 'press', 0)).toBe(false)
    expect(memory.accept(sample('ready/press', true), 'press', 0)).toBe(false)
    for (const value of ['', 'deep', -3, Number.NaN, null])
      memory.accept(sample('flag/press', value as never), 'press', 0)
    memory.accept(sample('flag/press', 5, 'bad'), 'press', 0)
    expect(memory.flags).toEqual([])
    for (let i = 1; i <= 100; i += 1) memory.accept(sample('flag/press', i), 'press', 0)
    expect(memory.flags).toHaveLength(20)
    for (let i = 0; i < 500; i += 1) memory.rollChanged(i, i, `material ${i}`, 1000)
    expect(JSON.stringify(memory.snapshot()).length).toBeLessThan(20_000)
  })

  test('usual lengths are medians per material: one bad roll does not spoil them', () => {
    const memory = new AdviceMemory()
    for (const lengthM of [6000, 6040, 5960, 900, 6010, 5990]) memory.rollChanged(0, 0, 'a', lengthM)
    memory.rollChanged(0, 0, 'b', 3000)
    memory.rollChanged(0, 0, 'a', undefined)
    const usual = memory.usualLength('a', undefined)!
    expect(Math.abs(usual.lengthM - 5995)).toBeLessThan(15)
    expect(usual.rolls).toBe(6)
    expect(memory.usualLength('b', 9999)?.lengthM).toBe(3000)
    expect(memory.usualLength('__proto__', undefined)).toBeUndefined()
    expect(memory.usualLength('c', 5000)).toMatchObject({ lengthM: 5000, rolls: 0 })
    const other = new AdviceMemory()
    other.restore(JSON.parse(JSON.stringify(memory.snapshot())))
    expect(other.usualLength('a', undefined)).toEqual(usual)
  })
})

describe('what rolls are staged by', () => {
  test('is the median of the last rolls and speeds, once three rolls were seen', () => {
    const memory = new AdviceMemory()
    const change = (lengthM: number, runningMps: number) => memory.rollChanged(0, 0, 'film', lengthM, runningMps)
    change(6000, 5)
    change(700, 0.4)
    expect(memory.staging('film')).toEqual({ rollM: undefined, speedMps: 2.7 })
    change(6100, 5.1)
    expect(memory.staging('film')).toEqual({ rollM: 6000, speedMps: 5 })
    expect(memory.staging('board').rollM).toBeUndefined()
    const other = new AdviceMemory()
    other.restore(memory.snapshot())
    expect(other.staging('film')).toEqual(memory.staging('film'))
  })
})
