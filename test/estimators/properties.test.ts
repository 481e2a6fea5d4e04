/** What must hold of the roll's estimate whatever comes. */
import fc from 'fast-check'
import { describe, expect, test } from 'vitest'
import { DiameterEstimator, type DiameterState } from '../../edge/estimators/diameter.ts'
import { RollFilter, type RollPrior } from '../../edge/estimators/roll-filter.ts'
import { randomStream } from '../truth/random.ts'
import { TOGETHER } from './speeds.ts'

const PRIOR: RollPrior = { caliperM: 80e-6, caliperSdM: 4e-6, offsetM: 0, offsetSdM: 3e-3, slopeSdM: 0.8e-6 }
/** Entries of the filter's state. */
const N = 6
const caliper = fc.double({ min: 10e-6, max: 600e-6, noNaN: true })
const diameter = fc.double({ min: 0.3, max: 1.5, noNaN: true })
const steps = fc.array(
  fc.record({
    webM: fc.double({ min: 0, max: 20, noNaN: true }),
    errorM: fc.double({ min: -3e-3, max: 3e-3, noNaN: true }),
  }),
  { minLength: 1, maxLength: 40 },
)

/** A filter that saw these steps, all lengths multiplied. */
function run(caliperM: number, outerM: number, seen: readonly { webM: number; errorM: number }[], by = 1): RollFilter {
  const prior = {
    caliperM: caliperM * by,
    caliperSdM: 0.05 * caliperM * by,
    offsetM: 0,
    offsetSdM: 3e-3 * by,
    slopeSdM: 0.01 * caliperM * by,
  }
  const reading = (diameterM: number) => ({ diameterM: diameterM * by, cos: 0, sin: 0, varianceM2: (1e-3 * by) ** 2 })
  const filter = RollFilter.begin(prior, reading(outerM))
  let webM = 0
  for (const step of seen) {
    webM += step.webM
    filter.take(step.webM * by)
    filter.update(reading(Math.sqrt(outerM ** 2 - (4 * caliperM * webM) / Math.PI) + step.errorM))
  }
  return filter
}

describe('GIVEN any roll', () => {
  test('WHEN all lengths are in another unit THEN the metres are the same in that unit', () => {
    fc.assert(
      fc.property(caliper, diameter, steps, fc.constantFrom(2, 10, 3.28084), (t, outerM, seen, by) => {
        const here = run(t, outerM, seen).remaining(0.13)
        const there = run(t, outerM, seen, by).remaining(0.13 * by)
        expect(there.metres / by / here.metres).toBeCloseTo(1, 6)
        expect(there.varianceM2 / by ** 2 / here.varianceM2).toBeCloseTo(1, 5)
      }),
    )
  })

  test('WHEN one more reading comes, the noise being what it is, THEN no interval widens', () => {
    fc.assert(
      fc.property(
        caliper,
        diameter,
        steps,
        fc.double({ min: -20e-3, max: 20e-3, noNaN: true }),
        (t, outerM, seen, errorM) => {
          const filter = run(t, outerM, seen)
          const before = filter.snapshot()
          const { metres } = filter.remaining(0.13)
          // Any direction will do: these are the metres' own derivatives, near enough.
          const perM = Math.PI / (2 * t)
          const offset = perM * (0.13 - filter.diameterM)
          const gradient = [perM * filter.trueDiameterM, -metres / t, offset, 0, 0, -(metres ** 2) / (2 * t)]
          const along = (p: readonly number[]): number =>
            gradient.reduce((sum, g, i) => sum + gradient.reduce((s, k, j) => s + g * k * p[i * N + j]!, 0), 0)
          filter.update({ diameterM: filter.diameterM + errorM, cos: 0.6, sin: 0.8, varianceM2: 1e-6 })
          const after = filter.snapshot()
          for (let i = 0; i < N; i++)
            expect(after.p[i * (N + 1)]!).toBeLessThanOrEqual(before.p[i * (N + 1)]! * (1 + 1e-9))
          expect(along(after.p)).toBeLessThanOrEqual(along(before.p) * (1 + 1e-6))
        },
      ),
    )
  })

  test('WHEN anything finite comes THEN every variance stays positive and every number a number', () => {
    const any = fc.double({ noNaN: true, noDefaultInfinity: true, min: -1e9, max: 1e9 })
    const odd = fc.array(
      fc.record({
        webM: any,
        diameterM: any,
        cos: fc.double({ min: -1, max: 1, noNaN: true }),
        varianceM2: fc.double({ min: 1e-12, max: 1e6, noNaN: true }),
      }),
      { maxLength: 60 },
    )
    fc.assert(
      fc.property(any, odd, (first, seen) => {
        const filter = RollFilter.begin(PRIOR, { diameterM: first, cos: 1, sin: 0, varianceM2: 1e-6 })
        for (const one of seen) {
          filter.take(one.webM)
          filter.update({ ...one, sin: Math.sqrt(1 - one.cos ** 2) })
          const { x, p } = filter.snapshot()
          expect([...x, ...p].every(Number.isFinite)).toBe(true)
          for (let i = 0; i < N; i++) expect(p[i * (N + 1)]!).toBeGreaterThanOrEqual(0)
          const said = filter.remaining(0.13)
          expect([said.metres, said.varianceM2, said.perTriggerM].every(Number.isFinite)).toBe(true)
          expect(said.varianceM2).toBeGreaterThanOrEqual(0)
          expect(filter.trueDiameterM).toBeGreaterThan(0)
        }
      }),
    )
  })
})

interface Report {
  tMs: number
  webM: number
  readingM: number
}

/** Ten readings a second of a label roll at 5 m/s, with an arm in the beam now and then. */
function reports(seed: number, seconds: number): Report[] {
  const random = randomStream(seed, 'reports')
  return Array.from({ length: seconds * 10 }, (_, i) => {
    const webM = 0.5 * i
    const arm = i % 131 > 127 ? 0.2 : 0
    const readingM = Math.sqrt(0.8 ** 2 - (4 * 82e-6 * webM) / Math.PI) + 0.5e-3 * random.normal() + arm
    return { tMs: 1_000_000 + 100 * i, webM, readingM }
  })
}

function feed(estimator: DiameterEstimator, list: readonly Report[], shiftMs = 0): void {
  for (const { tMs, webM, readingM } of list) {
    estimator.reading(readingM, tMs + shiftMs, webM, true, TOGETHER)
    estimator.step(tMs + shiftMs, webM, 0.1, () => PRIOR)
  }
}

describe('GIVEN a minute of readings', () => {
  test('WHEN the roll ahead is asked for again and again THEN it is never an older one', () => {
    const asked = new DiameterEstimator()
    for (const report of reports(2, 60)) {
      asked.at(report.webM + 0.25)
      if (report.tMs % 20_000 === 0) asked.blur(0.5)
      feed(asked, [report])
      const fresh = new DiameterEstimator()
      fresh.restore(asked.snapshot())
      for (const aheadM of [0.25, 0.5]) {
        expect(asked.at(report.webM + aheadM)?.snapshot()).toEqual(fresh.at(report.webM + aheadM)?.snapshot())
      }
    }
    asked.newRoll()
    expect(asked.at(300)).toBeUndefined()
  })

  test('WHEN it is split anywhere and kept as text THEN nothing changes', () => {
    const all = reports(1, 60)
    const whole = new DiameterEstimator()
    feed(whole, all)
    fc.assert(
      fc.property(fc.integer({ min: 0, max: all.length }), (at) => {
        const before = new DiameterEstimator()
        feed(before, all.slice(0, at))
        const after = new DiameterEstimator()
        after.restore(JSON.parse(JSON.stringify(before.snapshot())) as DiameterState)
        feed(after, all.slice(at))
        // Text knows no negative zero.
        expect(JSON.stringify(after.snapshot())).toBe(JSON.stringify(whole.snapshot()))
      }),
      { numRuns: 40 },
    )
  })

  test('WHEN it happens at another time THEN nothing changes but the times', () => {
    fc.assert(
      fc.property(fc.integer({ min: -1_000_000, max: 2_000_000_000_000 }), (shiftMs) => {
        const [here, there] = [new DiameterEstimator(), new DiameterEstimator()]
        feed(here, reports(2, 30))
        feed(there, reports(2, 30), shiftMs)
        expect(there.filter!.snapshot()).toEqual(here.filter!.snapshot())
        expect(there.noiseM).toBe(here.noiseM)
      }),
      { numRuns: 30 },
    )
  })

  test('WHEN it has run THEN the truth is within the filter’s own doubt, and the noise is known', () => {
    const estimator = new DiameterEstimator()
    feed(estimator, reports(3, 60))
    const filter = estimator.filter!
    expect(Math.abs(filter.caliperM - 82e-6)).toBeLessThan(3 * filter.caliperSdM)
    expect(Math.abs(estimator.noiseM / 0.5e-3 - 1)).toBeLessThan(0.2)
  })
})
