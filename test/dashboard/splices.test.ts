import { describe, expect, it } from 'vitest'
import { chooseAxis, clockMarks, endOf } from '../../dashboard/charts/time-axis.ts'
import { relativeSeconds, secondsAt, toBands, toPanels } from '../../dashboard/charts/trace-panels.ts'
import { speak } from '../../dashboard/messages.ts'
import { parseRoute, routePath } from '../../dashboard/router.ts'
import { isWanted, parseFilters, saidBy, toApiQuery, toQuery, withLive } from '../../dashboard/splices/filters.ts'
import { shownDifference } from '../../dashboard/splices/measures.ts'
import { peopleSaidInWords } from '../../dashboard/splices/people-said.ts'
import { triggerWords } from '../../dashboard/splices/record-figures.tsx'
import { sentenceFor } from '../../dashboard/splices/summary.ts'
import type { SpliceView, TraceView } from '../../edge/api/messages.ts'
import { NO_DETAILS } from '../../edge/splice-details.ts'
import { listedVerdict, reviewOf } from '../../edge/splice-review.ts'
import { entryOf } from '../history/samples.ts'

const splice = (fields: Partial<SpliceView> = {}): SpliceView => ({
  unwind: 'label_press',
  started: '2026-03-02T06:00:00.000Z',
  ended: null,
  outcome: 'good',
  cause: null,
  flags: '',
  diameter: 130,
  speed: 300,
  stopped_seconds: 1.2,
  web_from_buffer: 21,
  buffer_low: 7,
  left_on_roll: 68,
  id: 'label_press-1772431200000',
  phases: [],
  transfer: null,
  closed: true,
  has_trace: true,
  details: NO_DETAILS,
  review: null,
  ...fields,
})

describe('the diameter at the start', () => {
  it('is told without a sign, and of a missed splice without a beginning', () => {
    expect(triggerWords(-30.6, 'missed')).toEqual({ name: 'figure.trigger_below', offset: 30.6 })
    expect(triggerWords(0.4, 'missed')).toEqual({ name: 'figure.trigger_above', offset: 0.4 })
    expect(triggerWords(0.4, 'good')).toEqual({ name: 'figure.trigger_offset', offset: 0.4 })
  })
})

describe('filters', () => {
  it('live in the address and come back from it', () => {
    const query = 'unwind=label_press&outcome=failed&from=2026-03-02T06%3A00%3A00.000Z'
    const filters = parseFilters(`?${query}`)
    expect(filters).toEqual({ unwind: 'label_press', outcome: 'failed', from: '2026-03-02T06:00:00.000Z' })
    expect(toQuery(filters)).toBe(query)
    expect(parseFilters('?outcome=splendid&unwind=')).toEqual({})
    expect(toQuery(parseFilters('?cause=web_break&text=kraft%2070'))).toBe('cause=web_break&text=kraft+70')
  })

  it('hold for what comes live: a revision replaces, a verdict that no longer fits removes', () => {
    const open = splice({ id: 'b', outcome: null, started: '2026-03-02T07:00:00.000Z' })
    const failed = { ...open, outcome: 'failed' as const }
    expect(withLive([splice({ id: 'a' })], [open], {}).map(({ id }) => id)).toEqual(['b', 'a'])
    expect(withLive([open], [failed], {})).toEqual([failed])
    expect(withLive([open], [failed], { outcome: 'good' })).toEqual([])
    expect(isWanted(failed, { from: '2026-03-02T07:00:01Z' })).toBe(false)
    expect(isWanted({ ...failed, cause: 'web_break' }, { cause: 'no_new_roll' })).toBe(false)
    const named = { ...failed, details: { ...NO_DETAILS, roll_id: 'R-2041', material: 'Kraft 70' } }
    expect(isWanted(named, { text: 'kraft 2041' })).toBe(true)
    expect(isWanted(named, { text: 'film' })).toBe(false)
    expect(isWanted(failed, { to: '2026-03-02T07:00:00Z', unwind: 'label_press' })).toBe(true)
  })
})

describe('one splice in a sentence', () => {
  it.each([
    [{}, 'Press spliced at 07:00; the new web runs and the festoon recovered.'],
    [{ outcome: 'failed', cause: 'web_break' }, 'The splice of Press at 07:00 failed: web break.'],
    [{ outcome: 'missed', cause: 'no_new_roll' }, 'Press missed its splice at 07:00: new roll not ready.'],
    [{ outcome: null, closed: false }, 'Press is splicing since 07:00; the verdict is open.'],
    [{ outcome: null, closed: true }, 'What became of the splice of Press at 07:00 is not known.'],
    [
      { flags: 'late;slow_cycle' },
      'Press spliced at 07:00; the new web runs and the festoon recovered. Remarks: late, slow cycle.',
    ],
  ] as const)('%j', (fields, sentence) => {
    expect(sentenceFor(splice(fields), 'Press', '07:00')).toBe(sentence)
  })
})

describe('a verdict by people', () => {
  const said = (fields: Parameters<typeof splice>[0], entry: Parameters<typeof entryOf>[0]) =>
    sentenceFor(splice({ ...fields, review: reviewOf([entryOf(entry)]) }), 'Press', '07:00')

  it('is told as theirs, with what the signals said, where it is another one', () => {
    expect(said({ outcome: 'failed', cause: 'web_break' }, { outcome: 'good' })).toBe(
      'Press, splice at 07:00: people say “Good”, the signals said “Failed, web break”.',
    )
    expect(said({ outcome: 'good' }, { outcome: 'failed', cause: 'splicer_fault' })).toBe(
      'Press, splice at 07:00: people say “Failed, splicer fault or reset”, the signals said “Good”.',
    )
  })

  it('adds nothing where it is the same', () => {
    expect(said({ outcome: 'good' }, { outcome: 'good' })).toMatch(/^Press spliced at 07:00; the new web runs/)
  })
})

it('what was done is searched for by its name on the screen, also of what came just now', async () => {
  expect(saidBy('knife changed')).toEqual(['done_knife_changed'])
  expect(saidBy('vacu filter')).toEqual(['done_vacuum_cleaned'])
  expect([saidBy(''), saidBy('kn'), saidBy('kraft knife')]).toEqual([[], [], []])
  expect(toApiQuery({ text: 'knife changed' })).toBe('text=knife+changed&said=done_knife_changed')
  expect(toApiQuery({ text: 'R4207' })).toBe('text=R4207')
  const done = splice({ review: reviewOf([entryOf({ done: ['vacuum_cleaned'] })]) })
  expect(isWanted(done, { text: 'filter cleaned' })).toBe(true)
  expect(isWanted(done, { text: 'knife changed' })).toBe(false)
  await speak('de')
  expect(saidBy('Messer gewechselt')).toEqual(['done_knife_changed'])
  await speak('en')
})

it('what people found, noted and did is one line of a list', () => {
  const said = { thing: 'tape_did_not_hold', notes: ['Old box'], done: ['rollers_cleaned'] } as const
  expect(peopleSaidInWords({ ...said, notes: [...said.notes], done: [...said.done] })).toMatch(
    /^Tape did not hold · Old box · Done: rollers cleaned\.$/i,
  )
  expect(peopleSaidInWords({ thing: null, done: [], notes: [] })).toBe('')
})

describe('a trace', () => {
  const started = '2026-03-02T06:00:00.000Z'
  const t0 = Date.parse(started)
  const trace: TraceView = {
    id: 'x-1',
    unwind: 'x',
    started,
    time: [t0 - 1000, t0, t0 + 2500],
    columns: [
      { signal: 'tension', unit: 'N', is_state: false, values: [1, 2, 3] },
      { signal: 'unwind_speed', unit: 'm/min', is_state: false, values: [300, null, 0] },
      { signal: 'buffer_position', unit: '%', is_state: false, values: [90, 80, 70] },
      { signal: 'line_speed', unit: 'm/min', is_state: false, values: [300, 300, 300] },
      { signal: 'buffer_stored', unit: 'm', is_state: false, values: [20, 18, 15] },
      { signal: 'roll_diameter', unit: 'mm', is_state: false, values: [131, 130, 129] },
      { signal: 'new_roll_ready', unit: '', is_state: true, values: [1, null, 0] },
      { signal: 'waiting_diameter', unit: 'mm', is_state: false, values: [null, null, null] },
    ],
    phases: [
      { phase: 'decelerate', started, seconds: 2 },
      { phase: 'stopped', started: '2026-03-02T06:00:02.000Z', seconds: null },
    ],
    transfer: '2026-03-02T06:00:02.200Z',
  }

  it('is put into panels of one unit each, diameter first; what never had a value is left out', () => {
    expect(toPanels(trace).map(({ title, unit, series }) => [title, unit, series.map(({ label }) => label)])).toEqual([
      ['Diameter', 'mm', ['roll']],
      ['Speeds', 'm/min', ['line', 'unwind']],
      ['Festoon', 'm', ['stored']],
      ['Festoon', '%', ['carriage']],
      ['Tension', 'N', ['tension']],
      ['New roll ready', '', ['new roll ready']],
    ])
  })
  it('knows what is only on or off', () => {
    expect(toPanels(trace).map(({ isState }) => isState)).toEqual([false, false, false, false, false, true])
    const count = { signal: 'extra.rejects', unit: '', is_state: false, values: [0, 0, 1] }
    expect(toPanels({ ...trace, columns: [count] })[0]).toMatchObject({ isState: false, isCount: true })
  })
  it('draws a mapped tag by its words, and the ends of the guide’s travel as lines with a name', () => {
    const meanings = [
      { value: 0, text: 'waiting' },
      { value: 20, text: 'splicing' },
    ]
    const mode = { signal: 'extra.mode', unit: '', is_state: false, meanings, values: [20, null, 7] }
    const guide = {
      signal: 'extra.guide',
      unit: 'mm',
      is_state: false,
      ends: [-20, 25] as [number, number],
      values: [1, 2, 3],
    }
    const [first, second] = toPanels({ ...trace, columns: [mode, guide] })
    expect(first).toMatchObject({ title: 'Guide', words: [], series: [{ values: [1, 2, 3] }] })
    expect(first!.levels).toEqual([
      { value: -20, label: 'End of travel' },
      { value: 25, label: 'End of travel' },
    ])
    // What the map has no word for any more is not hidden.
    expect(second).toMatchObject({ words: ['waiting', 'splicing', '7'], series: [{ values: [1, null, 2] }] })
    expect(second!.levels.map(({ label }) => label)).toEqual(['waiting', 'splicing', '7'])
  })
  it('keeps nulls as gaps and counts seconds from the transfer, without one from the start', () => {
    expect(toPanels(trace)[1]!.series[1]!.values).toEqual([300, null, 0])
    expect(secondsAt(trace, trace.started)).toBeCloseTo(-2.2, 9)
    expect(relativeSeconds(trace)[2]).toBeCloseTo(0.3, 9)
    expect(relativeSeconds({ ...trace, transfer: null })).toEqual([-1, 0, 2.5])
  })
  it('draws a phase that still lasts to the end', () => {
    expect(toBands({ ...trace, transfer: null }).map(({ fromS, toS }) => [fromS, toS])).toEqual([
      [0, 2],
      [2, 2.5],
    ])
  })
})

it('a difference is of the figures as they are shown', () => {
  // To one decimal 7.46 reads 7.5 and 7.84 reads 7.8; unrounded they are 0.38 apart.
  expect(shownDifference(7.46, 7.84, 'length', 1)).toBe('−0.3')
  expect(shownDifference(2, 1.5, 'seconds', 2)).toBe('+0.50')
})

it('says of which word people changed it', () => {
  const said = (outcome: 'good' | 'failed', cause: 'web_break' | 'cycle_too_slow') => {
    const judged = splice({
      outcome: 'failed',
      cause: 'cycle_too_slow',
      review: { outcome, cause, by_hand: false } as never,
    })
    const { is_outcome_said, is_cause_said } = listedVerdict(judged)
    return [is_outcome_said, is_cause_said]
  }
  expect(said('failed', 'web_break')).toEqual([false, true])
  expect(said('good', 'cycle_too_slow')).toEqual([true, false])
})

describe('addresses', () => {
  it.each([
    ['', { page: 'wall' }],
    ['index.html', { page: 'wall' }],
    ['splices', { page: 'splices', query: '?a=1' }],
    ['splices/label_press-1', { page: 'splice', id: 'label_press-1', query: '?a=1' }],
    ['splices/a%20b', { page: 'splice', id: 'a b', query: '?a=1' }],
    ['splices/%E0%A4%A', { page: 'missing' }],
    ['elsewhere', { page: 'missing' }],
    ['splices/a/b', { page: 'missing' }],
  ] as const)('%s', (path, route) => {
    expect(parseRoute(path, '?a=1')).toEqual(route)
  })
  it('lead back', () => {
    expect(routePath({ page: 'splice', id: 'a b/c' })).toBe('splices/a%20b%2Fc')
    expect(routePath({ page: 'splices', query: 'outcome=failed' })).toBe('splices?outcome=failed')
  })
})

describe('the common time axis', () => {
  it('takes the least range that holds every splice, and a longer one once it is needed for 20 s', () => {
    const half = chooseAxis([1250, 30], undefined, 0)
    expect(half.rangeS).toBe(1800)
    let axis = half
    const rangeAt = (s: number, end: number) => (axis = chooseAxis([end], axis, s * 1000)).rangeS
    expect([0, 10, 19, 21].map((s) => rangeAt(s, 1810))).toEqual([1800, 1800, 1800, 3600])
    // A line that starts: for some seconds its roll would last for hours.
    expect([30, 40, 45, 46, 60].map((s) => rangeAt(s, s < 45 ? 7000 : 1810))).toEqual([3600, 3600, 3600, 3600, 3600])
    expect(chooseAxis([999_999], undefined, 0).rangeS).toBe(7200)
    expect(chooseAxis([], undefined, 0).rangeS).toBe(600)
  })
  it('gives way to a shorter one after a minute, and stays while rolls run out and new ones come', () => {
    const lane = (secondsLeft: number) =>
      endOf({ seconds_high: secondsLeft, next_splices: [{ after: 1750, after_low: 1740, after_high: 1760 }] })
    let axis = chooseAxis([lane(1700)], undefined, 0)
    for (let s = 0; s < 4 * 3600; s += 10) {
      axis = chooseAxis([lane(1750 - (s % 1750))], axis, s * 1000)
      expect(axis.rangeS).toBe(1800)
    }
    // What a page that was opened just now shows is what one that was left open shows a minute later.
    axis = chooseAxis([7000], undefined, 0)
    const at = (s: number) => (axis = chooseAxis([550, 400], axis, s * 1000)).rangeS
    expect([0, 30, 59, 61, 62, 121, 122, 400].map(at)).toEqual([7200, 7200, 7200, 1800, 1800, 1800, 1800, 1800])
    expect([500, 559, 561].map((s) => (axis = chooseAxis([500], axis, s * 1000)).rangeS)).toEqual([1800, 1800, 600])
  })
  it('has marks at round times of day, none over the word for now', () => {
    const nowTMs = Date.parse('2026-03-02T06:00:20Z')
    const marks = clockMarks({ rangeS: 1200, markS: 300 }, nowTMs)
    expect(marks.map(({ atTMs }) => new Date(atTMs).toISOString().slice(11, 19))).toEqual([
      '06:05:00',
      '06:10:00',
      '06:15:00',
    ])
    expect(marks.map(({ seconds }) => seconds)).toEqual([280, 580, 880])
    expect(clockMarks({ rangeS: 1200, markS: 300 }, nowTMs + 200_000)[0]!.seconds).toBe(380)
  })
})
