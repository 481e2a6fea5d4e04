/** What must change nothing, and what must never throw. */
import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { ConsistencyWatch } from '../../edge/consistency/watch.ts'
import type { Sample } from '../../edge/sample.ts'
import { ALL } from '../truth/scenario.ts'
import { check, recorded, watchSamples } from './watch-simulation.ts'

const given = { signals: ALL, durationS: 420 }
const spoiled = { tags: { line_speed: (value: number) => value * 1.03 } }
const base = recorded(given, spoiled)

describe('the self-check', () => {
  it('is the same at another time', () => {
    const { view } = watchSamples(base)
    const byMs = 7 * 86_400_000 + 34_500
    const shifted = { ...base, samples: base.samples.map((one) => ({ ...one, tMs: one.tMs + byMs })) }
    const later = watchSamples(shifted).view
    expect(later.findings).toEqual(view.findings)
    expect(later.relations).toEqual(view.relations)
    expect(view.findings).toHaveLength(1)
  })

  it('is the same with other units that say the same', () => {
    // 1 ft is 0.3048 m and 1 in is 25.4 mm, exact by definition.
    const inFeet = check(given, {
      tags: { line_speed: (v) => (v * 1.03) / 0.3048, unwind_speed: (v) => v / 0.3048, roll_diameter: (v) => v / 25.4 },
      config: (text) =>
        text
          .replace(/(Line\.Speed', unit: )m\/min/, '$1ft/min')
          .replace(/(SurfaceSpeed', unit: )m\/min/, '$1ft/min')
          .replace(/(Unwind\.Diameter', unit: )mm/, '$1in'),
    })
    const { view } = watchSamples(base)
    expect(inFeet.relations.map(({ id }) => id)).toEqual(view.relations.map(({ id }) => id))
    for (const [i, { ratio }] of inFeet.relations.entries()) expect(ratio).toBeCloseTo(view.relations[i]!.ratio, 9)
    expect(inFeet.findings.map(({ id }) => id)).toEqual(view.findings.map(({ id }) => id))
  })

  it('goes on from a snapshot anywhere as if nothing had been', () => {
    const { view, watch } = watchSamples(base)
    let steps = 0
    const restored = watchSamples(base, (one, _tMs, signals) => {
      steps += 1
      if (steps % 37 !== 0) return one
      const next = new ConsistencyWatch(base.config, signals)
      next.restore(JSON.parse(JSON.stringify(one.snapshot())))
      return next
    })
    expect(restored.view).toEqual(view)
    expect(restored.watch.snapshot()).toEqual(watch.snapshot())
  })

  it('keeps a state that does not grow', () => {
    const sizes: number[] = []
    watchSamples(base, (watch, tMs) => {
      if (tMs % 60_000 === 0) sizes.push(JSON.stringify(watch.snapshot()).length)
      return watch
    })
    expect(sizes.length).toBeGreaterThan(5)
    expect(Math.max(...sizes.slice(2))).toBeLessThan(1.3 * sizes[1]!)
    expect(Math.max(...sizes)).toBeLessThan(10_000)
  })

  it('neither throws nor says what is no number, whatever comes', () => {
    const tags = base.config.signals.map(({ tag }) => tag)
    const odd = fc.array(
      fc.record({
        tag: fc.constantFrom(...tags),
        stepMs: fc.oneof(fc.integer({ min: 0, max: 3000 }), fc.integer({ min: 0, max: 300_000 })),
        value: fc.oneof(
          fc.double({ noNaN: false }),
          fc.constantFrom(0, 1, -1, 100, 300, 1e-300, 1e300, '', 'x', '5', true),
          fc.double({ min: 0, max: 500 }),
        ),
        quality: fc.constantFrom('good' as const, 'good' as const, 'uncertain' as const, 'bad' as const),
      }),
      { minLength: 20, maxLength: 250 },
    )
    fc.assert(
      fc.property(odd, (events) => {
        let tMs = 1_700_000_000_000
        const samples: Sample[] = events.map(({ tag, stepMs, value, quality }) => {
          tMs += stepMs
          return { tMs, arrivalTMs: tMs, source: tag.source, address: tag.address, value, quality }
        })
        const { view, watch } = watchSamples({ config: base.config, samples })
        for (const { ratio, sd } of view.relations) {
          expect(Number.isFinite(ratio)).toBe(true)
          expect(Number.isFinite(sd)).toBe(true)
        }
        for (const { text } of [...view.findings, ...view.relations]) expect(text).not.toMatch(/NaN|Infinity|undefined/)
        expect(JSON.parse(JSON.stringify(watch.snapshot()))).toEqual(watch.snapshot())
      }),
      { numRuns: 60 },
    )
  })
})
