/** The record's figures against the independent generator's truth (test/truth), whose ramps, stop and rolls are its own. */
import { describe, expect, it } from 'vitest'
import type { SpliceView } from '../../edge/api/messages.ts'
import { PreparationWatch } from '../../edge/outcome/preparation-watch.ts'
import { newTension, noteTension, tensionBackS } from '../../edge/outcome/tension-watch.ts'
import { NO_DETAILS, sideOf, withDetails } from '../../edge/splice-details.ts'
import { replaySimulation } from '../pipeline/replay-simulation.ts'
import { simulate } from '../truth/line-simulator.ts'
import { ALL, type SpliceEvent } from '../truth/scenario.ts'

const spliced = (events: SpliceEvent[]) => {
  const run = simulate({ signals: ALL, spareM: 6, durationS: 400, rollsS: [240], firstRoll: 1, events })
  return { run, said: replaySimulation(run).splices[0] as SpliceView }
}

describe('a record', () => {
  it('has the ramps, the margin, the rolls and the forecasts of a good splice', () => {
    const { run, said } = spliced([])
    const { details } = said
    const truth = run.splices[0]!
    expect(details.deceleration).toBeCloseTo(run.scenario.decelerationMps2, 0)
    expect(details.acceleration).toBeCloseTo(run.scenario.accelerationMps2, 1)
    expect(details.margin).toBeCloseTo(truth.bufferLowM - run.scenario.reserveM, 0)
    // Forecast and what came of it speak of the same thing.
    expect(Math.abs(details.margin_forecast! - details.margin!)).toBeLessThan(1)
    expect([details.setting, details.roll_id, details.new_roll_id]).toEqual([130, 'R0001A', 'R0002B'])
    expect([details.spindle, details.new_spindle]).toEqual(['A', 'B'])
    expect(details.speed_kept).toBeCloseTo(1, 1)
    expect(details.line_fell).toBeNull()
    // The one-minute forecast of a calm roll is good to a second; so is its length to a second's web.
    const lastMinute = details.forecast_errors.find(({ horizon_seconds }) => horizon_seconds === 60)!
    expect(Math.abs(lastMinute.seconds!)).toBeLessThan(1)
    expect(Math.abs(lastMinute.metres)).toBeLessThan(run.scenario.speedMpm / 60)
  })

  it('goes on after the verdict until the line is back, with the alarms that were raised for it', () => {
    const { run, said } = spliced([{ roll: 0, kind: 'web_break' }])
    expect(said.outcome).toBe('failed')
    const ramp = (share: number) => (share * run.scenario.speedMpm) / 60 / run.scenario.lineRampMps2
    // From the stop the generator repairs for `repairS`, then ramps up; 20 % to standstill is short beside it.
    expect(said.details.down_seconds).toBeGreaterThan(run.scenario.repairS)
    expect(said.details.down_seconds).toBeLessThan(run.scenario.repairS + ramp(0.9) + 5)
    expect(said.details.alarms.map((id) => id.split('-')[1])).toContain('splice_failed')
    expect(said.details.web_parted).not.toBeNull()
  })

  it('has a side also where the cycle went wrong before the new roll took over, and none where there was no cycle', () => {
    const sides = ({ details }: SpliceView) => [details.spindle, details.new_spindle, sideOf({ details })]
    const aborted = spliced([{ roll: 0, kind: 'aborted' }]).said
    expect([aborted.outcome, aborted.transfer, ...sides(aborted)]).toEqual(['aborted', null, 'A', null, 'B'])
    const missed = spliced([{ roll: 0, kind: 'no_new_roll' }]).said
    expect([missed.outcome, ...sides(missed)]).toEqual(['missed', 'A', null, null])
  })

  it('knows the other side by what ran before, where the config names none', () => {
    const events: SpliceEvent[] = [{ roll: 2, kind: 'aborted' }]
    const run = simulate({ signals: ALL, spareM: 6, durationS: 900, rollsS: [240], firstRoll: 1, events })
    const config = run.config.replace(/(active_spindle: \{[^}]*?), values: \{[^}]*\}/, '$1')
    expect(config).not.toBe(run.config)
    const rows = run.rows.map((row) =>
      row.address.endsWith('Unwind.Spindle') ? { ...row, value: row.value === 1 ? 'left' : 'right' } : row,
    )
    const all = new Map(replaySimulation({ config, rows }).splices.map((splice) => [splice.id, splice]))
    const [first, second, third] = [...all.values()].map((splice) => [splice.outcome, sideOf(splice)])
    expect([first, second, third]).toEqual([
      ['good', 'right'],
      ['good', 'left'],
      ['aborted', 'right'],
    ])
  })

  it('of a good splice is not charged with the stop that comes after it', () => {
    const stopAtS = 210
    const schedule = [
      { atS: stopAtS, speedMpm: 0 },
      { atS: stopAtS + 30, speedMpm: 300 },
    ]
    const run = simulate({ signals: ALL, spareM: 6, durationS: 420, rollS: 240, firstRoll: 0.5, schedule })
    const [said] = replaySimulation(run).splices
    // Its verdict has fallen by then, path and 60 s after it (recording contract), and its alarms are still looked for.
    const afterS = stopAtS - (Date.parse(said!.started) - run.scenario.startTMs) / 1000
    expect(afterS).toBeGreaterThan(80)
    expect(afterS).toBeLessThan(125)
    expect([said!.outcome, said!.details.down_seconds, said!.details.line_fell]).toEqual(['good', null, null])
  })

  it('of a missed splice says how long the line stood', () => {
    const { run, said } = spliced([{ roll: 0, kind: 'no_new_roll' }])
    expect(said.outcome).toBe('missed')
    expect(said.details.down_seconds).toBeGreaterThan(run.scenario.repairS * 0.5)
    expect(said.details.forecast_errors).toEqual([])
  })

  it('that an older version wrote is read with what it lacks as unknown', () => {
    expect(withDetails({}).details).toEqual(NO_DETAILS)
    expect(withDetails({ details: { setting: 130 } }).details).toEqual({ ...NO_DETAILS, setting: 130 })
  })
})

describe('tension', () => {
  const through = (values: readonly number[]) => {
    const s = newTension(100)
    values.forEach((value, index) => {
      noteTension(s, index * 100, value, true)
    })
    return s
  }
  it('is back once it stays within a tenth for two seconds, counted from where it came in', () => {
    const s = through([100, 60, 130, 95, ...Array.from({ length: 25 }, () => 105)])
    expect([s.low, s.high, tensionBackS(s, 0)]).toEqual([60, 130, 0.3])
  })
  it('that never left was never away; that swings on is not back', () => {
    expect(tensionBackS(through(Array.from({ length: 25 }, () => 96)), 0)).toBe(0)
    expect(tensionBackS(through(Array.from({ length: 60 }, (_, i) => (i % 15 === 0 ? 120 : 100))), 0)).toBeNull()
  })
})

describe('preparation', () => {
  it('is from the waiting roll’s appearance until it was ready', () => {
    const watch = new PreparationWatch()
    watch.step(0, { isThere: true, id: undefined, isReady: true })
    watch.rollChanged(1000, undefined)
    watch.step(1100, { isThere: false, id: undefined, isReady: false })
    watch.step(61_000, { isThere: true, id: undefined, isReady: false })
    watch.step(181_000, { isThere: true, id: undefined, isReady: true })
    expect(watch.stages(201_000)).toEqual({
      preparation: [
        { stage: 'empty', seconds: 60 },
        { stage: 'preparing', seconds: 120 },
        { stage: 'ready', seconds: 20 },
      ],
      preparation_seconds: 120,
    })
  })
  it('is not known of a roll that was ready when the watch began', () => {
    const watch = new PreparationWatch()
    watch.step(0, { isThere: true, id: undefined, isReady: true })
    expect(watch.stages(1000)).toEqual({ preparation: [], preparation_seconds: null })
  })
})
