/** What a reading or a totaliser is believed by: closed forms of a shrinking roll, a line at constant and at ramping speed. */
import { describe, expect, test } from 'vitest'
import { ComputedDiameter, type SpeedShare } from '../../edge/estimators/computed-diameter.ts'
import { type Deviation, deviate, likeness } from '../../edge/estimators/deviation.ts'
import { FallingOnly } from '../../edge/estimators/falling.ts'
import { Totaliser } from '../../edge/estimators/totaliser.ts'
import { diameterOverM } from '../truth/roll.ts'
import { TOGETHER } from './speeds.ts'

const CALIPER_M = 80e-6

/** Readings every metre from `reading(webM)`, all above what was expected. */
function departed(reading: (webM: number) => number, webM = 60): Deviation {
  let deviation: Deviation | undefined
  for (let at = 0; at <= webM; at += 1) deviation = deviate(deviation, reading(at), 0.1, 1000 * at, at, 1000 * at - 100)
  return deviation!
}

describe('readings that departed', () => {
  test('fall like a roll where they are one', () => {
    expect(
      likeness(
        departed((webM) => diameterOverM(0.1, 400 - webM, CALIPER_M)),
        CALIPER_M,
      ),
    ).toBe('roll')
  })

  test('are no roll where they stand still, or fall as the roll behind an arm does', () => {
    expect(
      likeness(
        departed(() => 0.41),
        CALIPER_M,
      ),
    ).toBe('no_roll')
    expect(
      likeness(
        departed((webM) => 0.26 + diameterOverM(0.1, 150 - webM, CALIPER_M)),
        CALIPER_M,
      ),
    ).toBe('no_roll')
  })

  test('say nothing before there is web enough', () => {
    expect(
      likeness(
        departed((webM) => 0.4 - 1e-9 * webM, 2),
        CALIPER_M,
      ),
    ).toBe('unclear')
  })

  test('may have begun where nothing was seen', () => {
    expect(deviate(undefined, 0.4, 0.2, 60_000, 10, 40_000)).toMatchObject({ sinceTMs: 60_000, fromTMs: 40_000 })
    expect(deviate(undefined, 0.4, 0.2, 60_000, 10, 59_900)).toMatchObject({ sinceTMs: 60_000, fromTMs: 60_000 })
  })
})

describe('a diameter in a fill at 12 % overspeed', () => {
  const filling: SpeedShare = { ...TOGETHER, now: 1 / 1.12, mean: 1 / 1.12, least: 0.89, most: 0.9, isApart: true }

  test.each([
    ['that falls by a tenth is computed from the line speed', 0.2 / 1.12, true],
    ['that stays is a sensor', 0.2, false],
  ])('%s', (_name, readingM, isComputed) => {
    const diameter = new ComputedDiameter()
    for (let i = 0; i < 5; i += 1) diameter.judge(readingM, 0.2, 2e-3, filling)
    expect([diameter.isComputed, diameter.isSensor]).toEqual([isComputed, !isComputed])
  })
})

test('a reading that may only fall is given its own steps, one that rises too is not', () => {
  const steps = [1, 3, 0.5, 2, 1, 4, 0.5, 1, 2, 3, 1, 2, 1]
  const falling = new FallingOnly()
  for (const mm of steps) falling.note(-mm / 1000)
  // Mean and standard deviation of the last twelve lie near 1.7 and 1.1 mm.
  expect(falling.stepM).toBeGreaterThan(3e-3)
  expect(falling.stepM).toBeLessThan(5e-3)
  falling.note(0.5e-3)
  expect(falling.stepM).toBe(0)
})

describe('a totaliser beside a line speed that reads 1 % high', () => {
  /** A metre of web a step: the speed says 1.01 m, but misses what `missedM` says. @returns what was added in all, m. */
  function run(
    totaliser: Totaliser,
    steps: number,
    at: (step: number) => number,
    missedM = (_step: number) => 0,
  ): number {
    let integralM = 0
    let addedM = 0
    for (let step = 1; step <= steps; step += 1) {
      integralM += 1.01 - missedM(step)
      addedM += totaliser.report(at(step), integralM, 1).addM
    }
    return addedM
  }

  test('adds nothing while both agree but for the scale', () => {
    expect(run(new Totaliser(), 600, (step) => step)).toBe(0)
  })

  test('adds what the speed missed, in metres of the speed', () => {
    const added = run(
      new Totaliser(),
      600,
      (step) => step,
      (step) => (step > 400 && step <= 420 ? 0.5 : 0),
    )
    expect(added).toBeGreaterThan(8.9)
    expect(added).toBeLessThan(11.1)
  })

  test('wraps at a power of ten, or begins anew, and adds nothing for it', () => {
    expect(run(new Totaliser(), 600, (step) => (800 + step) % 1000)).toBe(0)
    expect(run(new Totaliser(), 600, (step) => (step < 300 ? 5000 + step : step - 300))).toBe(0)
  })

  test('in another unit is not believed', () => {
    const added = run(
      new Totaliser(),
      600,
      (step) => step / 0.3048,
      (step) => (step > 400 && step <= 420 ? 0.5 : 0),
    )
    expect(added).toBe(0)
  })

  test('goes on from its state as if nothing had been', () => {
    const [whole, first, second] = [new Totaliser(), new Totaliser(), new Totaliser()]
    run(whole, 250, (step) => step)
    run(first, 250, (step) => step)
    second.restore(JSON.parse(JSON.stringify(first.snapshot())))
    expect(second.report(260, 258, 1)).toEqual(whole.report(260, 258, 1))
    expect(second.snapshot()).toEqual(whole.snapshot())
  })
})
