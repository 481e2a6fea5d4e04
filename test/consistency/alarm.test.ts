/** The alarm `speeds_disagree`: from facts, and when a tach breaks while the line runs. */

import { describe, expect, it } from 'vitest'
import { createAlarmBoard } from '../../edge/alarms/board.ts'
import { UNWIND_ALARMS } from '../../edge/alarms/catalogue.ts'
import type { AlarmFacts } from '../../edge/alarms/facts.ts'
import { isToldSpeedsWrong } from '../../edge/alarms/wrong-speeds.ts'
import { createMessages } from '../../edge/messages/message.ts'
import { factsOf, START_TMS } from '../alarms/facts-of.ts'
import { newReplay, replaySimulation, samplesOf } from '../pipeline/replay-simulation.ts'
import { simulate } from '../truth/line-simulator.ts'
import { REQUIRED, SUBSTRATES, USUAL } from '../truth/scenario.ts'

const of = (share: number, stated: Partial<AlarmFacts> = {}): AlarmFacts =>
  factsOf({ disagreement: { signal: 'line_speed', share }, ...stated })

function newLine() {
  const board = createAlarmBoard<AlarmFacts>({
    unwind: 'u',
    definitions: UNWIND_ALARMS,
    messages: createMessages('en', { strict: true }),
  })
  let tMs = START_TMS
  return {
    text: () => board.standing()[0]?.text,
    hold: (facts: AlarmFacts, forS: number): string[] => {
      const found: string[] = []
      for (let second = 0; second < forS; second += 1) {
        tMs += 1000
        for (const { alarm, event, priority } of board.evaluate({ ...facts, tMs }))
          found.push(`${alarm} ${event} ${priority}`)
      }
      return found
    },
  }
}

describe('speeds_disagree', () => {
  it('needs more than 1 % and ends below 0.8 %', () => {
    const line = newLine()
    expect(line.hold(of(0.0095), 60)).toEqual([])
    expect(line.hold(of(-0.013), 20)).toEqual(['speeds_disagree raised low'])
    expect(line.text()).toContain('line speed reads 1.3 % less than the other tags give.')
    expect(line.hold(of(-0.009), 60)).toEqual([])
    expect(line.hold(of(-0.007), 60)).toEqual(['speeds_disagree cleared low'])
  })

  it('does not come in a cycle, in a refill or while the line is threaded, and stays through a cycle', () => {
    expect(newLine().hold(of(0.03, { state: 'splicing' }), 60)).toEqual([])
    expect(newLine().hold(of(0.03, { state: 'refilling' }), 60)).toEqual([])
    expect(newLine().hold(of(0.03, { isProducing: false }), 60)).toEqual([])
    const line = newLine()
    line.hold(of(0.03), 20)
    expect(line.hold(of(0.03, { state: 'splicing' }), 60)).toEqual([])
  })

  it('tells a wrong unit by its factor', () => {
    const line = newLine()
    expect(line.hold(of(1 / 0.3048 - 1), 20)).toEqual(['speeds_disagree raised medium'])
    expect(line.text()).toBe(
      'The line speed reads 3.28 times what the other tags give. Have its unit and scale checked.',
    )
  })

  it('takes the highest speed off the screens while a speed is wrong as a whole, and not for a tach that is off by a little', () => {
    expect(isToldSpeedsWrong([{ alarm: 'speeds_disagree', words: { key: 'alarm.speeds_disagree.times' } }])).toBe(true)
    expect(isToldSpeedsWrong([{ alarm: 'speeds_disagree', words: { key: 'alarm.speeds_disagree' } }])).toBe(false)
  })

  // Read as m/s a line at 40 m/min seems to run 60 times as fast as its unwind: a cycle that never ends.
  it.each([
    ['required signals', REQUIRED],
    ['usual signals', USUAL],
  ])('comes and stays where the config reads m/min as m/s, with %s', (_which, signals) => {
    const simulation = simulate({ ...SUBSTRATES.foil, speedMpm: 40, signals, durationS: 330, rollS: 300 })
    const config = simulation.config.replace(/(Line\.Speed', unit: )m\/min/, '$1m/s')
    const said = replaySimulation({ config, rows: simulation.rows }).alarms.filter(
      ({ alarm }) => alarm === 'speeds_disagree',
    )
    expect(said.map(({ event }) => event)).toEqual(['raised'])
    expect(said[0]?.text).toMatch(/line speed reads (59|60|60\.\d) times/)
  })

  it('leaves the screens without a highest speed where the config reads ft/min as m/min', () => {
    const simulation = simulate({ signals: USUAL, durationS: 300, rollS: 500, firstRoll: 0.95 })
    const viewWith = (config: string) => {
      const { replay } = newReplay(config)
      replay.take(samplesOf(simulation.rows))
      const [view] = replay.unwinds.views(simulation.scenario.startTMs + 300_000)
      return view!
    }
    expect(viewWith(simulation.config).safe_speed).toBeGreaterThan(100)
    const wrong = viewWith(simulation.config.replace(/(Line\.Speed', unit: )m\/min/, '$1ft/min'))
    expect(wrong.alarms.map(({ alarm }) => alarm)).toContain('speeds_disagree')
    expect(wrong.safe_speed).toBeNull()
  })

  it('comes when a tach starts to read 3 % high, and goes when it is set right', () => {
    const simulation = simulate({ signals: USUAL, durationS: 1400, rollS: 500, firstRoll: 0.9 })
    const address = simulation.tags.find(({ signal }) => signal === 'line_speed')?.address
    const at = (s: number): number => simulation.scenario.startTMs + s * 1000
    const rows = simulation.rows.map((row) =>
      row.address === address && typeof row.value === 'number' && row.tMs >= at(540) && row.tMs < at(900)
        ? { ...row, value: row.value * 1.03 }
        : row,
    )
    const sound = replaySimulation(simulation).alarms.filter(({ alarm }) => alarm === 'speeds_disagree')
    expect(sound).toEqual([])
    const said = replaySimulation({ config: simulation.config, rows }).alarms.filter(
      ({ alarm }) => alarm === 'speeds_disagree',
    )
    expect(said.map(({ event, priority }) => `${event} ${priority}`)).toEqual(['raised low', 'cleared low'])
    expect(said[0]?.text).toMatch(/line speed reads (2\.9|3|3\.1) % more/)
    const raisedS = (Date.parse(said[0]?.time ?? '') - at(540)) / 1000
    // 200 m at 300 m/min are 40 s.
    expect(raisedS).toBeGreaterThan(40)
    expect(raisedS).toBeLessThan(180)
  })
})
