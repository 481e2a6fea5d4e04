/** Two wrong units at once: both are named, and no scale that nobody would configure. */
import { describe, expect, it } from 'vitest'
import { mixUpsOf } from '../../edge/consistency/mix-ups.ts'
import { pairsOf } from '../../edge/consistency/pairs.ts'
import type { Relation, RelationId, Suspect } from '../../edge/consistency/relation.ts'
import { ALL, REQUIRED, type Scenario, USUAL } from '../truth/scenario.ts'
import { check } from './watch-simulation.ts'

const times = (factor: number) => (value: number) => value * factor

/** Exact by definition: the international foot is 0.3048 m and the inch 25.4 mm. */
const FEET = times(1 / 0.3048)
const INCHES = times(1 / 25.4)
/** A roll whose core in inches still is a length that a diameter can have. */
const THICK: Partial<Scenario> = { caliperUm: 400, coreMm: 300, spliceMm: 360 }
const NO_SPLICE: Partial<Scenario> = { rollS: 900, firstRoll: 1, durationS: 400 }

const MAPPED = {
  'required signals': REQUIRED,
  'usual signals': USUAL,
  'all signals': ALL.filter((signal) => signal !== 'nominal_caliper'),
}
const CASES = {
  'speed in ft/min and diameter in inch': {
    given: THICK,
    tags: { line_speed: FEET, roll_diameter: INCHES },
    id: 'line_speed.unit+roll_diameter.unit',
    says: ['line_speed (ns=2;s=label_press.Line.Speed) to ft/min', 'Unwind.Diameter) to in (the config says mm)'],
  },
  'the same where the last inches of a roll are no possible diameter': {
    given: {},
    tags: { line_speed: FEET, roll_diameter: INCHES },
    id: 'line_speed.unit+roll_diameter.unit',
    says: ['to ft/min (the config says m/min)', 'to in (the config says mm)'],
  },
  'speed in ft/min and position as a fraction': {
    given: {},
    tags: { line_speed: FEET, buffer_position: times(0.01) },
    id: 'line_speed.unit+buffer_position.unit',
    says: ['to ft/min (the config says m/min)', "to a bare fraction ('1') (the config says %)"],
  },
  'speed in m/s and a radius': {
    given: {},
    tags: { line_speed: times(1 / 60), roll_diameter: times(0.5) },
    id: 'line_speed.unit+roll_diameter.radius',
    says: ['to m/s (the config says m/min)', 'to 2 (it looks like the radius)'],
  },
  'speed in ft/min and strands miscounted': {
    given: {},
    tags: { line_speed: FEET, buffer_position: times(0.75) },
    id: 'line_speed.unit+buffer_position.strands',
    says: ['to ft/min (the config says m/min)', 'counted 3 for every 4'],
  },
}

describe('two usual mix-ups at once', () => {
  for (const [mapped, signals] of Object.entries(MAPPED)) {
    it.each(Object.entries(CASES))(`%s, by the ${mapped}`, (_name, { given, tags, id, says }) => {
      const { findings } = check({ signals, ...given }, { tags })
      expect(findings.map((finding) => finding.id)).toEqual([id])
      for (const words of says) expect(findings[0]?.text).toContain(words)
      expect(findings[0]?.text).not.toContain('a scale of')
      expect(findings[0]?.factor).toBeNull()
      expect(findings[0]?.together.map(({ looks_like }) => typeof looks_like)).toEqual(['string', 'string'])
    })
  }

  it('says that one comparison is no proof', () => {
    const { findings } = check(
      { signals: REQUIRED, ...THICK, ...NO_SPLICE },
      { tags: { line_speed: FEET, roll_diameter: INCHES } },
    )
    expect(findings.map(({ id }) => id)).toEqual(['line_speed.unit+roll_diameter.unit'])
    expect(findings[0]?.text).toContain('Too few signals speak of it to be sure')
  })

  it('says what the signals cannot tell apart', () => {
    // By the stop's slope alone, ± 3 %, three strands for four and four for five are both possible.
    const { findings } = check({ signals: REQUIRED }, { tags: { line_speed: FEET, buffer_position: times(0.75) } })
    expect(findings[0]?.alternatives.map(({ together }) => together.map(({ looks_like }) => looks_like))).toEqual([
      ['ft/min as m/min', '4 strands for 5'],
    ])
    expect(findings[0]?.text).toContain('These signals cannot tell this from both line_speed')
  })
})

describe('a factor that is neither one mix-up nor two', () => {
  it('gets no scale where nobody would configure it', () => {
    const { findings } = check({ signals: USUAL }, { tags: { line_speed: times(4.4) } })
    expect(findings.map(({ id }) => id)).toEqual(['line_speed.odd'])
    expect(findings[0]?.text).toContain('reads 4.4 times what unwind speed, the festoon and the roll give')
    expect(findings[0]?.text).toContain('it may be a raw count')
    expect(findings[0]?.text).not.toContain('a scale of')
  })

  it('names what has to be looked at where several tags are off', () => {
    const { findings } = check({ signals: REQUIRED }, { tags: { line_speed: times(1.3), roll_diameter: times(0.5) } })
    expect(findings).toHaveLength(1)
    expect(findings[0]?.text).toContain('no two usual mix-ups together explain it')
    expect(findings[0]?.text).not.toContain('a scale of')
  })
})

describe('what a tag would then read', () => {
  const relation = (id: RelationId, ratio: number): Relation => ({
    id,
    ratio,
    sd: 0.01,
    wholeSd: 0.03,
    firstM: 1000,
    secondM: 1000,
    isJudged: true,
  })
  // d²/v: a diameter in inch read as mm, a speed in ft/min read as m/min.
  const area = [relation('area', (1 / 25.4) ** 2 * 0.3048)]
  const suspects: Suspect[][] = [['line_speed'], ['roll_diameter'], ['nominal_caliper']]
  const mixUps = (suspect: Suspect) =>
    mixUpsOf(suspect, { line_speed: 'm/min', roll_diameter: 'mm' }[suspect as string] ?? 'um')

  it('has to be possible', () => {
    const typical = { line_speed: 984 / 60, roll_diameter: 0.04, nominal_caliper: 80e-6 }
    const both = pairsOf(area, suspects, mixUps, typical)[0]?.parts.map(({ mixUp }) => mixUp)
    expect(both).toMatchObject([{ actual: 'ft/min' }, { actual: 'in' }])
    // Half a metre as it is read cannot be half a metre of inches.
    const wide = pairsOf(area, suspects, mixUps, { ...typical, roll_diameter: 0.5 })
    expect(wide.flatMap(({ parts }) => parts.map(({ mixUp }) => mixUp))).not.toContainEqual(
      expect.objectContaining({ actual: 'in' }),
    )
  })
})
