/** Alarms that come from advice: a roll out of round, a splice diameter that wastes web. */
import { describe, expect, it } from 'vitest'
import { createAlarmBoard } from '../../edge/alarms/board.ts'
import { UNWIND_ALARMS } from '../../edge/alarms/catalogue.ts'
import type { AlarmFacts } from '../../edge/alarms/facts.ts'
import { createMessages } from '../../edge/messages/message.ts'
import { factsOf, START_TMS } from './facts-of.ts'

function newLine() {
  const messages = createMessages('en', { strict: true })
  const board = createAlarmBoard<AlarmFacts>({ unwind: 'u', definitions: UNWIND_ALARMS, messages })
  let tMs = START_TMS
  let rollMs = START_TMS - 600_000
  return {
    nextRoll: () => {
      rollMs = tMs - 600_000
    },
    hold(stated: Partial<AlarmFacts>, forS: number): string[] {
      const found: string[] = []
      for (let half = 0; half < forS * 2; half += 1) {
        tMs += 500
        const sinceRollChange = { seconds: (tMs - rollMs) / 1000, turns: 5000 }
        for (const row of board.evaluate(factsOf({ sinceRollChange, ...stated, tMs }))) {
          found.push(`${row.alarm} ${row.event} ${row.priority} ${row.value} ${row.limit} ${row.text}`)
        }
      }
      return found
    },
  }
}

// Limit × speed is constant: 3 mm at 300 m/min (common practice, no source).
describe('roll_out_of_round', () => {
  const wave = (mm: number, limitMm = 3, sdMm = 0.1): Partial<AlarmFacts> => ({
    outOfRound: { amplitudeM: mm / 1000, sdM: sdMm / 1000, limitM: limitMm / 1000 },
  })

  it('is raised once it has stood clear of its limit for 10 s, once a roll', () => {
    const line = newLine()
    expect(line.hold(wave(2.9), 60)).toEqual([])
    expect(line.hold(wave(3.1), 9)).toEqual([])
    expect(line.hold(wave(3.1), 2)).toEqual([
      'roll_out_of_round raised medium 3.1 3 The roll runs 3.1 mm out of round, too much for this speed. Look at the roll; slow the line if the web swings.',
    ])
    // Slower the same roll is let pass, and is not told of a second time.
    expect(line.hold(wave(3.1, 6), 15)).toHaveLength(1)
    expect(line.hold(wave(3.1), 60)).toEqual([])
    line.nextRoll()
    expect(line.hold(wave(3.1), 11)).toHaveLength(1)
  })

  it('is not raised by a wave that may be chance, nor where nothing is known', () => {
    expect(newLine().hold(wave(4, 3, 2), 60)).toEqual([])
    expect(newLine().hold({ outOfRound: undefined }, 60)).toEqual([])
  })
})

describe('cycle_slowing', () => {
  const trend = (stated: Partial<AlarmFacts['trend']> = {}): Partial<AlarmFacts> => ({
    trend: { metric: 'stop', side: undefined, share: 0.062, splices: 84, ...stated },
  })

  it('goes to the list with what drifts, stands while the line stands, and ends with the trend', () => {
    const line = newLine()
    expect(line.hold({}, 60)).toEqual([])
    expect(line.hold(trend(), 60)).toEqual([
      'cycle_slowing raised low null null Stop length is 6 % off what is usual at that speed and roll, and has been drifting for 84 splices. Have maintenance look at it at the next stop, before a splice is too slow.',
    ])
    expect(line.hold({ ...trend(), isProducing: false }, 60)).toEqual([])
    expect(line.hold({}, 10).map((row) => row.split(' ').slice(0, 2).join(' '))).toEqual(['cycle_slowing cleared'])
  })

  it('names the side where only one drifts', () => {
    expect(newLine().hold(trend({ side: 'B' }), 10)[0]).toContain('Stop length of B is 6 %')
  })
})

describe('setting_wastes_web', () => {
  const waste = (avoidableM: number, isLearned = true): Partial<AlarmFacts> => ({
    waste: { avoidableM, leftM: avoidableM + 20, limitM: 20, isLearned },
  })

  it('goes to the list of maintenance, low, once ten splices were seen', () => {
    const line = newLine()
    expect(line.hold(waste(45, false), 120)).toEqual([])
    expect(line.hold(waste(19), 120)).toEqual([])
    expect(line.hold(waste(45), 61)).toEqual([
      'setting_wastes_web raised low 45 20 The splice diameter leaves 45 m more on each core than the accepted risk asks for. Have maintenance lower it in steps of at most 5 mm, supervised.',
    ])
  })

  it('stands through cycles and stops, and clears below 80 % of its limit', () => {
    const line = newLine()
    line.hold(waste(45), 61)
    expect(line.hold({ waste: undefined, state: 'splicing' }, 120)).toEqual([])
    expect(line.hold(waste(17), 120)).toEqual([])
    expect(line.hold(waste(15), 61).map((row) => row.split(' ').slice(0, 2).join(' '))).toEqual([
      'setting_wastes_web cleared',
    ])
  })
})
