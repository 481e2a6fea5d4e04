import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { createAlarmBoard } from '../../edge/alarms/board.ts'
import { SITE_ALARMS, type SiteFacts, UNWIND_ALARMS } from '../../edge/alarms/catalogue.ts'
import type { AlarmFacts } from '../../edge/alarms/facts.ts'
import type { AlarmView } from '../../edge/api/messages.ts'
import { type AlarmRow, CAUSES, OUTCOMES, type Priority, UNWIND_STATES } from '../../edge/columns.ts'
import { createMessages } from '../../edge/messages/message.ts'
import { factsOf, leftS, lostSignal, START_TMS } from './facts-of.ts'

const messages = createMessages('en', { strict: true })

function newBoard() {
  const records = new Map<string, AlarmView>()
  const board = createAlarmBoard<AlarmFacts>({
    unwind: 'label_press',
    definitions: UNWIND_ALARMS,
    messages,
    onChange: (view) => records.set(view.id, view),
  })
  /** Holds the facts for some seconds at 10 Hz from the given second on. */
  const hold = (facts: AlarmFacts, fromS: number, forS: number): AlarmRow[] => {
    const rows: AlarmRow[] = []
    for (let tenth = 0; tenth < forS * 10; tenth += 1) {
      rows.push(...board.evaluate({ ...facts, tMs: START_TMS + fromS * 1000 + tenth * 100 }))
    }
    return rows
  }
  return { board, records, hold }
}

const brief = (rows: readonly AlarmRow[]) => rows.map((row) => `${row.alarm} ${row.event} ${row.priority}`)

describe('the alarm board of an unwind', () => {
  it('is quiet while all is well', () => {
    const { board, hold } = newBoard()
    expect(hold(factsOf(), 0, 30)).toEqual([])
    expect(board.standing()).toEqual([])
  })

  it('gives rows and records in contract units with the alarm, its time and what to do', () => {
    // GIVEN a roll not ready with 300 of 1.5 × 240 s left
    const { board, records, hold } = newBoard()
    // WHEN it is held for longer than the on-delay of 1 s
    const rows = hold(leftS(300, { newRollReady: false }), 0, 3)
    // THEN one row says so
    expect(rows).toEqual([
      {
        time: '2026-03-02T06:00:01.000Z',
        unwind: 'label_press',
        alarm: 'roll_not_ready',
        event: 'raised',
        priority: 'medium',
        value: 300,
        limit: 360,
        text: 'The next roll is not ready. Load, prepare and arm it.',
      },
    ])
    const id = `label_press-roll_not_ready-${START_TMS + 1000}`
    expect(board.standing()).toEqual([records.get(id)])
    expect(records.get(id)).toMatchObject({ id, state: 'unacknowledged', cleared: null, short: 'Next roll not ready' })
  })

  it('converts diameters to mm and caliper to µm', () => {
    const { hold } = newBoard()
    const rows = hold(factsOf({ overdueS: 0, diameterM: 0.1281, spliceDiameterM: 0.13 }), 0, 2)
    expect(rows).toMatchObject([{ alarm: 'splice_overdue', value: 128.1, limit: 130 }])
    const caliper = { valueM: 90e-6, sdM: 0.5e-6, labelM: 80e-6 }
    expect(hold(factsOf({ caliper }), 10, 11)).toMatchObject([
      { alarm: 'splice_overdue', event: 'cleared' },
      { alarm: 'caliper_off_label', event: 'raised', value: 90, limit: 84.8 },
    ])
  })

  it('acknowledges with person and comment, once', () => {
    const { board, records, hold } = newBoard()
    hold(leftS(300, { newRollReady: false }), 0, 3)
    expect(brief(board.acknowledge('roll_not_ready', 'Kim', 'on its way', START_TMS + 5000))).toEqual([
      'roll_not_ready acknowledged medium',
    ])
    expect(board.acknowledge('roll_not_ready', 'Kim', '', START_TMS + 6000)).toEqual([])
    expect(board.acknowledge('web_break', 'Kim', '', START_TMS + 6000)).toEqual([])
    expect(board.standing()).toMatchObject([
      {
        state: 'acknowledged',
        acknowledged: '2026-03-02T06:00:05.000Z',
        acknowledged_by: 'Kim',
        comment: 'on its way',
      },
    ])
    // WHEN the roll is ready THEN the record closes
    hold(leftS(290), 10, 3)
    expect(board.standing()).toEqual([])
    expect([...records.values()]).toMatchObject([{ state: 'normal', cleared: '2026-03-02T06:00:11.000Z' }])
  })

  it('keeps the record while it rises, and forgets the acknowledgement of what was less serious', () => {
    const { board, records, hold } = newBoard()
    hold(leftS(300, { newRollReady: false }), 0, 3)
    board.acknowledge('roll_not_ready', 'Kim', '', START_TMS + 3000)
    expect(brief(hold(leftS(230, { newRollReady: false }), 70, 3))).toEqual(['roll_not_ready raised high'])
    expect(board.standing()).toMatchObject([{ state: 'unacknowledged', acknowledged: null, priority: 'high' }])
    expect(records.size).toBe(1)
  })

  it('shows a further stage at once without a further event', () => {
    const { board, hold } = newBoard()
    hold(leftS(230, { newRollReady: false }), 0, 3)
    expect(hold(leftS(100, { newRollReady: false, metresToSplice: 620 }), 130, 1)).toEqual([])
    expect(board.standing()[0]?.text).toContain('Slow to 115 m/min if the process allows it, or stop the line.')
  })

  it('keeps what it said when it came, and each stage after it', () => {
    const { board, records, hold } = newBoard()
    hold(leftS(300, { newRollReady: false }), 0, 3)
    expect(board.standing()[0]?.told).toBeUndefined()
    hold(leftS(230, { newRollReady: false }), 70, 3)
    hold(leftS(100, { newRollReady: false, metresToSplice: 620 }), 200, 10)
    const [alarm] = board.standing()
    expect(alarm?.told?.map(({ priority, text }) => [priority, text.slice(0, 60)])).toEqual([
      ['medium', 'The next roll is not ready. Load, prepare and arm it.'],
      ['high', 'The next roll is not ready, and preparing it takes all the t'],
      ['high', 'The next roll will not be ready in time at this speed. Slow '],
    ])
    expect(alarm?.told?.[0]?.time).toBe(alarm?.raised)
    // What is kept in the history is told likewise, and a further number in the same text is no further stage.
    expect([...records.values()].at(-1)?.told).toHaveLength(3)
    hold(leftS(90, { newRollReady: false, metresToSplice: 500 }), 215, 10)
    expect(board.standing()[0]?.told).toHaveLength(3)
  })

  it('opens a new record when an alarm is raised again before anybody acknowledged the last time', () => {
    const { records, hold } = newBoard()
    hold(leftS(300, { newRollReady: false }), 0, 3)
    hold(leftS(297), 3, 3)
    hold(leftS(294, { newRollReady: false }), 6, 3)
    expect([...records.values()].map(({ state, cleared }) => [state, cleared])).toEqual([
      ['normal', '2026-03-02T06:00:04.000Z'],
      ['unacknowledged', null],
    ])
  })

  it('suppresses by design what only means something running, while the line stands', () => {
    const { board, hold } = newBoard()
    hold(leftS(300, { newRollReady: false }), 0, 3)
    const standing = factsOf({ isProducing: false, state: 'standing', lineSpeedMps: 0, newRollReady: false })
    expect(brief(hold(standing, 10, 5))).toEqual(['roll_not_ready suppressed medium'])
    expect(board.standing()).toEqual([])
    expect(brief(hold(leftS(290, { newRollReady: false }), 20, 5))).toEqual(['roll_not_ready unsuppressed medium'])
    expect(board.standing()).toMatchObject([{ state: 'unacknowledged' }])
  })

  it('stands the most serious first, then the newest', () => {
    const { board, hold } = newBoard()
    const lost = [lostSignal('new_roll_ready', 12)]
    hold(factsOf({ lost }), 0, 2)
    hold(factsOf({ lost, bufferMarginM: -2, secondsLow: 280 }), 2, 8)
    hold(factsOf({ lost, bufferMarginM: -2, secondsLow: 280, overdueS: 1 }), 10, 2)
    expect(board.standing().map(({ alarm }) => alarm)).toEqual(['splice_overdue', 'buffer_short', 'source_lost'])
  })

  it('changes a number in a text at most every five seconds', () => {
    const { board, hold } = newBoard()
    const short = (bufferMarginM: number) => leftS(200, { bufferMarginM, highestSpeedMps: 4.6 })
    hold(short(-2), 0, 6)
    hold(short(-3), 6, 1)
    expect(board.standing()[0]?.text).toContain('2 m short')
    hold(short(-3), 7, 5)
    expect(board.standing()[0]?.text).toContain('3 m short')
  })

  it('takes a step back in time as no time passed', () => {
    const { board } = newBoard()
    const facts = leftS(300, { newRollReady: false })
    board.evaluate({ ...facts, tMs: START_TMS })
    board.evaluate({ ...facts, tMs: START_TMS - 60_000 })
    expect(board.evaluate({ ...facts, tMs: START_TMS + 900 })).toEqual([])
    expect(brief(board.evaluate({ ...facts, tMs: START_TMS + 1000 }))).toEqual(['roll_not_ready raised medium'])
  })
})

describe("the site's board", () => {
  it('raises store_failing for no unwind', () => {
    const board = createAlarmBoard<SiteFacts>({ unwind: '', definitions: SITE_ALARMS, messages })
    const storeTrouble = 'The disk is full.'
    board.evaluate({ tMs: START_TMS, storeTrouble })
    expect(board.evaluate({ tMs: START_TMS + 5000, storeTrouble })).toMatchObject([
      { unwind: '', alarm: 'store_failing', event: 'raised', text: expect.stringContaining('The disk is full.') },
    ])
    expect(board.standing()[0]?.id).toBe(`-store_failing-${START_TMS + 5000}`)
  })
})

/** Any facts at all: what a pipeline in any trouble may say. */
const maybe = <T>(arbitrary: fc.Arbitrary<T>) => fc.option(arbitrary, { nil: undefined, freq: 4 })
const anyFacts: fc.Arbitrary<Partial<AlarmFacts>> = fc.record({
  state: fc.constantFrom(...UNWIND_STATES),
  isProducing: fc.boolean(),
  lineSpeedMps: maybe(fc.double({ min: 0, max: 10, noNaN: true })),
  secondsToSplice: maybe(fc.double({ min: 0, max: 700, noNaN: true })),
  secondsLow: maybe(fc.double({ min: 0, max: 700, noNaN: true })),
  metresToSplice: maybe(fc.double({ min: 0, max: 3000, noNaN: true })),
  newRollReady: maybe(fc.boolean()),
  splicerAuto: maybe(fc.boolean()),
  spliceFault: maybe(fc.boolean()),
  webBreak: maybe(fc.boolean()),
  bufferMarginM: maybe(fc.double({ min: -10, max: 10, noNaN: true })),
  highestSpeedMps: maybe(fc.double({ min: 0, max: 10, noNaN: true })),
  fillShortM: maybe(fc.double({ min: -5, max: 10, noNaN: true })),
  overdueS: maybe(fc.double({ min: 0, max: 20, noNaN: true })),
  lastSplice: maybe(
    fc.record({
      id: fc.constantFrom('s-1', 's-2', 's-3'),
      outcome: fc.constantFrom(...OUTCOMES),
      cause: maybe(fc.constantFrom(...CAUSES)),
      endedTMs: fc.integer({ min: START_TMS - 1000_000, max: START_TMS + 200_000 }),
    }),
  ),
  refill: maybe(fc.record({ elapsedS: fc.double({ min: 0, max: 60, noNaN: true }), expectedS: fc.constant(20) })),
  diameterFault: maybe(
    fc.record({
      kind: fc.constantFrom('stuck', 'jump', 'rising', 'out_of_range', 'no_value'),
      valueM: maybe(fc.constant(0.5)),
      limitM: maybe(fc.constant(0.4)),
    }),
  ),
  notResetS: maybe(fc.double({ min: 0, max: 60, noNaN: true })),
  sinceRollChange: maybe(
    fc.record({
      seconds: fc.double({ min: 0, max: 100, noNaN: true }),
      turns: fc.double({ min: 0, max: 9, noNaN: true }),
    }),
  ),
  lost: fc.constantFrom([], [lostSignal('line_speed')]),
  caliper: maybe(
    fc.record({ valueM: fc.constantFrom(70e-6, 80e-6, 90e-6), sdM: fc.constant(1e-6), labelM: fc.constant(80e-6) }),
  ),
  pipelineFault: maybe(fc.constant('A number was not finite.')),
})
/** Phases of 0.1 to 40 s with the same facts, and an acknowledgement of everything now and then. */
const anyCourse = fc.array(
  fc.record({
    facts: anyFacts,
    steps: fc.integer({ min: 1, max: 40 }),
    stepMs: fc.constantFrom(100, 1000),
    ack: fc.boolean(),
  }),
  { minLength: 1, maxLength: 25 },
)
type Course = typeof anyCourse extends fc.Arbitrary<infer T> ? T : never

/** Plays a course; `restartAfter` replaces the board by one restored from JSON after that many steps. */
function play(course: Course, restartAfter = -1): { rows: AlarmRow[]; end: AlarmView[] } {
  const create = () => createAlarmBoard<AlarmFacts>({ unwind: 'u', definitions: UNWIND_ALARMS, messages })
  let board = create()
  const rows: AlarmRow[] = []
  let tMs = START_TMS
  let step = 0
  for (const phase of course) {
    for (let index = 0; index < phase.steps; index += 1) {
      tMs += phase.stepMs
      rows.push(...board.evaluate(factsOf({ ...phase.facts, tMs })))
      if ((step += 1) === restartAfter) {
        const snapshot = JSON.parse(JSON.stringify(board.snapshot()))
        board = create()
        board.restore(snapshot)
      }
    }
    if (phase.ack) for (const { alarm } of board.standing()) rows.push(...board.acknowledge(alarm, 'Kim', '', tMs))
  }
  return { rows, end: board.standing() }
}

describe('whatever the facts', () => {
  const rank: Record<Priority, number> = { low: 1, medium: 2, high: 3 }

  it('clears nothing that was not raised, and raises nothing twice but to a higher priority', () => {
    let events = 0
    fc.assert(
      fc.property(anyCourse, (course) => {
        const raised = new Map<string, number>()
        for (const { alarm, event, priority } of play(course).rows) {
          events += 1
          const standing = raised.get(alarm)
          if (event === 'raised') {
            expect(rank[priority]).toBeGreaterThan(standing ?? 0)
            raised.set(alarm, rank[priority])
          } else if (event === 'cleared') {
            expect(standing).toBeDefined()
            raised.delete(alarm)
          } else if (event !== 'acknowledged') expect(standing).toBeDefined()
        }
      }),
      { numRuns: 150, seed: 20260302 },
    )
    // The courses do something: a property over nothing holds always.
    expect(events).toBeGreaterThan(1000)
  })

  it('goes on unchanged from a snapshot taken at any step', () => {
    fc.assert(
      fc.property(anyCourse, fc.nat({ max: 999 }), (course, at) => {
        const steps = course.reduce((sum, phase) => sum + phase.steps, 0)
        expect(play(course, 1 + (at % steps))).toEqual(play(course))
      }),
      { numRuns: 100, seed: 20260302 },
    )
  })
})
