/** One tag spoiled at a time by each usual mix-up: it is named, and by how much. */
import { describe, expect, it } from 'vitest'
import type { ConsistencyView } from '../../edge/api/messages.ts'
import { ALL, REQUIRED, type Scenario, USUAL } from '../truth/scenario.ts'
import { check, type Spoiled } from './watch-simulation.ts'

const times = (factor: number) => (value: number) => value * factor

interface Case extends Spoiled {
  signal: string
  factor: number
  looksLike: string | null
  says: string
  given?: Partial<Scenario>
}

/** Exact by definition: the international foot is 0.3048 m and the inch 25.4 mm; 1 m/s is 60 m/min. */
const EVERYWHERE: Readonly<Record<string, Case>> = {
  'ft/min as m/min': {
    tags: { line_speed: times(1 / 0.3048) },
    signal: 'line_speed',
    factor: 1 / 0.3048,
    looksLike: 'ft/min as m/min',
    says: 'Set its unit to ft/min.',
  },
  'm/s as m/min': {
    tags: { line_speed: times(1 / 60) },
    signal: 'line_speed',
    factor: 1 / 60,
    looksLike: 'm/s as m/min',
    says: 'Set its unit to m/s.',
  },
  'm/min as m/s': {
    config: (text) => text.replace(/(Line\.Speed', unit: )m\/min/, '$1m/s'),
    given: { speedMpm: 60, rollS: 260 },
    signal: 'line_speed',
    factor: 60,
    looksLike: 'm/min as m/s',
    says: 'Set its unit to m/min.',
  },
  'radius as diameter': {
    tags: { roll_diameter: times(0.5) },
    signal: 'roll_diameter',
    factor: 0.5,
    looksLike: 'radius',
    says: 'Set its scale to 2.',
  },
  // A roll whose core in inches still is a length that a diameter can have.
  'inch as mm': {
    tags: { roll_diameter: times(1 / 25.4) },
    given: { caliperUm: 400, coreMm: 300, spliceMm: 360 },
    signal: 'roll_diameter',
    factor: 1 / 25.4,
    looksLike: 'in as mm',
    says: 'Set its unit to in.',
  },
  'mm as inch': {
    config: (text) => text.replace(/(Diameter', unit: )mm/, '$1in'),
    signal: 'roll_diameter',
    factor: 25.4,
    looksLike: 'mm as in',
    says: 'Set its unit to mm.',
  },
  'fraction as per cent': {
    tags: { buffer_position: times(0.01) },
    signal: 'buffer_position',
    factor: 0.01,
    looksLike: '1 as %',
    says: "looks like a bare fraction ('1')",
  },
  'per cent as fraction': {
    config: (text) =>
      text
        .replace("unit: '%'", "unit: '1'")
        .replace('position: 0 %', 'position: 0')
        .replace('position: 100 %', 'position: 1')
        .replace(/ *(running|fill|trip)_position: .*\n/g, ''),
    signal: 'buffer_position',
    factor: 100,
    looksLike: '% as 1',
    says: 'Set its unit to %.',
  },
  'a position inverted': {
    tags: { buffer_position: (value) => 100 - value },
    signal: 'buffer_position',
    factor: -1,
    looksLike: null,
    says: 'moves the wrong way',
  },
  'strands counted twice': {
    config: (text) =>
      text.replace(
        /full: { position: 100 %, stored: (\d+) m }/,
        (_, m) => `full: { position: 100 %, stored: ${2 * m} m }`,
      ),
    signal: 'buffer_position',
    factor: 2,
    looksLike: '2 strands for 1',
    says: 'counted 2 for every 1',
  },
  'strands 3 for 4': {
    tags: { buffer_position: times(0.75) },
    signal: 'buffer_position',
    factor: 0.75,
    looksLike: '3 strands for 4',
    says: 'counted 3 for every 4',
  },
  'caliper in mil as µm': {
    config: (text) =>
      text
        .replace('nominal_caliper: 80 um', 'nominal_caliper: 3.1496 um')
        .replace('nominal_caliper: {', 'extra.caliper: {'),
    signal: 'nominal_caliper',
    factor: 1 / 25.4,
    looksLike: 'mil as um',
    says: 'Set its unit to mil.',
  },
}

const WITH_UNWIND: Readonly<Record<string, Case>> = {
  'unwind speed in ft/min': {
    tags: { unwind_speed: times(1 / 0.3048) },
    signal: 'unwind_speed',
    factor: 1 / 0.3048,
    looksLike: 'ft/min as m/min',
    says: 'Set its unit to ft/min.',
  },
  'line speed 3 % high': {
    tags: { line_speed: times(1.03) },
    signal: 'line_speed',
    factor: 1.03,
    looksLike: null,
    says: 'reads 3.0 % more than unwind speed',
  },
}

const WITH_ALL: Readonly<Record<string, Case>> = {
  'spindle in Hz as rpm': {
    tags: { spindle_speed: times(1 / 60) },
    signal: 'spindle_speed',
    factor: 1 / 60,
    looksLike: 'Hz as rpm',
    says: 'Set its unit to Hz.',
  },
  'totaliser in feet as m': {
    tags: { line_length: times(1 / 0.3048) },
    signal: 'line_length',
    factor: 1 / 0.3048,
    looksLike: 'ft as m',
    says: 'Set its unit to ft.',
  },
}

function expectNamed(view: ConsistencyView, { signal, factor, looksLike, says }: Case): void {
  expect(view.findings.map(({ signals }) => signals)).toEqual([[signal]])
  const [finding] = view.findings
  expect(Math.abs((finding?.factor ?? 0) / factor - 1)).toBeLessThan(0.02)
  expect(finding?.looks_like).toBe(looksLike)
  expect(finding?.text).toContain(says)
  // The tag's own address, or that it stands in the config.
  expect(finding?.text).toMatch(/\(ns=2;s=|in the config/)
}

describe('one mix-up at a time', () => {
  it.each(Object.entries(EVERYWHERE))('%s, by the three required signals', (_name, one) => {
    expectNamed(check({ signals: REQUIRED, ...one.given }, one), one)
  })

  it.each(Object.entries({ ...EVERYWHERE, ...WITH_UNWIND, ...WITH_ALL }))('%s, by all signals', (_name, one) => {
    const signals = ALL.filter((signal) => signal !== 'nominal_caliper')
    expectNamed(check({ signals, ...one.given }, one), one)
  })

  it.each(Object.entries(WITH_UNWIND))('%s, by the usual signals', (_name, one) => {
    expectNamed(check({ signals: USUAL }, one), one)
  })
})

describe("one spindle's tag for the other's", () => {
  it('is told where both are mapped and swapped', () => {
    const { findings } = check(
      { bySpindle: true },
      { config: (text) => text.replace('{ 1: A, 2: B }', '{ 1: B, 2: A }') },
    )
    expect(findings.map(({ id }) => id)).toEqual(['roll_diameter.other_spindle'])
    expect(findings[0]?.text).toContain('values of active_spindle')
  })

  it("is told where the waiting roll's tag is the only one", () => {
    const { findings } = check(
      { bySpindle: true, signals: REQUIRED, rollS: 400, firstRoll: 0.9 },
      {
        config: (text) =>
          text.replace(/roll_diameter:\n +by_spindle:\n +A: .*\n +B: (.*)\n/, (_, tag) => `roll_diameter: ${tag}\n`),
      },
    )
    expect(findings.map(({ id }) => id)).toEqual(['roll_diameter.constant'])
    expect(findings[0]?.text).toContain('or the sensor is stuck')
  })
})

describe('what cannot be told apart', () => {
  /** No splice in it: only length by speed against length by area. */
  const NO_SPLICE: Partial<Scenario> = { signals: REQUIRED, rollS: 900, firstRoll: 1, durationS: 400 }

  it('names line speed, caliper and diameter where only the area speaks and the factor is no usual mix-up', () => {
    const { findings } = check(NO_SPLICE, { tags: { line_speed: times(1.3) } })
    const [first] = findings
    const named = [first?.signals, ...(first?.alternatives.map(({ signals }) => signals) ?? [])].flat().sort()
    expect(named).toEqual(['line_speed', 'nominal_caliper', 'roll_diameter'])
    expect(first?.text).toContain('These signals cannot tell this from')
    // √(1/1.3): the area goes with the diameter's square.
    const diameter = [first, ...(first?.alternatives ?? [])].find((one) => one?.signals[0] === 'roll_diameter')
    expect(diameter?.factor).toBeCloseTo(Math.sqrt(1 / 1.3), 1)
  })

  it('puts the usual mix-up first and still says what else it could be', () => {
    const { findings } = check(NO_SPLICE, { tags: { line_speed: times(1 / 0.3048) } })
    expect(findings[0]?.signals).toEqual(['line_speed'])
    expect(findings[0]?.looks_like).toBe('ft/min as m/min')
    expect(findings[0]?.alternatives.flatMap(({ signals }) => signals).sort()).toEqual([
      'nominal_caliper',
      'roll_diameter',
    ])
  })

  it('tells a tach 1 % off only where the unwind has a speed, and from the festoon only with a totaliser', () => {
    expect(check({ tachScale: 1.01, signals: REQUIRED, durationS: 1200 }).findings).toEqual([])
    const usual = check({ tachScale: 1.01, signals: USUAL, durationS: 1200 }).findings
    expect(usual.map(({ signals }) => signals)).toEqual([['buffer_position']])
    expect(usual[0]?.factor).toBeCloseTo(1 / 1.01, 2)
    expect(usual[0]?.alternatives.map(({ signals }) => signals)).toEqual([['line_speed', 'unwind_speed']])
    const all = check({ tachScale: 1.01, signals: ALL, durationS: 1200 }).findings
    expect(all.map(({ signals, alternatives }) => [signals, alternatives])).toEqual([
      [['line_speed', 'unwind_speed'], []],
    ])
    expect(all[0]?.factor).toBeCloseTo(1.01, 2)
  })
})

describe('values that cannot be', () => {
  it('are told with the last of them, for the tag gives nothing to compare', () => {
    const { findings } = check(
      { signals: REQUIRED },
      { config: (text) => text.replace(/(Line\.Speed', unit: )m\/min/, '$1m/s') },
    )
    expect(findings.map(({ id }) => id)).toEqual(['line_speed.refused'])
    expect(findings[0]?.text).toMatch(/last \d+(\.\d)? m\/s\): its unit may be m\/min/)
  })
})
