import { describe, expect, test } from 'vitest'
import { TagRates } from '../edge/tag-rates.ts'

const START = 1_772_431_200_000
const report = (rates: TagRates, atS: number, address = 'a'): void => {
  const tMs = START + 1000 * atS
  rates.report({ source: 'plc', address, value: 1, quality: 'good', tMs, arrivalTMs: tMs })
}

describe('how often a tag reports', () => {
  test('is counted over the last minute, and falls to nothing in silence', () => {
    const rates = new TagRates(() => ({ kind: 'mqtt', staleAfterS: 10 }))
    for (let s = 0; s < 120; s += 0.5) report(rates, s)
    // Wherever in its ten seconds a piece is looked at.
    for (const atMs of [112_000, 115_500, 119_900]) {
      const rate = new TagRates(() => ({ kind: 'mqtt', staleAfterS: 10 }))
      for (let s = 0; s * 1000 <= atMs; s += 0.5) report(rate, s)
      expect(rate.of('plc|a', START + atMs)!.reportsPerMinute).toBeCloseTo(120, -1)
    }
    expect(rates.of('plc|a', START + 200_000)!.reportsPerMinute).toBe(0)
    expect(rates.of('plc|b', START)).toBeUndefined()
  })

  test('is known after ten seconds and is right in the first minute', () => {
    const rates = new TagRates(() => ({ kind: 'mqtt', staleAfterS: 10 }))
    for (let s = 3; s <= 33; s += 2) report(rates, s)
    expect(rates.of('plc|a', START + 12_900)!.reportsPerMinute).toBeUndefined()
    expect(rates.of('plc|a', START + 33_000)!.reportsPerMinute).toBeCloseTo(30, 1)
  })

  test('a silence is a gap where the tag usually speaks, and none where it reports on change', () => {
    const rates = new TagRates(() => ({ kind: 'mqtt', staleAfterS: 10 }))
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

  test('of a source that tells changes only, a constant value is no gap, and its own silence is one', () => {
    const rates = new TagRates(() => ({ kind: 'opcua', staleAfterS: 10 }))
    for (let s = 0; s < 60; s += 1) report(rates, s)
    // The line stands for a minute: this tag stays the same, the other goes on.
    for (let s = 0; s < 120; s += 1) report(rates, s, 'other')
    report(rates, 120)
    expect(rates.of('plc|a', START + 120_000)!.gaps).toBe(0)
    for (const address of ['other', 'a']) report(rates, 180, address)
    expect(rates.of('plc|a', START + 180_000)).toMatchObject({ gaps: 1, longestGapMs: 60_000 })
  })
})
