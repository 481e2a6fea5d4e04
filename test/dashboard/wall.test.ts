import { describe, expect, it } from 'vitest'
import { abortedUnwinds } from '../../dashboard/wall/aborted.ts'
import { slackSeconds } from '../../dashboard/wall/deadline.ts'
import { instructionFor } from '../../dashboard/wall/instruction.ts'
import {
  festoonWords,
  nextRollWords,
  readinessOf,
  readinessShown,
  readyWords,
  timesOfDay,
} from '../../dashboard/wall/lane-words.ts'
import { orderLanes, toPages } from '../../dashboard/wall/order.ts'
import { toAcknowledge } from '../../dashboard/wall/trouble.ts'
import type { AlarmView, SpliceView, UnwindView } from '../../edge/api/messages.ts'
import { alarmView } from '../support/alarm-view.ts'

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
  left_to_core: null,
  next_flag: null,
  job_end: null,
  new_roll_ready: true,
  ready_by_hand: false,
  splicer_auto: true,
  active_spindle: 'A',
  preparation_seconds: 240,
  preparation: { stages: [], ready: true, left_seconds: 240, least_seconds: 190, missing: null },
  waiting_roll: null,
  fill_lead_seconds: 35,
  splice_diameter: 130,
  core_diameter: 100,
  full_diameter: 1000,
  nominal_caliper: 80,
  buffer: { capacity: 30, running: 7.5, fill: 28.5, trip: 0.9, reserve: 1, mode: 'fill_before' },
  stale: [],
  reason: null,
  reason_words: null,
  joints: [],
  alarms: [],
  ...fields,
})

const alarm = (fields: Partial<AlarmView> = {}): AlarmView =>
  alarmView({ id: 'a-roll_not_ready-1', unwind: 'a', raised: START, ...fields })

describe('what to do', () => {
  const left = (seconds: number) => ({ seconds_to_splice: seconds, seconds_low: seconds })
  const cases: [string, Partial<UnwindView>, string, string][] = [
    ['a ready roll asks for nothing', {}, 'Ready', 'calm'],
    ['a roll that is not ready', { new_roll_ready: false }, 'Prepare next roll', 'calm'],
    // 190 s is the least that preparing takes; the fill begins 35 s before the splice.
    ['just time enough to prepare', { new_roll_ready: false, ...left(226) }, 'Prepare next roll', 'calm'],
    ['too late to prepare', { new_roll_ready: false, ...left(224) }, 'Slow or stop the line', 'high'],
    ['readiness that nobody knows', { new_roll_ready: null }, 'Check next roll', 'calm'],
    ['the first missing link after the roll', { splicer_auto: false }, 'Splicer to automatic', 'calm'],
    ['splicing', { state: 'splicing' }, 'Splicing', 'calm'],
    ['standing', { state: 'standing', new_roll_ready: false }, 'Line stopped', 'calm'],
    ['no roll', { state: 'no_roll' }, 'No roll on: load one', 'calm'],
    ['unknown', { state: 'unknown', reason: 'no data' }, 'No estimate: look', 'calm'],
    ['threading', { line_state: 'thread', new_roll_ready: false }, 'Line threads', 'calm'],
    ['jogging', { line_state: 'jog', state: 'standing' }, 'Line jogs', 'calm'],
    [
      "the daemon's own speed behind the colon, and what to do where slowing does not do",
      { new_roll_ready: false, alarms: [alarm({ short: 'Roll not ready: slow to 165 m/min' })] },
      'Slow to 165 m/min or stop',
      'high',
    ],
    [
      'no speed that would do',
      { new_roll_ready: false, alarms: [alarm({ short: 'Roll not ready: slow or stop' })] },
      'Slow or stop the line',
      'high',
    ],
    [
      'only stopping, once no speed can be reached any more',
      {
        new_roll_ready: false,
        alarms: [alarm({ short: 'x: y', words: { key: 'alarm.roll_not_ready.stop', parameters: {} } })],
      },
      'Stop the line',
      'high',
    ],
    ['nothing of the alarm that ends a moment after the roll is ready', { alarms: [alarm()] }, 'Ready', 'calm'],
    [
      'to start the splice that is overdue',
      { alarms: [alarm({ alarm: 'splice_overdue' })] },
      'Start splice or stop',
      'high',
    ],
    [
      'only to stop where it can not begin',
      { splicer_auto: false, alarms: [alarm({ alarm: 'splice_overdue' })] },
      'Stop the line',
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
      'no speed for a line that stands',
      {
        state: 'standing',
        new_roll_ready: false,
        alarms: [alarm({ alarm: 'buffer_short', short: 'Festoon short: slow to 165 m/min' })],
      },
      'Line stopped',
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
    [
      'nothing from a splice that went wrong and is over',
      { alarms: [alarm({ alarm: 'splice_failed', cleared: START, state: 'returned_unacknowledged' })] },
      'Ready',
      'calm',
    ],
  ]
  it.each(cases)('%s', (_name, fields, verb, tone) => {
    expect(instructionFor(view(fields))).toMatchObject({ verb, tone })
  })

  it('says the graver of two alarms, and which more there are', () => {
    const two = [alarm({ alarm: 'speeds_disagree', priority: 'medium' }), alarm({ alarm: 'splice_overdue' })]
    expect(instructionFor(view({ alarms: two }))).toMatchObject({ wrong: 'Splice overdue', tone: 'high' })
    expect(instructionFor(view({ alarms: two })).others.map(({ alarm: id }) => id)).toEqual(['speeds_disagree'])
  })

  it('names the source where all that it had is lost, and a single signal otherwise', () => {
    const lost = (signals: string[]): Partial<UnwindView> => ({
      state: 'unknown',
      stale: signals.map((signal) => ({ signal, source: 'hall_broker', address: signal, seconds: 30 })),
      alarms: [alarm({ alarm: 'source_lost', short: 'No value: line_speed' })],
    })
    expect(instructionFor(view(lost(['line_speed', 'roll_diameter']))).wrong).toBe('Source lost: hall_broker')
    expect(instructionFor(view(lost(['line_speed']))).wrong).toBe('No value')
  })

  it('lets the festoon be judged by eye, and not the roll, where only its carriage gives no value', () => {
    const stale = [{ signal: 'buffer_position', source: 'plc', address: 'festoon', seconds: 30 }]
    const alarms = [alarm({ alarm: 'source_lost', short: 'No value: buffer position' })]
    expect(instructionFor(view({ stale, alarms, seconds_to_splice: 115 })).verb).toBe('Judge festoon by eye')
    expect(instructionFor(view({ stale, alarms, seconds_to_splice: null })).verb).toBe('Judge roll by eye')
  })

  it('says that a cycle was aborted while nothing graver stands', () => {
    expect(instructionFor(view(), true)).toMatchObject({ wrong: 'Splice aborted', tone: 'medium' })
    expect(instructionFor(view({ alarms: [alarm({ alarm: 'splice_overdue' })] }), true).tone).toBe('high')
    expect(instructionFor(view({ state: 'splicing' }), true).tone).toBe('calm')
  })

  it('tells nobody to stop a line that is being threaded', () => {
    const failed = { alarm: 'splice_failed', short: 'Splice failed: web break' } as const
    const threading = view({ line_state: 'thread', alarms: [alarm(failed)] })
    expect(instructionFor(threading).verb).toBe('Clear and thread web')
    expect(instructionFor(view({ alarms: [alarm(failed)] })).verb).toBe('Stop line, clear web')
  })

  it('keeps a splice that went wrong beside what is to be done now, until somebody has seen it', () => {
    const over = alarm({
      alarm: 'splice_failed',
      short: 'Splice failed: web break',
      state: 'returned_unacknowledged',
      cleared: START,
    })
    const others = (alarms: AlarmView[]) => instructionFor(view({ alarms })).others.map(({ alarm: id }) => id)
    expect(others([over])).toEqual(['splice_failed'])
    // One thing at a time: what stands is seen first.
    expect(others([over, alarm({ alarm: 'splice_overdue' })])).toEqual([])
    expect(others([over, alarm({ alarm: 'splice_overdue', acknowledged: START })])).toEqual(['splice_failed'])
    expect(others([over, { ...over, alarm: 'splice_missed' }])).toHaveLength(1)
    // Then it is work for a list.
    const at = (minute: string) => others([{ ...over, cleared: `2026-03-02T05:${minute}:00.000Z` }])
    expect([at('56'), at('54')]).toEqual([['splice_failed'], []])
    expect(others([{ ...over, acknowledged: START, state: 'normal' }])).toEqual([])
    // Other alarms that are over go to the list, not on the wall.
    expect(others([{ ...over, alarm: 'buffer_short' }])).toEqual([])
  })

  it('acknowledges what stands in large letters', () => {
    const over = (id: AlarmView['alarm'], raised: string) =>
      alarm({ alarm: id, raised, cleared: START, state: 'returned_unacknowledged' })
    const [older, newer] = [over('web_break', '2026-03-02T05:58:00.000Z'), over('splice_overdue', START)]
    const open = (alarms: AlarmView[]) => toAcknowledge(view({ alarms }))?.alarm
    expect(open([newer, older])).toBe('web_break')
    expect(instructionFor(view({ alarms: [newer, older] })).others[0]?.alarm).toBe('web_break')
    expect(open([newer])).toBe('splice_overdue')
    expect(open([older, alarm({ alarm: 'buffer_short', priority: 'medium' })])).toBe('buffer_short')
  })

  it('puts no tick beside a wrong roll that the splicer calls ready', () => {
    expect(readinessShown(view())).toBe('yes')
    expect(
      readinessShown(
        view({
          preparation: { stages: [], ready: true, left_seconds: 240, least_seconds: 190, missing: 'wrong_roll' },
        }),
      ),
    ).toBe('no')
    expect(readinessShown(view({ splicer_auto: false }))).toBe('no')
    expect(readinessShown(view({ new_roll_ready: null }))).toBe('unknown')
  })

  it('asks for a look at a roll whose label does not say all that the job needs', () => {
    const roll = view().waiting_roll!
    const unchecked = view({ waiting_roll: { ...roll, unchecked: ['material'] } })
    expect(instructionFor(unchecked).verb).toBe('Check next roll')
    expect(readinessShown(unchecked)).toBe('unknown')
    expect(instructionFor(view({ waiting_roll: { ...roll, unchecked: [] } })).verb).toBe('Ready')
  })

  it('says the cause too where it is short and no order', () => {
    const wrong = (id: AlarmView['alarm'], short: string) =>
      instructionFor(view({ alarms: [alarm({ alarm: id, short })] })).wrong
    expect(wrong('splice_failed', 'Splice failed: web break')).toBe('Splice failed')
    expect(wrong('roll_out_of_round', 'Out of round: 2.1 mm')).toBe('Out of round: 2.1 mm')
    expect(wrong('buffer_short', 'Festoon short: slow to 240 m/min')).toBe('Festoon short')
  })

  it('knows ready, not ready and not known', () => {
    expect([true, false, null].map((ready) => readinessOf({ new_roll_ready: ready }))).toEqual(['yes', 'no', 'unknown'])
  })
})

describe('an aborted cycle', () => {
  const splice = (id: string, unwind: string, minute: number, outcome: SpliceView['outcome']) =>
    [id, { id, unwind, started: `2026-03-02T06:0${minute}:00.000Z`, outcome } as SpliceView] as const
  it('is said of an unwind until its next one, in whatever order they come', () => {
    const aborted = splice('1', 'a', 1, 'aborted')
    expect([...abortedUnwinds(new Map([aborted, splice('2', 'b', 2, 'good')]))]).toEqual(['a'])
    expect([...abortedUnwinds(new Map([splice('3', 'a', 3, null), aborted]))]).toEqual([])
  })
})

describe('the festoon in words', () => {
  const words = (fields: Partial<UnwindView>) => festoonWords(view(fields))?.text
  it('is OK, or short with the speed that would do, rounded down', () => {
    expect(words({ buffer_margin: 6.9 })).toBe('Festoon OK')
    expect(words({ buffer_margin: -2.1, safe_speed: 244 })).toBe('Festoon short: 240 m/min or less')
    expect(words({ buffer_margin: -2.1, safe_speed: 0 })).toBe('Festoon short')
  })
  it('fills only while it is not full', () => {
    expect(words({ state: 'filling', buffer_stored: 20 })).toBe('Festoon filling')
    expect(words({ state: 'filling', buffer_stored: 28.2 })).toBe('Festoon full')
    expect(words({ state: 'refilling' })).toBe('Festoon refilling')
  })
  it('claims nothing while the line stands, and is not there where there is none', () => {
    expect(words({ state: 'standing', buffer_margin: null })).toBeUndefined()
    expect(words({ buffer: null })).toBeUndefined()
    expect(words({ buffer_stored: null })).toBe('Festoon: no data')
  })
})

describe('preparing the next roll', () => {
  const stages = (done: number): UnwindView['preparation']['stages'] =>
    (['fetch', 'load', 'splice_prep'] as const).map((stage, index) => ({
      stage,
      done_at: index < done ? START : null,
      usual_seconds: [120, 60, 60][index]!,
      by_hand: true,
    }))
  const at = (done: number, missing: UnwindView['preparation']['missing'], more: Partial<UnwindView> = {}) =>
    view({
      new_roll_ready: false,
      preparation: { stages: stages(done), ready: false, ...LEFT[done]!, missing },
      ...more,
    })
  const LEFT = [240, 120, 60, 24].map((s) => ({ left_seconds: s, least_seconds: 0.8 * s }))

  it('says the first open stage as an order, and what is missing', () => {
    const said = [at(0, 'fetch'), at(1, 'load'), at(2, 'splice_prep'), at(3, 'arm'), at(3, 'splicer_auto')]
    expect(said.map((one) => instructionFor(one).verb)).toEqual([
      'Fetch next roll',
      'Load next roll',
      'Prepare the splice',
      'Arm the splicer',
      'Splicer to automatic',
    ])
    expect(said.map(readyWords)).toEqual([
      'not fetched',
      'not loaded',
      'not prepared',
      'splicer not armed',
      'not in automatic',
    ])
  })
  it('takes what is done from what preparing still takes', () => {
    // 590 s at the early end, less 35 s of fill, less 240, 120 and 60 s of preparation.
    expect([0, 1, 2].map((done) => slackSeconds(at(done, null)))).toEqual([315, 435, 495])
    // 100 s to go: too late for a whole preparation of 240 s (192 s at least), not for its last minute.
    const late = { seconds_low: 135 }
    expect(instructionFor(at(0, 'fetch', late))).toMatchObject({ verb: 'Slow or stop the line', tone: 'high' })
    expect(instructionFor(at(2, 'splice_prep', late))).toMatchObject({ verb: 'Prepare the splice', tone: 'calm' })
  })
  it('refuses a roll that the job can not take', () => {
    expect(instructionFor(at(1, 'hold'))).toMatchObject({
      verb: 'Take another roll',
      wrong: 'roll on hold',
      tone: 'medium',
    })
    expect(instructionFor(at(1, 'wrong_roll'))).toMatchObject({ verb: 'Fetch the right roll', wrong: 'wrong roll' })
  })
  it('asks for no roll where the job ends first', () => {
    const end = { job_end: { metres: 1500, seconds: 305 } }
    const late = at(0, 'fetch', { seconds_low: 100, ...end })
    expect(instructionFor(late)).toMatchObject({ verb: 'Job ends in 5:00 min', tone: 'calm', wrong: undefined })
    expect([readyWords(late), readinessShown(late), slackSeconds(late)]).toEqual(['no further roll', 'yes', undefined])
    // The roll that waits may be the next job's.
    expect(instructionFor(at(1, 'wrong_roll', end)).tone).toBe('calm')
    expect(timesOfDay({ ...late, seconds_to_splice: 900 }, 900, Date.parse(START), 'UTC')).toEqual([])
    expect(instructionFor(at(0, 'fetch', { ...end, state: 'standing' })).verb).toBe('Line stopped')
  })
  it('says times of day above 10 min, and which roll comes', () => {
    const far = at(1, 'load', { seconds_to_splice: 900, seconds_low: 850 })
    const tMs = Date.parse(START)
    const times = (one: UnwindView, seconds: number) => timesOfDay(one, seconds, tMs, 'UTC').map(({ text }) => text)
    expect(times(far, 900)).toEqual(['ready by 06:13', 'splice 06:15'])
    expect(times({ ...far, new_roll_ready: true }, 900)).toEqual(['splice 06:15'])
    expect(times(far, 599)).toEqual([])
    expect(times({ ...far, line_state: 'thread' }, 900)).toEqual([])
    const roll = { roll_id: null, material: 'Film 38', width: 330, faults: [], unchecked: [] }
    const next = (one: UnwindView) => nextRollWords(one).map(({ text }) => text)
    expect(next({ ...far, waiting_roll: roll })).toEqual(['Film 38', '330 mm', 'staged'])
    expect(next(at(0, 'fetch'))).toEqual(['not staged'])
    expect(next(at(0, 'ready'))).toEqual([])
    // One that is ready lies there: that needs no saying.
    expect(next({ ...far, waiting_roll: roll, new_roll_ready: true })).toEqual(['Film 38', '330 mm'])
    expect(next(at(3, null, { new_roll_ready: true }))).toEqual([])
    expect(readyWords(at(0, 'ready', { new_roll_ready: null }))).toBe('ready: not known')
  })
})

describe('who needs hands next', () => {
  const lane = (unwind: string, fields: Partial<UnwindView>) => view({ unwind, ...fields })
  const inOrder = (views: UnwindView[], before?: string[]) => orderLanes(views, before).map(({ unwind }) => unwind)

  it('shows of the rolls that are ready the nearest splice first, whenever its fill begins', () => {
    const lanes = [
      lane('filling', { seconds_to_splice: 14, seconds_low: 12, fill_lead_seconds: 30 }),
      lane('sooner', { seconds_to_splice: 2, seconds_low: 1, fill_lead_seconds: 0 }),
      lane('now', { state: 'splicing', seconds_to_splice: null, seconds_low: null }),
      lane('was_wrong', {
        seconds_to_splice: 60,
        alarms: [alarm({ alarm: 'splice_failed', cleared: START, state: 'returned_unacknowledged' })],
      }),
    ]
    expect(inOrder(lanes)).toEqual(['now', 'sooner', 'filling', 'was_wrong'])
  })

  it('stands first: trouble, unknown, no roll, not ready by time to begin, ready, standing', () => {
    const lanes = [
      lane('standing', { state: 'standing', seconds_to_splice: null, seconds_low: null }),
      lane('ready_soon', { seconds_low: 30 }),
      lane('was_wrong', {
        alarms: [alarm({ alarm: 'splice_failed', cleared: START, state: 'returned_unacknowledged' })],
        seconds_low: 60,
      }),
      lane('not_ready_later', { new_roll_ready: false, seconds_low: 900 }),
      // Splices later, but takes so long to prepare that it has to begin sooner.
      lane('not_ready_slow', {
        new_roll_ready: false,
        seconds_low: 1200,
        preparation: { stages: [], ready: false, left_seconds: 1000, least_seconds: 800, missing: 'ready' },
      }),
      lane('medium', { alarms: [alarm({ alarm: 'buffer_short', priority: 'medium' })] }),
      lane('high', { alarms: [alarm({ alarm: 'splice_overdue' })], seconds_low: 2000 }),
      lane('refused', {
        seconds_low: 3000,
        preparation: { stages: [], ready: true, left_seconds: 240, least_seconds: 190, missing: 'wrong_roll' },
      }),
      lane('no_roll', { state: 'no_roll' }),
      lane('unknown', { state: 'unknown' }),
    ]
    expect(inOrder(lanes)).toEqual([
      'high',
      'medium',
      'refused',
      'unknown',
      'no_roll',
      'not_ready_slow',
      'not_ready_later',
      'ready_soon',
      'was_wrong',
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
    const ordered = orderLanes([...lanes, lane('trouble', { alarms: [alarm({ alarm: 'splice_overdue' })] })])
    const pages = toPages(ordered, 4)
    expect(pages.map((page) => page.length)).toEqual([4, 2])
    expect(pages[0]![0]!.unwind).toBe('trouble')
  })
})
