/** Sound tags, as odd as real ones are, are not accused. */
import { describe, expect, it } from 'vitest'
import { FORECAST_CASES } from '../truth/cases.ts'
import { ALL, REQUIRED, type Scenario } from '../truth/scenario.ts'
import { check } from './watch-simulation.ts'

const RAMPS = [
  { atS: 100, speedMpm: 150 },
  { atS: 160, speedMpm: 300 },
  { atS: 260, speedMpm: 60 },
  { atS: 330, speedMpm: 300 },
  { atS: 400, speedMpm: 0 },
  { atS: 450, speedMpm: 300 },
]

const CLEAN: Readonly<Record<string, Partial<Scenario>>> = {
  ...FORECAST_CASES,
  'ramps and a stop': { schedule: RAMPS },
  'ramps and a stop, required only': { schedule: RAMPS, signals: REQUIRED },
  'ramps and a stop, all signals': { schedule: RAMPS, signals: ALL },
  'once a second, usual signals': { periodMs: 1000 },
  'on change, all signals': { signals: ALL, onChange: true },
  'rides full, required only': { signals: REQUIRED, bufferMode: 'rides_full' },
  'braked, required only': { signals: REQUIRED, unwindDrive: 'braked' },
  'out of round, all signals': { signals: ALL, outOfRoundMm: 2 },
  'aborted, then good': { events: [{ roll: 0, kind: 'aborted' }] },
  'web break': { events: [{ roll: 0, kind: 'web_break' }], signals: REQUIRED },
  'an arm in the beam': { signals: REQUIRED, disturbances: [{ kind: 'arm', fromS: 40, toS: 55 }] },
  'a gap of two minutes': { disturbances: [{ kind: 'gap', fromS: 60, toS: 180 }] },
  dropouts: { signals: REQUIRED, disturbances: [{ kind: 'dropout', fromS: 60, toS: 90 }] },
}

describe('sound tags', () => {
  it.each(Object.entries(CLEAN))('%s: nothing is found', (_name, given) => {
    const { findings, relations } = check(given)
    expect(findings.map(({ text }) => text)).toEqual([])
    // It did look.
    expect(relations.some(({ judged }) => judged)).toBe(true)
  })

  it('is silent before there is web enough', () => {
    const { findings, relations } = check(
      { durationS: 12, signals: REQUIRED },
      { tags: { line_speed: (v) => v / 0.3048 } },
    )
    expect(findings).toEqual([])
    expect(relations.filter(({ judged }) => judged)).toEqual([])
    // Nor does it put numbers beside each other that it does not judge yet.
    for (const { text } of relations) expect(text).toMatch(/^Not judged yet: .* are compared from 200 m of web on\.$/)
  })

  it('says of tags that they agree only after a second comparison', () => {
    const before = check({ rollS: 900, firstRoll: 1, durationS: 400, signals: REQUIRED })
    expect(before.relations.filter(({ judged }) => judged).map(({ id }) => id)).toEqual(['area'])
    expect(before.verdict).toBe('few')
    const after = check({ signals: REQUIRED })
    expect(after.relations.filter(({ judged }) => judged).length).toBeGreaterThan(1)
    expect(after.verdict).toBe('agree')
    expect(check({ durationS: 12, signals: REQUIRED }).verdict).toBe('nothing')
  })

  it('calls a difference usual where it finds none', () => {
    for (const { text } of check({ signals: REQUIRED }).relations) expect(text).toMatch(/as sound tags (are|may be)/)
  })
})
