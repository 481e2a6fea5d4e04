/** US units on screen, against the international yard and pound of 1959 and tables made from them. */
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { chooseDisplay } from '../../dashboard/display.ts'
import {
  aboutCount,
  formatDiameter,
  formatLength,
  formatQuantity,
  formatSpeed,
  formatWidth,
  fromShown,
  missingLength,
  type Quantity,
  spareLength,
  speedAtMost,
  toShown,
  unitOf,
} from '../../dashboard/units.ts'

describe('US units', () => {
  beforeEach(() => void chooseDisplay({ units: 'us' }))
  afterEach(() => void chooseDisplay({ units: 'metric' }))

  it.each([
    // NIST Handbook 44 appendix C (from memory): 1 m = 3.280 840 ft, 1 kg = 2.204 623 lb, 1 in = 25.4 mm exactly.
    [() => formatLength(1000), '3281 ft'],
    [() => formatSpeed(300), '984 ft/min'],
    [() => formatDiameter(1270), '50.00 in'],
    [() => formatWidth(1270), '50.0 in'],
    [() => formatQuantity(127, 'diameter', 1), '5.00 in'],
    [() => formatQuantity(76.2, 'thickness', 1), '3.000 mil'],
    [() => formatQuantity(100, 'mass', 0), '220 lb'],
    [() => formatQuantity(180, 'force', 0), '40.5 lbf'],
    [() => formatQuantity(2.5, 'acceleration', 1), '8.2 ft/s²'],
  ])('%s gives %s', (shown, expected) => expect(shown()).toBe(expected))

  it('round towards caution, in steps that people set', () => {
    expect([spareLength(6.9), missingLength(2.1), speedAtMost(244.9)]).toEqual(['22 ft', '7 ft', '800 ft/min'])
  })

  it('come back as they went', () => {
    const quantities: Quantity[] = ['length', 'diameter', 'thickness', 'speed', 'acceleration', 'force', 'mass']
    for (const quantity of quantities) expect(fromShown(toShown(123.4, quantity), quantity)).toBeCloseTo(123.4, 10)
  })
})

it('are metric unless chosen otherwise', () => {
  expect([formatLength(1000), formatSpeed(300), formatDiameter(1270), unitOf('thickness')]).toEqual([
    '1000 m',
    '300 m/min',
    '1270 mm',
    'µm',
  ])
})

it('tells a count that is a forecast in two figures', () => {
  expect([3, 53, 176, 183].map(aboutCount)).toEqual([3, 53, 180, 180])
})
