import { describe, expect, it } from 'vitest'
import { createAlarmBoard } from '../../edge/alarms/board.ts'
import { SITE_ALARMS, UNWIND_ALARMS } from '../../edge/alarms/catalogue.ts'
import { spliceOverdue } from '../../edge/alarms/conditions.ts'
import type { AlarmFacts } from '../../edge/alarms/facts.ts'
import { ALARM_IDS } from '../../edge/columns.ts'
import { createMessages } from '../../edge/messages/message.ts'
import { factsOf, leftS, lostSignal, START_TMS } from './facts-of.ts'

/** One unwind whose facts a test changes while the seconds go by at 10 Hz. */
function newLine() {
  const messages = createMessages('en', { strict: true })
  const board = createAlarmBoard<AlarmFacts>({ unwind: 'u', definitions: UNWIND_ALARMS, messages })
  let tMs = START_TMS
  const events = (facts: (second: number) => AlarmFacts, forS: number): string[] => {
    const found: string[] = []
    for (let tenth = 0; tenth < forS * 10; tenth += 1) {
      tMs += 100
      for (const row of board.evaluate({ ...facts(tenth / 10), tMs })) {
        found.push(`${row.alarm} ${row.event}${row.event === 'raised' ? ` ${row.priority}` : ''}`)
      }
    }
    return found
  }
  return {
    board,
    /** What is raised and cleared while the facts hold for some seconds. */
    hold: (stated: AlarmFacts, forS: number) => events(() => stated, forS),
    events,
    now: () => tMs,
    text: () => board.standing()[0]?.text,
  }
}

const stopped = (stated: Partial<AlarmFacts> = {}) =>
  factsOf({
    isProducing: false,
    state: 'standing',
    lineSpeedMps: 0,
    secondsToSplice: undefined,
    secondsLow: undefined,
    ...stated,
  })

describe('every alarm', () => {
  const all = [...UNWIND_ALARMS, ...SITE_ALARMS]

  it('has an id of the contract, once', () => {
    const ids = all.map(({ id }) => id)
    expect(new Set(ids).size).toBe(ids.length)
    for (const id of ids) expect(ALARM_IDS).toContain(id)
  })

  it('has its rationalisation record complete', () => {
    for (const { id, rationale, deadband } of all) {
      for (const part of [...Object.values(rationale), deadband]) expect(part.length, id).toBeGreaterThan(3)
      expect(JSON.stringify(rationale), id).not.toMatch(/safe|hurry/i)
    }
  })
})

// Limits of readiness: trade notes of the project (common practice, no source).
describe('roll_not_ready', () => {
  const notReady = (seconds: number, stated: Partial<AlarmFacts> = {}) =>
    leftS(seconds, { newRollReady: false, ...stated })

  it('is measured to the start of the fill, at the early end of the interval', () => {
    // GIVEN 240 s of preparation, so 360 s is the first limit
    const line = newLine()
    expect(line.hold(notReady(361), 5)).toEqual([])
    // WHEN the splice is 379 s away and its fill begins 20 s before THEN 359 s are left
    expect(line.hold(factsOf({ newRollReady: false, secondsLow: 379, secondsToSplice: 500 }), 5)).toEqual([
      'roll_not_ready raised medium',
    ])
  })

  it('rises once at 1.0 × and clears when the roll is ready', () => {
    const line = newLine()
    expect(line.events((second) => notReady(400 - second), 300)).toEqual([
      'roll_not_ready raised medium',
      'roll_not_ready raised high',
    ])
    expect(line.hold(leftS(100), 3)).toEqual(['roll_not_ready cleared'])
  })

  it('says slow or stop below the least that preparing takes, and not before', () => {
    // GIVEN 190 s at least of the 240 s that it usually takes
    const line = newLine()
    line.hold(notReady(192), 3)
    expect(line.text()).toContain('preparing it takes all the time that is left')
    line.hold(notReady(188), 3)
    expect(line.text()).toContain('will not be ready in time at this speed. Slow to ')
  })

  it('counts the stages that are open only', () => {
    // GIVEN one minute of work left of four, 50 s at least
    const nextRoll = { isRefused: false, usualS: 60, leastS: 50 }
    const line = newLine()
    expect(line.hold(notReady(100, { nextRoll }), 3)).toEqual([])
    expect(line.hold(notReady(80, { nextRoll }), 3)).toEqual(['roll_not_ready raised medium'])
    line.hold(notReady(52, { nextRoll }), 3)
    expect(line.text()).not.toContain('Slow')
    line.hold(notReady(48, { nextRoll }), 3)
    expect(line.text()).toContain('Slow to')
  })

  it('asks for nothing where the job ends before the splice', () => {
    const line = newLine()
    expect(line.hold(notReady(300), 3)).toEqual(['roll_not_ready raised medium'])
    expect(line.hold(notReady(290, { isLastRoll: true }), 3)).toEqual(['roll_not_ready cleared'])
    expect(
      line.hold(notReady(10, { isLastRoll: true, splicerAuto: false, spliceFault: true, bufferMarginM: -5 }), 9),
    ).toEqual([])
  })

  it('takes a roll that the job refuses for none, though the splicer calls it ready', () => {
    const line = newLine()
    const nextRoll = { isRefused: true, usualS: 240, leastS: 190 }
    expect(line.hold(leftS(300, { nextRoll }), 3)).toEqual(['roll_not_ready raised medium'])
    expect(line.text()).toContain('Fetch the right roll')
    expect(line.hold(leftS(300, { newRollReady: undefined, nextRoll }), 3)).toEqual([])
    expect(line.hold(leftS(300), 3)).toEqual(['roll_not_ready cleared'])
  })

  it('names the speed at which the roll would last until the next is ready', () => {
    const line = newLine()
    // GIVEN 118 s left at 5 m/s: 690 m at the early end of the interval
    line.hold(notReady(118), 3)
    // THEN 690 m in 240 + 20 s is 2.65 m/s; what the line takes until it slows, and for a stop, leaves 2.35 m/s, 141 m/min
    expect(line.text()).toBe(
      'The next roll will not be ready in time at this speed. Slow to 140 m/min if the process allows it, or stop the line.',
    )
  })

  it('names no speed that is unknown, or not slower than now', () => {
    for (const stated of [
      { metresToSplice: undefined },
      { lineSpeedMps: undefined },
      { lineSpeedMps: 1, metresToSplice: 700 },
    ]) {
      const line = newLine()
      line.hold(notReady(100, stated), 3)
      expect(line.text()).toBe('The next roll will not be ready in time. Slow or stop the line.')
    }
  })

  it('asks for a stop only, where the speed that would do is too low to be of use', () => {
    const line = newLine()
    // 60 m in 260 s are 14 m/min
    line.hold(notReady(100, { metresToSplice: 60, lineSpeedMps: 0.5 }), 3)
    expect(line.text()).toBe('The next roll will not be ready in time. Stop the line.')
  })

  it('stands still while the time left flickers around a limit', () => {
    const line = newLine()
    line.hold(notReady(358), 3)
    expect(line.events((second) => notReady(second % 6 < 3 ? 355 : 365), 20)).toEqual([])
  })

  it('says nothing where no signal says whether the roll is ready', () => {
    expect(newLine().hold(leftS(10, { newRollReady: undefined }), 5)).toEqual([])
  })

  it('is over when the cycle begins', () => {
    const line = newLine()
    line.hold(notReady(10), 3)
    expect(line.hold(notReady(0, { state: 'splicing' }), 3)).toEqual(['roll_not_ready cleared'])
  })
})

describe('splicer_not_auto', () => {
  it('waits while the next roll is being loaded: one event, one alarm', () => {
    const line = newLine()
    expect(line.hold(leftS(300, { splicerAuto: false, newRollReady: false }), 5)).toEqual([
      'roll_not_ready raised medium',
    ])
    expect(line.hold(leftS(290, { splicerAuto: false, newRollReady: true }), 5)).toEqual([
      'roll_not_ready cleared',
      'splicer_not_auto raised medium',
    ])
  })

  it('speaks of a fault at once, loaded or not, and says slow or stop when it is late', () => {
    const line = newLine()
    expect(line.hold(leftS(300, { spliceFault: true, newRollReady: false }), 5)).toContain(
      'splicer_not_auto raised medium',
    )
    line.hold(leftS(100, { spliceFault: true }), 5)
    expect(line.text()).toBe('The splicer reports a fault and the splice is due. Slow or stop the line.')
  })

  it('takes a splicer that is out of automatic for one that is being loaded where the tag that would say so is missing', () => {
    const missing = { splicerAuto: false, newRollReady: undefined, isReadyUnknown: true }
    const line = newLine()
    expect(line.hold(leftS(300, missing), 5)).toEqual([])
    expect(line.hold(leftS(200, missing), 5)).toEqual([])
    // With less than half of the preparation left it is trouble whatever the roll is.
    expect(line.hold(leftS(100, missing), 5)).toEqual(['splicer_not_auto raised high'])
    // Where no tag says so nobody is loading as far as anything tells.
    expect(newLine().hold(leftS(300, { ...missing, isReadyUnknown: false }), 5)).toEqual([
      'splicer_not_auto raised medium',
    ])
  })

  it('says nothing while the splice is far, or where the signal is not mapped', () => {
    expect(newLine().hold(leftS(500, { splicerAuto: false, spliceFault: true }), 5)).toEqual([])
    expect(newLine().hold(leftS(10, { splicerAuto: undefined, spliceFault: undefined }), 5)).toEqual([])
  })
})

describe('buffer_short', () => {
  const short = (seconds: number, stated: Partial<AlarmFacts> = {}) =>
    leftS(seconds, { bufferMarginM: -3, highestSpeedMps: 4.43, ...stated })

  it('is raised more than two minutes before the fill with the highest speed for this splice', () => {
    const line = newLine()
    expect(line.events((second) => short(320 - second), 60)).toEqual(['buffer_short raised medium'])
    // 4.43 m/s is 265.8 m/min, rounded down to 265
    expect(line.text()).toBe(
      'The festoon will be 3 m short for the splice at this speed. Slow to 265 m/min, the highest speed for this splice.',
    )
    expect(line.events((second) => short(150 - second), 60)).toEqual(['buffer_short raised high'])
  })

  it('ends only when the margin is back by its deadband, 5 % of the need', () => {
    const line = newLine()
    line.hold(short(250), 6)
    expect(line.hold(short(240, { bufferMarginM: 0.9 }), 10)).toEqual([])
    expect(line.hold(short(230, { bufferMarginM: 1.1 }), 10)).toEqual(['buffer_short cleared'])
    expect(line.hold(short(220, { bufferMarginM: 0.1 }), 10)).toEqual([])
  })

  it('never advises to go faster, and to stop where no useful speed would do', () => {
    const faster = newLine()
    faster.hold(short(200, { highestSpeedMps: 6 }), 6)
    expect(faster.text()).toMatch(/Slow the line before the splice\.$/)
    const none = newLine()
    none.hold(short(200, { highestSpeedMps: 0.1 }), 6)
    expect(none.text()).toMatch(/Stop the line for the splice\.$/)
  })
})

describe('buffer_not_filling', () => {
  const filling = (fillShortM: number | undefined, bufferMarginM: number | undefined) =>
    factsOf({ state: 'filling', secondsToSplice: 15, secondsLow: 14, fillShortM, bufferMarginM })

  it('is high when what will be missing leaves no margin, else medium', () => {
    const line = newLine()
    expect(line.hold(filling(3, 2), 5)).toEqual(['buffer_not_filling raised medium'])
    expect(line.hold(filling(-1, 2), 5)).toEqual(['buffer_not_filling cleared'])
    expect(line.hold(filling(0.4, -0.3), 5)).toEqual(['buffer_not_filling raised high'])
  })

  it('is raised where the margin is not known, and not where no fill is due', () => {
    expect(newLine().hold(filling(3, undefined), 5)).toEqual(['buffer_not_filling raised high'])
    expect(newLine().hold(filling(undefined, undefined), 5)).toEqual([])
  })

  it('is raised when the fill should have begun and has not, in a low voice where what is stored carries the splice', () => {
    const late = { ...filling(-2, 3), fillOverdueS: 2 }
    expect(newLine().hold(late, 5)).toEqual(['buffer_not_filling raised medium'])
    const carried = newLine()
    expect(carried.hold({ ...late, storedM: 22 }, 5)).toEqual(['buffer_not_filling raised low'])
    expect(carried.text()).toMatch(/What is stored carries the splice/)
  })

  it('orders no speed that is reckoned from one known to be wrong', () => {
    const wrong = newLine()
    const misread = { disagreement: { signal: 'line_speed', share: 1 / 0.3048 - 1 } }
    wrong.hold(
      factsOf({ secondsToSplice: 200, secondsLow: 195, bufferMarginM: -2, highestSpeedMps: 3.4, ...misread }),
      6,
    )
    expect(wrong.text()).not.toMatch(/m\/min/)
  })

  it('tells once what is short for want of its fill', () => {
    const line = newLine()
    expect(line.hold(filling(5, -3), 8)).toEqual(['buffer_not_filling raised high'])
    expect(newLine().hold(filling(5, -8), 8)).toEqual(['buffer_not_filling raised high', 'buffer_short raised high'])
  })
})

describe('splice_overdue', () => {
  it('is raised within a second', () => {
    const line = newLine()
    expect(line.hold(factsOf({ overdueS: 0 }), 1)).toEqual(['splice_overdue raised high'])
    expect(line.hold(factsOf({ overdueS: 2, state: 'splicing' }), 1)).toEqual(['splice_overdue cleared'])
  })

  it.each([
    ['no roll is ready', { newRollReady: false }],
    ['it is out of automatic', { splicerAuto: false }],
    ['it has a fault', { spliceFault: true }],
  ])('does not ask for a splice by hand where %s', (_why, stated) => {
    const text = spliceOverdue(factsOf({ overdueS: 1, ...stated }))?.text ?? ''
    expect(createMessages('en', { strict: true })(`alarm.${text}.action`)).toBe('Stop the line before the roll ends.')
    expect(spliceOverdue(factsOf({ overdueS: 1 }))?.text).toBe('splice_overdue')
  })
})

describe('what happened to a splice', () => {
  const verdict = (outcome: 'missed' | 'failed' | 'good', id: string, endedTMs: number, cause?: 'web_break') => ({
    lastSplice: { id, outcome, cause, endedTMs },
  })

  it('is one alarm from the verdict until the line produces again, however long the facts name it', () => {
    const line = newLine()
    const missed = verdict('missed', 'u-1', START_TMS)
    expect(line.hold(stopped(missed), 30)).toEqual(['splice_missed raised high'])
    expect(line.hold(factsOf(missed), 30)).toEqual(['splice_missed cleared'])
    expect(line.hold(stopped(missed), 30)).toEqual([])
    expect(line.hold(factsOf(missed), 100)).toEqual([])
  })

  it('ends by itself after a minute where the line never stopped', () => {
    const line = newLine()
    const failed = verdict('failed', 'u-1', START_TMS)
    expect(line.hold(factsOf(failed), 60)).toEqual(['splice_failed raised high'])
    expect(line.hold(factsOf(failed), 60)).toEqual(['splice_failed cleared'])
  })

  it('follows a verdict that is revised', () => {
    const line = newLine()
    expect(line.hold(factsOf(verdict('good', 'u-1', START_TMS)), 5)).toEqual([])
    expect(line.hold(stopped(verdict('failed', 'u-1', START_TMS + 5000)), 5)).toEqual(['splice_failed raised high'])
  })

  it('is history, not news, long after', () => {
    expect(newLine().hold(stopped(verdict('missed', 'u-0', START_TMS - 700_000)), 5)).toEqual([])
  })

  it('takes a break in or after a splice as one with it', () => {
    const line = newLine()
    // GIVEN the web breaks in the refill WHEN the verdict falls two seconds later
    expect(line.hold(factsOf({ state: 'refilling', webBreak: true }), 2)).toEqual([])
    const failed = verdict('failed', 'u-1', line.now(), 'web_break')
    expect(line.hold(stopped({ webBreak: true, ...failed }), 100)).toEqual(['splice_failed raised high'])
    expect(line.text()).toBe('The splice failed: web break. See that the line stands, then clear and thread the web.')
    // THEN the bit, latched until the line runs again, raises nothing of its own
    expect(line.hold(factsOf({ webBreak: true, ...failed }), 5)).toEqual(['splice_failed cleared'])
    expect(line.hold(factsOf({ webBreak: false, ...failed }), 5)).toEqual([])
  })
})

describe('web_break', () => {
  it('is raised for a break by itself, latched or a pulse, until the line produces again', () => {
    const line = newLine()
    expect(line.hold(factsOf({ webBreak: true }), 0.5)).toEqual([])
    expect(line.hold(stopped(), 10)).toEqual(['web_break raised high'])
    expect(line.hold(factsOf(), 5)).toEqual(['web_break cleared'])
    expect(line.hold(stopped({ webBreak: true }), 10)).toEqual(['web_break raised high'])
    expect(line.hold(factsOf({ webBreak: true }), 5)).toEqual(['web_break cleared'])
  })
})

describe('buffer_not_recovering', () => {
  it('is raised at 1.5 × the expected refill and rises at 2.5 ×', () => {
    const line = newLine()
    const refilling = (elapsedS: number) => factsOf({ state: 'refilling', refill: { elapsedS, expectedS: 20 } })
    expect(line.events(refilling, 29)).toEqual([])
    expect(line.events((second) => refilling(29 + second), 26)).toEqual([
      'buffer_not_recovering raised medium',
      'buffer_not_recovering raised high',
    ])
    expect(line.hold(factsOf(), 1)).toEqual(['buffer_not_recovering cleared'])
  })
})

describe('the diameter', () => {
  const fault = { kind: 'stuck', valueM: 0.5, limitM: undefined } as const

  it('is judged only after three turns and 30 s of a new roll, at most a minute', () => {
    const since = (seconds: number, turns: number) =>
      factsOf({ diameterFault: fault, sinceRollChange: { seconds, turns } })
    for (const [seconds, turns] of [
      [29, 100],
      [59, 2],
    ] as const) {
      expect(newLine().hold(since(seconds, turns), 3)).toEqual([])
    }
    for (const [seconds, turns] of [
      [30, 3],
      [60, 0],
    ] as const) {
      expect(newLine().hold(since(seconds, turns), 3)).toEqual(['diameter_implausible raised medium'])
    }
    expect(newLine().hold(factsOf({ diameterFault: fault, sinceRollChange: undefined }), 3)).toHaveLength(1)
  })

  it('says which fault it is', () => {
    const line = newLine()
    line.hold(factsOf({ diameterFault: { ...fault, kind: 'rising' } }), 3)
    expect(line.text()).toContain('The diameter rises while web runs off the roll.')
  })

  it('that was not reset is told 30 s after the transfer', () => {
    const line = newLine()
    const after = (second: number) =>
      factsOf({ notResetS: second, sinceRollChange: { seconds: second, turns: second * 2 } })
    expect(line.events(after, 30)).toEqual([])
    expect(line.events((second) => after(30 + second), 5)).toEqual(['diameter_not_reset raised medium'])
  })
})

describe('source_lost', () => {
  const lost = (...signals: string[]) =>
    stopped({ state: 'unknown', lost: signals.map((signal) => lostSignal(signal)) })

  it('is raised at once, standing or not, and names the required signal before the roll-ready one', () => {
    const line = newLine()
    expect(line.hold(lost('new_roll_ready', 'line_speed'), 0.1)).toEqual(['source_lost raised high'])
    expect(line.text()).toContain('There is no value of line speed from line_plc (ns=2;s=line_speed).')
    expect(line.hold(factsOf(), 6)).toEqual(['source_lost cleared'])
  })

  it('is less serious for the roll-ready signal alone', () => {
    const line = newLine()
    expect(line.hold(lost('new_roll_ready'), 0.1)).toEqual(['source_lost raised medium'])
    expect(line.text()).toContain('Whether the next roll is ready is not known')
  })

  it('is for whoever maps tags where one never spoke, or says only whether the splicer may begin', () => {
    for (const [signal, hasSpoken] of [
      ['new_roll_ready', false],
      ['splicer_auto', true],
      ['splice_fault', true],
    ] as const) {
      const line = newLine()
      expect(line.hold(factsOf({ lost: [lostSignal(signal, 30, hasSpoken)] }), 0.1)).toEqual(['source_lost raised low'])
      expect(line.text()).toContain(`(ns=2;s=${signal}) from line_plc: what rests on it is not judged.`)
    }
  })
})

describe('caliper_off_label', () => {
  const caliper = (um: number, sdUm: number, rollS: number) =>
    factsOf({
      caliper: { valueM: um * 1e-6, sdM: sdUm * 1e-6, labelM: 80e-6 },
      sinceRollChange: { seconds: rollS, turns: rollS * 5 },
    })

  it('needs more than 6 % and more than chance', () => {
    expect(newLine().hold(caliper(84, 0.1, 100), 15)).toEqual([])
    expect(newLine().hold(caliper(90, 5, 100), 15)).toEqual([])
    const line = newLine()
    expect(line.hold(caliper(74, 1, 100), 15)).toEqual(['caliper_off_label raised low'])
    expect(line.text()).toBe(
      'The web is 8 % thinner than its label says. Check that the right material is on the roll.',
    )
  })

  it('comes once a roll', () => {
    const line = newLine()
    let rollS = 100
    const next = (um: number) => line.events((second) => caliper(um, 0.5, rollS + second), 15)
    expect(next(90)).toEqual(['caliper_off_label raised low'])
    rollS += 15
    expect(next(81)).toEqual(['caliper_off_label cleared'])
    rollS += 15
    expect(next(90)).toEqual([])
    rollS = 40
    expect(next(90)).toEqual(['caliper_off_label raised low'])
  })
})

describe('pipeline_fault', () => {
  it('gives the reason, whatever the line does', () => {
    const line = newLine()
    expect(line.hold(stopped({ state: 'unknown', pipelineFault: 'A number was not finite.' }), 0.1)).toEqual([
      'pipeline_fault raised high',
    ])
    expect(line.text()).toContain('A number was not finite.')
  })
})
