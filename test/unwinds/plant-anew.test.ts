/** A plant that begins anew, as the demo's does with every start: what ran before it makes no splice of what runs now. */
import { expect, test } from 'vitest'
import { Bench, configText } from './bench.ts'

const SPINDLE = ['active_spindle: { source: press_gateway, address: press/spindle, values: { 1: A, 2: B } }']
/** Flying: the change of spindles alone is the splice. */
const newBench = (): Bench => new Bench(configText(SPINDLE).replace('method: zero_speed', 'method: flying'))

/** A full roll on the other spindle, 600 mm of 80 µm web at 500 mm a step, 3 s after the last word of the one before. */
const goOn = (before: Bench, isPlantAnew: boolean): Bench => {
  const after = newBench()
  for (const { unwind, data } of before.unwinds.snapshots()) {
    after.unwinds.restore(unwind, JSON.parse(JSON.stringify(data)), isPlantAnew)
  }
  after.tMs = before.tMs + 3000
  after.begin()
  for (let n = 0; n < 1200; n += 1) {
    after.tMs += 100
    after.say('press_gateway', 'press/spindle', 2)
    after.say('press_gateway', 'press/speed', 300)
    after.say('press_gateway', 'press/diameter', Math.sqrt(600 ** 2 - (4 * 0.08 * 500 * n) / Math.PI))
    after.say('press_gateway', 'press/festoon', 25)
    after.unwinds.step(after.tMs)
  }
  return after
}

test('no splice is recorded between the rolls of two plants; one plant with another roll had one', () => {
  const before = newBench().begin().run(90)
  before.say('press_gateway', 'press/spindle', 1)
  before.run(5)
  expect(before.splices).toEqual([])
  const anew = goOn(before, true)
  expect([...anew.splices, ...anew.unwinds.finish()]).toEqual([])
  expect(anew.view('press').diameter).toBeCloseTo(Math.sqrt(600 ** 2 - (4 * 0.08 * 600_000) / Math.PI), 0)
  const same = goOn(before, false)
  expect([...same.splices, ...same.unwinds.finish()].map(({ unwind }) => unwind)).toContain('press')
})
