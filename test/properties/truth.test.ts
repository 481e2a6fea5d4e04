/** The generator under any scenario: web is never made or lost, the buffer never holds less than nothing, times are in order. */
import fc from 'fast-check'
import { expect, test } from 'vitest'
import { simulate } from '../truth/line-simulator.ts'
import { capacityM, type Scenario, SUBSTRATES } from '../truth/scenario.ts'

const scenario: fc.Arbitrary<Partial<Scenario>> = fc
  .record({
    substrate: fc.constantFrom(...Object.values(SUBSTRATES)),
    more: fc.record({
      seed: fc.nat(),
      durationS: fc.constant(200),
      rollS: fc.double({ min: 60, max: 240, noNaN: true }),
      firstRoll: fc.double({ min: 0.2, max: 1, noNaN: true }),
      preparationS: fc.constant(30),
      caliperOff: fc.double({ min: -0.05, max: 0.05, noNaN: true }),
      caliperDrift: fc.double({ min: -0.03, max: 0.03, noNaN: true }),
      outOfRoundMm: fc.double({ min: 0, max: 3, noNaN: true }),
      method: fc.constantFrom('zero_speed' as const, 'flying' as const, 'stopped' as const),
      bufferMode: fc.constantFrom('fill_before' as const, 'rides_full' as const),
      unwindDrive: fc.constantFrom('driven' as const, 'braked' as const),
      periodMs: fc.constantFrom(100, 500, 1000),
      onChange: fc.boolean(),
      schedule: fc
        .array(fc.record({ atS: fc.nat(200), speedMpm: fc.constantFrom(0, 20, 60) }), { maxLength: 2 })
        .map((changes) => changes.toSorted((a, b) => a.atS - b.atS)),
      events: fc
        .constantFrom(
          'no_new_roll',
          'ran_out',
          'web_break',
          'cycle_too_slow',
          'buffer_empty',
          'aborted',
          'manual_early',
        )
        .map((kind) => [{ roll: 0, kind: kind as 'ran_out' }]),
    }),
  })
  .map(({ substrate, more }) => ({ ...substrate, ...more }))

test('web is conserved and truth is in order', () => {
  fc.assert(
    fc.property(scenario, (given) => {
      const run = simulate(given)
      const { takenM, passedM, storedM, storedAtStartM } = run.totals
      expect(Math.abs(takenM - passedM - (storedM - storedAtStartM))).toBeLessThan(1e-6)
      for (const row of run.truth) {
        expect(row.storedM).toBeGreaterThanOrEqual(-1e-9)
        if (run.scenario.method === 'zero_speed')
          expect(row.storedM).toBeLessThanOrEqual(1.02 * capacityM(run.scenario))
        expect(row.readingMm).toBeGreaterThanOrEqual(run.scenario.coreMm - 1e-6)
        if (row.metresToSplice !== undefined) expect(row.metresToSplice).toBeGreaterThanOrEqual(0)
      }
      for (let i = 1; i < run.splices.length; i++)
        expect(run.splices[i]!.startedTMs).toBeGreaterThan(run.splices[i - 1]!.startedTMs)
    }),
    { numRuns: 40, seed: 7 },
  )
})
