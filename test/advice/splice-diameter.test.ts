import fc from 'fast-check'
import { describe, expect, test } from 'vitest'
import { leftOnCore, type SpliceDiameterInput, smallestSpliceDiameter } from '../../edge/advice/splice-diameter.ts'
import { randomStream } from '../truth/random.ts'

const SURE = { caliperM: 0, stoppingM: 0, coreM: 0, triggerM: 0, readingM: 0 }
const published: SpliceDiameterInput = {
  coreM: 0.092,
  caliperM: 100e-6,
  stoppingM: 5,
  tailM: 0,
  badAtCoreM: 0,
  spareWraps: 0,
  triggerOffsetM: 0,
  readingOffsetM: 0,
  sd: SURE,
  risk: 0.001,
}
const mm = (input: Partial<SpliceDiameterInput>): number =>
  1000 * smallestSpliceDiameter({ ...published, ...input }).diameterM

describe('the smallest splice diameter', () => {
  // Project's reference values, section 7 (calculated from the handbook relation L = π(D² − d²)/(4t)).
  test('core outside 92 mm, 5 m while it stops, 100 µm: 95.397 mm, with three wraps 95.997 mm', () => {
    expect(mm({})).toBeCloseTo(95.397, 3)
    expect(mm({ spareWraps: 3 })).toBeCloseTo(95.997, 3)
  })

  test('web at the core, to the knife and while it stops are one length', () => {
    expect(mm({ stoppingM: 1, tailM: 1.5, badAtCoreM: 2.5 })).toBeCloseTo(95.397, 3)
  })

  test('is a setting in the reading: a splicer that starts early may be set lower, a reading that shows more higher', () => {
    expect(mm({ triggerOffsetM: 1e-3 })).toBeCloseTo(94.397, 3)
    expect(mm({ readingOffsetM: 2e-3 })).toBeCloseTo(97.397, 3)
  })

  // z(0.1 %) = 3.0902 (normal table).
  test('asks for so many standard deviations more', () => {
    expect(mm({ sd: { ...SURE, triggerM: 1e-3 } })).toBeCloseTo(95.397 + 3.0902, 3)
    expect(mm({ sd: { ...SURE, triggerM: 0.6e-3, readingM: 0.8e-3 } })).toBeCloseTo(95.397 + 3.0902, 3)
    expect(mm({ sd: { ...SURE, triggerM: 1e-3 }, risk: 0.025 })).toBeCloseTo(95.397 + 1.96, 3)
  })

  test('its risk is the share of rolls that run out, by Monte Carlo within 1 %', () => {
    // GIVEN an input in which everything is unsure, at a risk that 200,000 rolls can show
    const input: SpliceDiameterInput = {
      ...published,
      caliperM: 300e-6,
      stoppingM: 6,
      spareWraps: 2,
      triggerOffsetM: 0.8e-3,
      readingOffsetM: -1e-3,
      sd: { caliperM: 6e-6, stoppingM: 0.9, coreM: 0.3e-3, triggerM: 0.7e-3, readingM: 0.6e-3 },
      risk: 0.1,
    }
    const { diameterM } = smallestSpliceDiameter(input)
    const random = randomStream(7, 'run out')
    const drawn = (mean: number, sd: number): number => mean + sd * random.normal()
    let out = 0
    const ROLLS = 200_000
    for (let i = 0; i < ROLLS; i += 1) {
      const caliperM = drawn(input.caliperM, input.sd.caliperM)
      const coreM = drawn(input.coreM, input.sd.coreM)
      const needM = drawn(input.stoppingM, input.sd.stoppingM)
      const readingAtStart = diameterM + drawn(input.triggerOffsetM, input.sd.triggerM)
      const trueM = readingAtStart - drawn(input.readingOffsetM, input.sd.readingM)
      // WHEN the roll has less web above its spare wraps than it needs THEN it runs out
      const endM = trueM - 2 * input.spareWraps * caliperM
      if ((Math.PI * (endM ** 2 - coreM ** 2)) / (4 * caliperM) < needM) out += 1
    }
    expect(Math.abs(out / ROLLS - input.risk)).toBeLessThan(0.01)
    expect(leftOnCore(input, diameterM).risk).toBeCloseTo(input.risk, 6)
  })
})

describe('what a setting leaves on the core', () => {
  test('is the web from the transfer to the core, and the part that the risk does not ask for', () => {
    // GIVEN a setting of 130 mm on a core of 100 mm, 80 µm, 5 m while it stops
    const input = { ...published, coreM: 0.1, caliperM: 80e-6 }
    const left = leftOnCore(input, 0.13)
    // THEN by the trade notes there are 68 m from 130 mm to the core (13.5 s at 300 m/min), 5 of which go while it stops
    expect(left.metres).toBeCloseTo(67.74 - 5, 2)
    // Everything known: all that is left could be saved.
    expect(left.avoidableM).toBeCloseTo(left.metres, 6)
    expect(left.risk).toBe(0)
  })

  test('a setting at the smallest leaves nothing to save, below it there is none and the risk is higher', () => {
    const input = { ...published, sd: { ...SURE, triggerM: 1e-3 } }
    const { diameterM } = smallestSpliceDiameter(input)
    expect(leftOnCore(input, diameterM).avoidableM).toBeCloseTo(0, 9)
    expect(leftOnCore(input, diameterM).risk).toBeCloseTo(0.001, 6)
    const below = leftOnCore(input, diameterM - 2e-3)
    expect(below.avoidableM).toBe(0)
    expect(below.risk).toBeGreaterThan(0.1)
  })

  test('no input gives NaN or a negative length', () => {
    const positive = fc.double({ min: 1e-6, max: 5, noNaN: true })
    const any = fc.double({ min: -1, max: 1, noNaN: true })
    const sd = fc.double({ min: 0, max: 1, noNaN: true })
    fc.assert(
      fc.property(
        fc.record({
          coreM: positive,
          caliperM: positive,
          stoppingM: fc.double({ min: 0, max: 1e4, noNaN: true }),
          tailM: sd,
          badAtCoreM: sd,
          spareWraps: fc.integer({ min: 0, max: 1000 }),
          triggerOffsetM: any,
          readingOffsetM: any,
          sd: fc.record({ caliperM: sd, stoppingM: sd, coreM: sd, triggerM: sd, readingM: sd }),
          risk: fc.double({ min: 1e-9, max: 0.5, noNaN: true }),
        }),
        positive,
        (input, settingM) => {
          const smallest = smallestSpliceDiameter(input)
          expect(smallest.diameterM).toBeGreaterThanOrEqual(input.coreM)
          const left = leftOnCore(input, settingM)
          for (const value of [smallest.sdM, left.metres, left.sdM, left.avoidableM, left.risk]) {
            expect(value).toBeGreaterThanOrEqual(0)
            expect(Number.isFinite(value)).toBe(true)
          }
        },
      ),
    )
  })
})
