/** Alarms that a person puts aside: not told while they are, told again afterwards, and still aside after a restart. */
import { describe, expect, it } from 'vitest'
import { createAlarmBoard } from '../../edge/alarms/board.ts'
import { UNWIND_ALARMS } from '../../edge/alarms/catalogue.ts'
import { enterAlarm } from '../../edge/alarms/enter.ts'
import type { AlarmFacts } from '../../edge/alarms/facts.ts'
import { createMessages } from '../../edge/messages/message.ts'
import { factsOf, leftS, START_TMS } from './facts-of.ts'

const newBoard = () =>
  createAlarmBoard<AlarmFacts>({
    unwind: 'press',
    definitions: UNWIND_ALARMS,
    messages: createMessages('en', { strict: true }),
  })
type Board = ReturnType<typeof newBoard>

const NOT_READY = leftS(300, { newRollReady: false })
const hold = (board: Board, facts: AlarmFacts, fromS: number, forS: number): string[] => {
  const events: string[] = []
  for (let s = fromS; s < fromS + forS; s += 0.5) {
    for (const { alarm, event } of board.evaluate({ ...facts, tMs: START_TMS + s * 1000 }))
      events.push(`${alarm} ${event}`)
  }
  return events
}
const say = (board: Board, address: string, value: string | number, atS: number, person = 'Mika'): string[] => {
  const tMs = START_TMS + atS * 1000
  const sample = { source: 'operator', address, value, quality: 'good', tMs, arrivalTMs: tMs, person } as const
  return (enterAlarm(board, 'press', sample) ?? []).map(({ event }) => event)
}

describe('an alarm that is put aside', () => {
  it('is not told until its time is over, and asks for attention anew', () => {
    const board = newBoard()
    hold(board, NOT_READY, 0, 5)
    expect(say(board, 'shelve/press/roll_not_ready', 60, 5)).toEqual(['shelved'])
    expect(board.standing()).toEqual([])
    expect(board.aside()).toMatchObject([
      { alarm: 'roll_not_ready', shelved_by: 'Mika', shelved_until: '2026-03-02T06:01:05.000Z', suppressed: false },
    ])
    expect(hold(board, NOT_READY, 5.5, 59)).toEqual([])
    expect(hold(board, NOT_READY, 65, 5)).toEqual(['roll_not_ready unshelved'])
    expect(board.standing()).toMatchObject([{ alarm: 'roll_not_ready', state: 'unacknowledged', shelved_until: null }])
  })

  it('is gone afterwards where its reason is', () => {
    const board = newBoard()
    hold(board, NOT_READY, 0, 5)
    say(board, 'shelve/press/roll_not_ready', 10, 5)
    expect(hold(board, factsOf(), 5.5, 20)).toEqual(['roll_not_ready unshelved', 'roll_not_ready cleared'])
    expect([board.standing(), board.aside()]).toEqual([[], []])
  })

  it('stands again at once when a person ends it', () => {
    const board = newBoard()
    hold(board, NOT_READY, 0, 5)
    say(board, 'shelve/press/roll_not_ready', 600, 5)
    expect(say(board, 'shelve/press/roll_not_ready', 0, 8)).toEqual(['unshelved'])
    expect(board.standing()).toHaveLength(1)
    expect(say(board, 'shelve/press/roll_not_ready', 0, 9)).toEqual([])
  })

  it('is still aside, with who did it, after a restart; so are an acknowledgement and its comment', () => {
    const before = newBoard()
    hold(before, leftS(300, { newRollReady: false, bufferMarginM: -3, highestSpeedMps: 4 }), 0, 15)
    say(before, 'shelve/press/roll_not_ready', 600, 15)
    say(before, 'acknowledge/press/buffer_short', 'guard is open', 15)
    const after = newBoard()
    after.restore(JSON.parse(JSON.stringify(before.snapshot())))
    expect(after.aside()).toEqual(before.aside())
    expect(after.standing()).toEqual(before.standing())
    expect(after.standing()).toMatchObject([
      { comment: 'guard is open', acknowledged_by: 'Mika', state: 'acknowledged' },
    ])
    expect(hold(after, leftS(300, { newRollReady: false, bufferMarginM: -3, highestSpeedMps: 4 }), 16, 30)).toEqual([])
  })

  it('is none that does not stand, and never for longer than a shift', () => {
    const board = newBoard()
    expect(say(board, 'shelve/press/web_break', 60, 0)).toEqual([])
    hold(board, NOT_READY, 0, 5)
    say(board, 'shelve/press/roll_not_ready', 1e9, 5)
    expect(board.aside()[0]!.shelved_until).toBe('2026-03-02T14:00:05.000Z')
    for (const nonsense of ['shelve/press/nothing', 'shelve/other/roll_not_ready', 'wipe/press/roll_not_ready', ''])
      expect(
        enterAlarm(board, 'press', {
          source: 'operator',
          address: nonsense,
          value: 1,
          quality: 'good',
          tMs: 0,
          arrivalTMs: 0,
        }),
      ).toBeUndefined()
  })
})

describe('two people who acknowledge at once', () => {
  it('the first counts, and what the second has to say is kept', () => {
    const board = newBoard()
    hold(board, NOT_READY, 0, 5)
    expect(say(board, 'acknowledge/press/roll_not_ready', 'on my way', 5, 'Mika')).toEqual(['acknowledged'])
    expect(say(board, 'acknowledge/press/roll_not_ready', 'fork lift is down', 5, 'Kim')).toEqual([])
    expect(board.standing()[0]).toMatchObject({ acknowledged_by: 'Mika', comment: 'on my way; Kim: fork lift is down' })
  })
})
