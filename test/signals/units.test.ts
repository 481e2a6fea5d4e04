import fc from 'fast-check'
import { describe, expect, test } from 'vitest'
import { LastwrapError } from '../../edge/errors.ts'
import {
  factorToSi,
  fromSi,
  type Measured,
  parseQuantity,
  quantityOf,
  toSi,
  unitsFor,
} from '../../edge/signals/units.ts'

const sentenceOf = (run: () => unknown): string => {
  try {
    run()
  } catch (error) {
    expect(error).toBeInstanceOf(LastwrapError)
    return (error as Error).message
  }
  throw new Error('nothing was thrown')
}

describe('factors against published tables', () => {
  // NIST Special Publication 811 (2008), appendix B.8, seven digits as printed there; quoted from memory.
  test.each<[unit: string, measured: Measured, si: number]>([
    ['in', 'length', 2.54e-2],
    ['ft', 'length', 3.048e-1],
    ['mil', 'length', 2.54e-5],
    ['ft/min', 'speed', 5.08e-3],
    ['ft/s', 'speed', 3.048e-1],
    ['in/s', 'speed', 2.54e-2],
    ['km/h', 'speed', 2.777778e-1],
    ['lbf', 'force', 4.448222],
    ['lbf/in', 'line_force', 1.751268e2],
    ['lbf/ft', 'line_force', 1.45939e1],
    ['lb', 'mass', 4.535924e-1],
    ['oz/yd2', 'basis_weight', 3.390575e-2],
    ['ft/s2', 'acceleration', 3.048e-1],
    ['y', 'duration', 3.1536e7],
    ['d', 'duration', 8.64e4],
  ])('1 %s is a %s of %d in SI (NIST SP 811)', (unit, measured, si) => {
    expect(Math.abs(factorToSi(unit, measured) / si - 1)).toBeLessThan(3e-7)
  })

  // NIST SP 811 B.8 gives 1 rpm = 1.047198E-01 rad/s (from memory): in turns, both must be the same rotation.
  test('1 rpm is 0.1047198 rad/s', () => {
    expect(fromSi(toSi(1, 'rpm', 'rotation'), 'rad/s', 'rotation')).toBeCloseTo(0.1047198, 7)
  })

  // Common practice, no source: 92 gauge film is 23 µm; 24 pt board is 0.610 mm; 40 lb on 3,000 ft² is 65.1 g/m².
  test('trade units of film, board and paper', () => {
    expect(toSi(92, 'gauge', 'length') * 1e6).toBeCloseTo(23.37, 2)
    expect(toSi(24, 'pt', 'length') * 1e3).toBeCloseTo(0.61, 3)
    expect(toSi(40, 'lb/3000ft2', 'basis_weight') * 1e3).toBeCloseTo(65.1, 1)
    expect(toSi(14, 'lb/1000ft2', 'basis_weight') * 1e3).toBeCloseTo(68.35, 2)
  })
})

describe('round trips', () => {
  const all = unitsFor('any')
  test('a quantity written in any unit comes back from SI as it was', () => {
    fc.assert(
      fc.property(fc.constantFrom(...all), fc.double({ min: -1e6, max: 1e6, noNaN: true }), (unit, value) => {
        const parsed = parseQuantity(`${value} ${unit}`, quantityOf(unit)!)
        expect(parsed.value).toBe(value === 0 ? parsed.value : value)
        const back = fromSi(parsed.valueSi, unit, quantityOf(unit)!)
        // The smallest doubles lose digits before any conversion: nothing measured is below 1e-300.
        expect(Math.abs(back - value)).toBeLessThanOrEqual(1e-12 * Math.abs(value) + 1e-300)
      }),
    )
  })

  test('a quantity converted to any other unit of its kind and back is the same', () => {
    fc.assert(
      fc.property(fc.constantFrom(...all), fc.double({ min: 0.1, max: 1e4, noNaN: true }), (unit, value) => {
        const quantity = quantityOf(unit)!
        for (const other of unitsFor(quantity)) {
          const there = fromSi(toSi(value, unit, quantity), other, quantity)
          const back = fromSi(toSi(there, other, quantity), unit, quantity)
          expect(Math.abs(back / value - 1)).toBeLessThan(1e-12)
        }
      }),
    )
  })

  test('no text makes it throw anything but a sentence', () => {
    fc.assert(
      fc.property(fc.string(), fc.constantFrom<Measured>('length', 'position', 'any', 'tension'), (text, measured) => {
        try {
          expect(parseQuantity(text, measured).valueSi).not.toBeNaN()
        } catch (error) {
          expect(error).toBeInstanceOf(LastwrapError)
        }
      }),
    )
  })
})

describe('what people write', () => {
  test.each<[text: string, measured: Measured, si: number]>([
    ['130 mm', 'length', 0.13],
    ['5.1 in', 'length', 5.1 * 0.0254],
    ['80 um', 'length', 0.00008],
    ['80 µm', 'length', 0.00008],
    ['80 μm', 'length', 0.00008],
    ['80um', 'length', 0.00008],
    ['25 %', 'share', 0.25],
    ['25%', 'position', 0.25],
    ['0.4 m', 'position', 0.4],
    ['1200 1', 'position', 1200],
    ['2.5 m/s²', 'acceleration', 2.5],
    ['64 g/m²', 'basis_weight', 0.064],
    ['.5 m', 'length', 0.5],
    ['-3 mm', 'length', -0.003],
    ['1e3 mm', 'length', 1],
    ['300 m/min', 'speed', 5],
    ['2 y', 'duration', 63_072_000],
    ['60 1/min', 'rotation', 1],
    ['150 N', 'tension', 150],
    ['1 kN/m', 'tension', 1000],
  ])('%s', (text, measured, si) => {
    expect(parseQuantity(text, measured).valueSi).toBe(si)
  })

  const LENGTHS = 'use mm, cm, m, km, um, in, ft, mil, pt or gauge'
  test.each<[text: unknown, measured: Measured, sentence: string]>([
    [130, 'length', `130 has no unit: ${LENGTHS}, for example "130 mm"`],
    ['130', 'length', `"130" has no unit: ${LENGTHS}, for example "130 mm"`],
    ['130 s', 'length', `"s" is the unit of a duration, but a length belongs here: ${LENGTHS}`],
    ['130 MM', 'length', '"MM" is no unit that Lastwrap knows; did you mean mm?'],
    ['130 furlong', 'length', `"furlong" is no unit that Lastwrap knows: ${LENGTHS}`],
    ['5,1 in', 'length', '"5,1 in" has a comma in its number: write a decimal point, and nothing between thousands'],
    ['wide', 'length', '"wide" is no quantity: write a number and its unit, for example "130 mm"'],
    ['1e999 m', 'length', '"1e999 m" is too large a number'],
    [
      '3 bar',
      'tension',
      '"bar" is no unit that Lastwrap knows: use N/m, kN/m, N/mm, lbf/in, pli, lbf/ft, N, kN or lbf',
    ],
    [
      '3 s',
      'position',
      '"s" is the unit of a duration, but a share or a length belongs here: use %, mm, cm, m, km, um, in, ft, mil, pt, gauge or 1',
    ],
  ])('%s as a %s is refused', (text, measured, sentence) => {
    expect(sentenceOf(() => parseQuantity(text, measured))).toBe(sentence)
  })

  test('a name that every object has is no unit', () => {
    expect(sentenceOf(() => factorToSi('toString', 'length'))).toContain('is no unit')
  })
})
