/** Splices that no diameter starts: by a counter of web, by a sensor at the web's end, by a person's button. */
import { describe, expect, test } from 'vitest'
import { simulate } from '../truth/line-simulator.ts'
import { ALL, REQUIRED, type Scenario } from '../truth/scenario.ts'
import { describeVerdict, forecastErrors, judgeSplices } from './judge.ts'
import { replaySimulation } from './replay-simulation.ts'

const SHORT: Partial<Scenario> = {
  rollS: 80,
  firstRoll: 0.9,
  preparationS: 30,
  repairS: 25,
  durationS: 740,
  spareM: 6,
  seed: 7,
  events: [
    { roll: 3, kind: 'ran_out' },
    { roll: 5, kind: 'no_new_roll' },
  ],
}
/** A line at 5 m/s. What scatters is a label's length, a sensor's sight of the end, a hand: m at 20 s, once it was seen. */
const KINDS = [
  ['length', 5],
  ['end_sensor', 4],
  ['manual', 20],
] as const

describe.each([
  ['required', REQUIRED],
  // Who sets no diameter has no tag for one.
  ['all', ALL.filter((signal) => signal !== 'splice_diameter')],
] as const)('with %s signals', (mapped, signals) => {
  test.each(KINDS)('triggered by %s', (trigger, allowedM) => {
    const run = simulate({ ...SHORT, trigger, signals })
    const said = replaySimulation(run)
    const verdict = judgeSplices(run, said.splices)
    expect(describeVerdict(verdict)).toEqual([])
    for (const { truth, said: splice } of verdict.pairs) {
      const where = `roll ${truth.roll}`
      const byRule = truth.cause === 'no_new_roll' && mapped === 'required' ? 'ran_out' : (truth.cause ?? null)
      expect([splice.outcome, splice.cause], where).toEqual([truth.outcome, byRule])
      // Near what is usual nothing is early or late, whatever the core's diameter is.
      expect(splice.flags, where).toBe(trigger === 'manual' && truth.outcome === 'good' ? 'manual' : '')
      if (truth.outcome !== 'good') continue
      expect(Math.abs(Date.parse(splice.started) - truth.startedTMs), where).toBeLessThan(300)
      expect(Math.abs(splice.stopped_seconds! - truth.stoppedSeconds), where).toBeLessThan(0.2)
      expect(Math.abs(splice.diameter! - truth.readingMm), where).toBeLessThan(1)
      const { details } = said.splices.find(({ id }) => id === splice.id)!
      expect(details.setting, where).toBe(trigger === 'manual' ? 130 : null)
    }
    const looks = forecastErrors(run, said.forecast, [20])
    expect(looks.length).toBeGreaterThanOrEqual(5)
    // Before any was seen the interval owns up to it; from three on the countdown knows.
    expect(looks[0]!.isMetresInside).toBe(true)
    for (const look of looks.filter(({ roll }) => roll >= 3)) {
      expect(Math.abs(look.metres!), `roll ${look.roll}`).toBeLessThan(allowedM)
    }
    // What nobody has set can't be passed: only what did not come at all is an alarm.
    const overdue = said.alarms.filter(({ alarm, event }) => alarm === 'splice_overdue' && event === 'raised')
    expect(overdue.every(({ time }) => Date.parse(time) > verdict.pairs[2]!.truth.startedTMs + 60_000)).toBe(true)
  })
})
