/** What comes in: silence, bad quality, lateness, people's entries, tags that nobody asked for, and rubbish. */
import fc from 'fast-check'
import { describe, expect, test } from 'vitest'
import { SPLICE_COLUMNS } from '../../edge/columns.ts'
import type { Quality, RawValue } from '../../edge/sample.ts'
import { Bench, configOf, configText } from './bench.ts'

/** The bench's config with one thing changed. */
const configWith = (before: string, after: string) => configOf(configText().replaceAll(before, after))

const running = (): Bench => new Bench().begin().run(60)

describe('staleness', () => {
  test('a source that is silent for its stale_after turns its unwind unknown, says who, and disturbs nobody', () => {
    const bench = running()
    bench.silent.add('press_gateway')
    bench.run(9.9)
    expect(bench.view('press').state).toBe('running')
    bench.run(0.7)
    const view = bench.view('press')
    expect(view).toMatchObject({ state: 'unknown', seconds_to_splice: null, line_speed: null, new_roll_ready: null })
    expect(view.reason).toMatch(/^No value of line_speed \(.+\) from press_gateway\.$/)
    expect(view.stale.map(({ signal, source }) => `${source} ${signal}`).sort()).toEqual(
      ['buffer_position', 'line_speed', 'new_roll_ready', 'nominal_caliper', 'roll_diameter'].map(
        (signal) => `press_gateway ${signal}`,
      ),
    )
    expect(view.stale.every(({ seconds }) => seconds > 10 && seconds < 11)).toBe(true)
    expect(bench.events('source_lost')).toEqual(['raised'])
    expect(bench.view('coater')).toMatchObject({ state: 'running', stale: [], reason: null })
    bench.silent.clear()
    bench.run(10)
    expect(bench.view('press')).toMatchObject({ state: 'running', stale: [], reason: null })
    expect(bench.events('source_lost')).toEqual(['raised', 'cleared'])
  })

  test('a constant is fresh as long as its source proves that it lives', () => {
    const bench = running()
    bench.silent.add('press_gateway')
    bench.run(60, () => bench.unwinds.alive('press_gateway', bench.tMs))
    expect(bench.view('press')).toMatchObject({ state: 'running', new_roll_ready: true, stale: [] })
    expect(bench.view('press').line_speed).toBeCloseTo(300, 6)
  })

  test('the silence of a whole source is no stuck sensor, neither while it lasts nor afterwards', () => {
    const bench = running()
    // At 5 m/s the diameter should have moved by four steps of 0.1 mm after 0.7 s.
    bench.silent.add('press_gateway')
    bench.run(5)
    bench.silent.clear()
    bench.run(30)
    expect(bench.events('diameter_implausible')).toEqual([])
    expect(bench.view('press').state).toBe('running')
  })

  test('what a source says of its own end comes late: data are missing since its last sign of life', () => {
    const bench = running()
    bench.silent.add('press_gateway')
    bench.run(3)
    for (const tag of ['speed', 'diameter', 'festoon', 'ready', 'caliper']) {
      bench.say('press_gateway', `press/${tag}`, undefined, { quality: 'bad' })
    }
    bench.run(1)
    const { stale } = bench.view('press')
    expect(stale.length).toBeGreaterThanOrEqual(3)
    for (const { signal, seconds } of stale) expect(seconds, signal).toBeCloseTo(4, 1)
  })

  test('bad quality ends the hold at once, and is no proof of life', () => {
    const bench = running()
    bench.silent.add('press_gateway')
    bench.tMs += 100
    bench.say('press_gateway', 'press/speed', undefined, { quality: 'bad' })
    bench.unwinds.step(bench.tMs)
    expect(bench.view('press')).toMatchObject({ state: 'unknown', line_speed: null })
    expect(bench.view('press').stale.map(({ signal }) => signal)).toEqual(['line_speed'])
    expect(bench.events('source_lost')).toEqual(['raised'])
  })

  test('a new patience in a changed config holds at once', () => {
    const bench = running()
    bench.silent.add('press_gateway')
    bench.unwinds.apply(configWith('stale_after: 10 s', 'stale_after: 30 s'), [])
    bench.run(25)
    expect(bench.view('press').state).toBe('running')
    bench.run(6)
    expect(bench.view('press').state).toBe('unknown')
  })
})

describe('what people enter', () => {
  test('ready is taken where no tag says it, and is over with the roll', () => {
    const bench = running()
    expect(bench.view('coater')).toMatchObject({ ready_by_hand: true, new_roll_ready: null })
    bench.say('operator', 'ready/coater', true, { person: 'M. Ober' })
    bench.run(0.1)
    expect(bench.view('coater').new_roll_ready).toBe(true)
    bench.say('operator', 'ready/coater', false, { person: 'M. Ober' })
    bench.run(0.1)
    expect(bench.view('coater').new_roll_ready).toBe(false)
    expect(bench.view('press').new_roll_ready).toBe(true)
  })

  test('where a tag says it, a tap counts for nothing', () => {
    const bench = running()
    bench.say('operator', 'ready/press', false, { person: 'M. Ober' })
    bench.run(0.5)
    expect(bench.view('press').new_roll_ready).toBe(true)
  })

  test('an acknowledgement reaches its alarm alone, with person and comment', () => {
    const bench = running()
    bench.silent.add('press_gateway')
    bench.silent.add('hall_broker')
    bench.run(12)
    bench.say('operator', 'acknowledge/press/source_lost', 'switch is off', { person: 'M. Ober' })
    bench.run(0.1)
    const [alarm] = bench.view('press').alarms
    expect(alarm).toMatchObject({ state: 'acknowledged', acknowledged_by: 'M. Ober', comment: 'switch is off' })
    expect(bench.view('coater').alarms[0]?.state).toBe('unacknowledged')
    expect(bench.events('source_lost')).toEqual(['raised', 'acknowledged'])
  })

  test('nonsense from the operator source is left alone', () => {
    const bench = running()
    for (const address of ['', 'acknowledge', 'acknowledge/press', 'acknowledge/press/nothing', 'ready/', 'ready/gone'])
      bench.say('operator', address, true)
    bench.run(1)
    expect(bench.faults).toEqual([])
    expect(bench.view('press').state).toBe('running')
  })
})

describe('samples that are not what they should be', () => {
  test('unknown tags are let pass, and prove all the same that their source lives', () => {
    const bench = running()
    bench.silent.add('press_gateway')
    bench.run(30, () => bench.say('press_gateway', 'press/not-mapped', 7))
    expect(bench.view('press').state).toBe('running')
  })

  test('a late one does not change the present', () => {
    const bench = running()
    bench.say('press_gateway', 'press/speed', 20, { tMs: bench.tMs - 3000 })
    bench.say('press_gateway', 'press/speed', undefined, { tMs: bench.tMs - 3000, quality: 'bad' })
    bench.unwinds.step((bench.tMs += 100))
    expect(bench.view('press').line_speed).toBeCloseTo(300, 6)
  })

  test('a duplicate changes nothing', () => {
    const once = running()
    const twice = new Bench().begin()
    twice.run(60, () => {
      twice.say('press_gateway', 'press/speed', 300)
      twice.say('press_gateway', 'press/festoon', 25)
    })
    expect(twice.view('press')).toEqual(once.view('press'))
  })

  test.each<[string, RawValue]>([
    ['text', 'fast'],
    ['nothing', ''],
    ['a number out of range', 5000],
    ['a boolean', true],
    ['no number', Number.NaN],
    ['infinity', Number.POSITIVE_INFINITY],
  ])('%s where a speed belongs is ignored, told, and holds nothing up', (_, value) => {
    const bench = running()
    bench.say('press_gateway', 'press/speed', value)
    bench.run(1)
    expect(bench.ignored).toEqual([`press.line_speed=${String(value)}`])
    expect(bench.view('press')).toMatchObject({ state: 'running' })
  })

  test('a tag that never gives a usable value is named, with what it says', () => {
    const bench = new Bench()
    bench.silent.add('press_gateway')
    bench.run(15, () => bench.say('press_gateway', 'press/speed', `3,5 ${'m/min '.repeat(20)}`))
    const { state, reason } = bench.view('press')
    expect(state).toBe('unknown')
    expect(reason).toMatch(
      /^No value of line_speed \(.+\) from press_gateway: it says "3,5 m\/min .{0,40}…", which can't be one: check address, range and map in the config\.$/,
    )
  })

  test('a time that is none is let pass', () => {
    const bench = running()
    for (const tMs of [Number.NaN, Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY]) {
      bench.say('press_gateway', 'press/speed', 10, { tMs })
      bench.say('press_gateway', 'press/diameter', undefined, { tMs, quality: 'bad' })
    }
    bench.run(0.5)
    expect(bench.view('press')).toMatchObject({ state: 'running' })
    bench.silent.add('press_gateway')
    bench.run(11)
    expect(bench.view('press').state).toBe('unknown')
  })
})

describe('a changed config', () => {
  test('keeps what is known, and gives no signal the value of another', () => {
    const bench = running()
    const before = bench.view('press')
    // Another order, one signal more, one less.
    bench.unwinds.apply(configWith('new_roll_ready: { source: press_gateway, address: press/ready }', ''), ['press'])
    bench.run(0.5)
    const after = bench.view('press')
    expect(after).toMatchObject({ state: 'running', ready_by_hand: true, nominal_caliper: before.nominal_caliper })
    expect(after.line_speed).toBeCloseTo(300, 6)
    expect(after.seconds_to_splice).toBeCloseTo((before.seconds_to_splice ?? 0) - 0.5, 0)
  })

  test('reads a constant that a tag said before in its new unit, and gives it to a new signal of that tag', () => {
    const bench = running()
    bench.unwinds.apply(
      configWith(
        'nominal_caliper: { source: press_gateway, address: press/caliper, unit: um }',
        'nominal_caliper: { source: press_gateway, address: press/caliper, unit: mil }\n      splicer_auto: { source: press_gateway, address: press/ready }',
      ),
      ['press'],
    )
    bench.run(0.5)
    // 1 mil = 25.4 µm exactly (NIST SP 811, appendix B.8).
    expect(bench.view('press').nominal_caliper).toBeCloseTo(80 * 25.4, 6)
    expect(bench.view('press').splicer_auto).toBe(true)
  })

  test('does not touch the other unwind', () => {
    const bench = running()
    const untouched = running()
    bench.unwinds.apply(configWith('name: press', 'name: Label press'), ['press'])
    expect(bench.view('press').name).toBe('Label press')
    expect(bench.run(5).view('coater')).toEqual(untouched.run(5).view('coater'))
  })
})

const ADDRESSES = ['speed', 'diameter', 'festoon', 'ready', 'caliper', 'other'] as const
const anyValue: fc.Arbitrary<RawValue | undefined> = fc.oneof(
  { weight: 4, arbitrary: fc.double({ min: -10, max: 2000, noNaN: true }) },
  fc.double(),
  fc.integer(),
  fc.boolean(),
  fc.string(),
  fc.constantFrom('', 'NaN', 'true', '1e308', '-0', '0x10', '١٢', '__proto__', undefined),
)
const anyReport = fc.record({
  source: fc.constantFrom('press_gateway', 'hall_broker', 'operator', 'nobody'),
  id: fc.constantFrom('press', 'coater'),
  address: fc.constantFrom(...ADDRESSES),
  value: anyValue,
  quality: fc.constantFrom<Quality>('good', 'good', 'good', 'uncertain', 'bad'),
  lateMs: fc.constantFrom(0, 0, 0, 50, 5000, -900, 1e7),
  thenMs: fc.constantFrom(0, 100, 100, 500, 1000, 12_000),
})

test('whatever comes, nothing throws, no number is none and no length is negative', () => {
  fc.assert(
    fc.property(fc.array(anyReport, { maxLength: 60 }), fc.boolean(), (reports, isRunning) => {
      const bench = new Bench()
      if (isRunning) bench.begin().run(5)
      for (const { source, id, address, value, quality, lateMs, thenMs } of reports) {
        const named = source === 'operator' ? `ready/${id}` : `${id}/${address}`
        bench.say(source, named, value, { quality, tMs: bench.tMs - lateMs })
        // A machine that slept is stepped over its sleep, at most a second of it here.
        const from = Math.max(bench.tMs + 100, bench.tMs + thenMs - 1000)
        for (let tMs = from; tMs <= bench.tMs + thenMs; tMs += 100) bench.unwinds.step(tMs)
        bench.tMs += thenMs
        soundRows(bench)
      }
      expect(bench.faults).toEqual([])
      bench.unwinds.finish()
    }),
    { numRuns: 300 },
  )
})

/** Lengths of web, of time and of diameter can't be below nothing; a margin can. */
const NOT_NEGATIVE = [
  'diameter',
  'caliper',
  'metres_to_splice',
  'metres_low',
  'metres_high',
  'seconds_to_splice',
  'seconds_low',
  'seconds_high',
  'buffer_needed',
  'safe_speed',
  'stopped_seconds',
  'left_on_roll',
  'speed',
] as const

function soundRows(bench: Bench): void {
  const splices = bench.splices.map((splice) => Object.fromEntries(SPLICE_COLUMNS.map((name) => [name, splice[name]])))
  for (const row of [
    ...bench.unwinds.forecasts(bench.tMs),
    ...bench.unwinds.views(bench.tMs),
    ...splices,
    ...bench.alarms,
  ]) {
    for (const [name, value] of Object.entries(row)) {
      if (typeof value === 'number') expect(value, name).toSatisfy(Number.isFinite)
    }
    for (const name of NOT_NEGATIVE) {
      const value = (row as Record<string, unknown>)[name]
      if (typeof value === 'number') expect(value, name).toBeGreaterThanOrEqual(0)
    }
  }
}
