import { describe, expect, test } from 'vitest'
import { TagRates } from '../edge/tag-rates.ts'

const START = 1_772_431_200_000
const report = (rates: TagRates, atS: number, address = 'a'): void => {
  const tMs = START + 1000 * atS
  rates.report({ source: 'plc', address, value: 1, quality: 'good', tMs, arrivalTMs: tMs })
}

describe('how often a tag reports', () => {
  test('is counted over the last minute, and falls to nothing in silence', () => {
    const rates = new TagRates(() => 10_000)
    for (let s = 0; s < 120; s += 0.5) report(rates, s)
    expect(rates.of('plc|a', START + 119_900)!.reportsPerMinute).toBeGreaterThanOrEqual(119)
    expect(rates.of('plc|a', START + 119_900)!.reportsPerMinute).toBeLessThanOrEqual(121)
    expect(rates.of('plc|a', START + 200_000)!.reportsPerMinute).toBe(0)
    expect(rates.of('plc|b', START)).toBeUndefined()
  })

  test('a silence is a gap where the tag usually speaks, and none where it reports on change', () => {
    const rates = new TagRates(() => 10_000)
    for (let s = 0; s < 60; s += 1) report(rates, s)
    report(rates, 101)
    for (let s = 102; s < 130; s += 1) report(rates, s)
    expect(rates.of('plc|a', START + 130_000)).toMatchObject({
      gaps: 1,
      longestGapMs: 42_000,
      lastGapTMs: START + 101_000,
    })
    for (const s of [0, 200, 380, 900, 1000, 1500, 1700, 2100, 2300, 2500, 2600, 2900]) report(rates, s, 'onChange')
    expect(rates.of('plc|onChange', START + 3_000_000)!.gaps).toBe(0)
  })
})
