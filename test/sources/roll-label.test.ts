/** What a barcode scanner types. Element strings after the GS1 General Specifications, section 3 (from memory). */
import { describe, expect, test } from 'vitest'
import { readRollLabel } from '../../edge/sources/roll-label.ts'

const GS = '\u001d'

describe('a roll label', () => {
  test.each([
    // (8001): slit width 1300 mm, 5400 m, core 76 mm, face out, no joints; (21) serial; (240) product.
    [
      `]C1800113000540007600`.concat(`${GS}21R-17${GS}2404711`),
      { width: 1300, length: 5400, winding: 'out', roll_id: 'R-17', material: '4711' },
    ],
    ['(10)B42(8001)12800820015219', { roll_id: 'B42', width: 1280, length: 8200, winding: 'in' }],
    ['(8001)00000540007699', { length: 5400 }],
    // (3110) and (3113): length in m with 0 and 3 decimals; (3123): width.
    ['(3110)005400(3123)001300', { length: 5400, width: 1300 }],
    ['(3113)005400(21)A', { length: 5.4, roll_id: 'A' }],
    ['  R-000123 ', { roll_id: 'R-000123' }],
    // A bare number that begins like an identifier is a number.
    ['2104711', { roll_id: '2104711' }],
    // Marked as GS1 and yet none: better the whole text than half a roll.
    [']C1800113000540', { roll_id: ']C1800113000540' }],
    ['(99)internal', { roll_id: '(99)internal' }],
  ])('%j', (code, roll) => {
    expect(readRollLabel(code, undefined).roll).toEqual(roll)
  })

  test("in the site's own form", () => {
    const own = '^(?<roll_id>R\\d+);(?<material>\\d+);(?<width>\\d+);(?<winding>\\w*)$'
    expect(readRollLabel('R12;4711;1300;in', own).roll).toMatchObject({
      roll_id: 'R12',
      material: '4711',
      width: 1300,
      winding: 'in',
    })
    expect(readRollLabel('R12;4711;0;up', own).roll).toMatchObject({ width: undefined, winding: undefined })
    expect(readRollLabel('something else', own)).toEqual({ roll: { roll_id: 'something else' }, isLabel: false })
  })

  test('is told from what is none by a plain rule', () => {
    const own = '^(?<roll_id>R\\d+)$'
    const isLabel = (code: string, pattern?: string): boolean => readRollLabel(code, pattern).isLabel
    expect(['R-000123', '2104711', 'A12/7', '(21)A7', `]C121R-17`].map((code) => isLabel(code))).not.toContain(false)
    // No digit, blanks, an address, too short, too long, marked as GS1 and none; the EAN of a bottle.
    const junk = [
      'xyz',
      'hello world 1',
      'https://example.org/1',
      '7',
      'A1'.repeat(16),
      '(99)internal',
      '2000000000008',
    ]
    expect(junk.map((code) => isLabel(code))).not.toContain(true)
    // Where the site states its form, that is the rule.
    expect([isLabel('R17', own), isLabel('A-000123', own)]).toEqual([true, false])
  })
})
