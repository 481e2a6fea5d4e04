import { describe, expect, it } from 'vitest'
import { festoonWords, instructionFor, readinessOf } from '../../dashboard/wall/instruction.ts'
import { orderLanes, toPages } from '../../dashboard/wall/order.ts'
import type { AlarmView, UnwindView } from '../../edge/api/messages.ts'

const START = '2026-03-02T06:00:00.000Z'

const view = (fields: Partial<UnwindView> = {}): UnwindView => ({
  time: START,
  unwind: 'a',
  name: 'A',
  state: 'running',
  diameter: 300,
  caliper: 80,
  metres_to_splice: 3000,
  metres_low: 2950,
  metres_high: 3050,
  seconds_to_splice: 600,
  seconds_low: 590,
  seconds_high: 610,
  buffer_stored: 7.5,
  buffer_needed: 21,
  buffer_margin: 6.8,
  safe_speed: 338,
  line_speed: 300,
  line_state: null,
  next_splices: [],
  new_roll_ready: true,
  ready_by_hand: false,
  splicer_auto: true,
  active_spindle: 'A',
  preparation_seconds: 240,
  preparation: { stages: [], ready: true, missing: null },
  waiting_roll: null,
  fill_lead_seconds: 35,
  splice_diameter: 130,
  core_diameter: 100,
  nominal_caliper: 80,
  buffer: { capacity: 30, running: 7.5, fill: 28.5, trip: 0.9, reserve: 1, mode: 'fill_before' },
  stale: [],
  reason: null,
  joints: [],
  alarms: [],
  ...fields,
})

const alarm = (fields: Partial<AlarmView> = {}): AlarmView => ({
  id: 'a-roll_not_ready-1',
  unwind: 'a',
  alarm: 'roll_not_ready',
  priority: 'high',
  state: 'unacknowledged',
  raised: START,
  cleared: null,
  acknowledged: null,
  acknowledged_by: null,
  comment: null,
  suppressed: false,
  shelved_until: null,
  shelved_by: null,
  value: null,
  limit: null,
  text: 'The next roll is not ready.',
  ...fields,
})

describe('what to do', () => {
  const left = (seconds: number) => ({ seconds_to_splice: seconds, seconds_low: seconds })
  const cases: [string, Partial<UnwindView>, string, string][] = [
    ['a ready roll asks for nothing', {}, 'Ready', 'calm'],
    ['a roll that is not ready', { new_roll_ready: false }, 'Prepare next roll', 'calm'],
    // 0.5 × 240 s of preparation before a fill that begins 35 s before the splice.
    ['just time enough to prepare', { new_roll_ready: false, ...left(156) }, 'Prepare next roll', 'calm'],
    ['too late to prepare', { new_roll_ready: false, ...left(154) }, 'Slow or stop the line', 'high'],
    ['readiness that nobody knows', { new_roll_ready: null }, 'Check next roll', 'calm'],
    ['the first missing link after the roll', { splicer_auto: false }, 'Splicer to automatic', 'calm'],
    ['splicing', { state: 'splicing' }, 'Splicing', 'calm'],
    ['standing', { state: 'standing', new_roll_ready: false }, 'Line stopped', 'calm'],
    ['no roll', { state: 'no_roll' }, 'No roll on: load one', 'calm'],
    ['unknown', { state: 'unknown', reason: 'no data' }, 'No estimate: look', 'calm'],
    [
      "the daemon's own instruction behind the colon",
      { alarms: [alarm({ short: 'Roll not ready: slow to 165 m/min' })] },
      'Slow to 165 m/min',
      'high',
    ],
    [
      'a highest speed only to slow down',
      { safe_speed: 338, line_speed: 300, alarms: [alarm({ alarm: 'buffer_short' })] },
      'Slow the line',
      'high',
    ],
    [
      "a highest speed below the line's, rounded down",
      { safe_speed: 244, line_speed: 300, alarms: [alarm({ alarm: 'buffer_short' })] },
      'Slow to 240 m/min or less',
      'high',
    ],
    [
      'a line to stop that still runs',
      { alarms: [alarm({ alarm: 'splice_missed' })] },
      'Stop line, thread roll',
      'high',
    ],
    [
      'no stopping of what stands',
      { state: 'standing', alarms: [alarm({ alarm: 'splice_missed' })] },
      'Thread next roll',
      'high',
    ],
    ['nothing from low priority', { alarms: [alarm({ priority: 'low' })] }, 'Ready', 'calm'],
    [
      'nothing from what is over',
      { alarms: [alarm({ cleared: START, state: 'returned_unacknowledged' })] },
      'Ready',
      'calm',
    ],
  ]
  it.each(cases)('%s', (_name, fields, verb, tone) => {
    expect(instructionFor(view(fields))).toMatchObject({ verb, tone })
  })

  it('says the graver of two alarms, and how many more there are', () => {
    const two = [alarm({ alarm: 'speeds_disagree', priority: 'medium' }), alarm({ alarm: 'splice_overdue' })]
    expect(instructionFor(view({ alarms: two }))).toMatchObject({ wrong: 'Splice overdue', tone: 'high', more: 1 })
  })

  it('knows ready, not ready and not known', () => {
    expect([true, false, null].map((ready) => readinessOf({ new_roll_ready: ready }))).toEqual(['yes', 'no', 'unknown'])
  })
})

describe('the festoon in words', () => {
  const words = (fields: Partial<UnwindView>) => festoonWords(view(fields))
  it('never promises more than there is: spare is rounded down, missing web up', () => {
    expect(words({ buffer_margin: 6.9 })).toEqual({ head: 'Festoon OK', tail: 'spare 6 m', isShort: false })
    expect(words({ buffer_margin: -2.1, safe_speed: 244 })).toEqual({
      head: 'Festoon short',
      tail: 'short by 3 m: 240 m/min or less',
      isShort: true,
    })
  })
  it('says what is stored while the line stands, and nothing where there is no festoon', () => {
    expect(words({ state: 'standing', buffer_margin: null })).toMatchObject({ head: 'Festoon', tail: '8 m stored' })
    expect(words({ buffer: null })).toBeUndefined()
    expect(words({ buffer_stored: null })).toMatchObject({ head: 'Festoon: no data' })
    expect(words({ state: 'refilling' })).toMatchObject({ head: 'Festoon refilling', tail: 'at 8 m' })
  })
})

describe('who needs hands next', () => {
  const lane = (unwind: string, fields: Partial<UnwindView>) => view({ unwind, ...fields })
  const inOrder = (views: UnwindView[], before?: string[]) => orderLanes(views, before).map(({ unwind }) => unwind)

  it('stands first: trouble, unknown, no roll, not ready by time to begin, ready, standing', () => {
    const lanes = [
      lane('standing', { state: 'standing', seconds_to_splice: null, seconds_low: null }),
      lane('ready_soon', { seconds_low: 30 }),
      lane('not_ready_later', { new_roll_ready: false, seconds_low: 900 }),
      // Splices later, but takes so long to prepare that it has to begin sooner.
      lane('not_ready_slow', { new_roll_ready: false, seconds_low: 1200, preparation_seconds: 1000 }),
      lane('medium', { alarms: [alarm({ priority: 'medium' })] }),
      lane('high', { alarms: [alarm()], seconds_low: 2000 }),
      lane('no_roll', { state: 'no_roll' }),
      lane('unknown', { state: 'unknown' }),
    ]
    expect(inOrder(lanes)).toEqual([
      'high',
      'medium',
      'unknown',
      'no_roll',
      'not_ready_slow',
      'not_ready_later',
      'ready_soon',
      'standing',
    ])
  })

  it('keeps two lanes in their places for a jitter of seconds, not for a real change', () => {
    const pair = (a: number, b: number) => [
      lane('a', { new_roll_ready: false, seconds_low: a }),
      lane('b', { new_roll_ready: false, seconds_low: b }),
    ]
    expect(inOrder(pair(603, 600), ['a', 'b'])).toEqual(['a', 'b'])
    expect(inOrder(pair(606, 600), ['a', 'b'])).toEqual(['b', 'a'])
  })

  it('goes on further pages, trouble on the first', () => {
    const lanes = ['1', '2', '3', '4', '5'].map((unwind) => lane(unwind, {}))
    const ordered = orderLanes([...lanes, lane('trouble', { alarms: [alarm()] })])
    const pages = toPages(ordered, 4)
    expect(pages.map((page) => page.length)).toEqual([4, 2])
    expect(pages[0]![0]!.unwind).toBe('trouble')
  })
})
