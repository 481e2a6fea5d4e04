/** Line by line against least squares of the whole (simple-statistics) and NIST's certified values (StRD, Norris). */
import { linearRegression } from 'simple-statistics'
import { describe, expect, it } from 'vitest'
import { RecursiveFit } from '../../edge/trends/recursive-fit.ts'
import { randomStream } from '../truth/random.ts'

const NORRIS =
  `0.2,0.1 337.4,338.8 118.2,118.1 884.6,888.0 10.1,9.2 226.5,228.1 666.3,668.5 996.3,998.5 448.6,449.1 777.0,778.9
558.2,559.2 0.4,0.3 0.6,0.1 775.5,778.1 666.9,668.8 338.0,339.3 447.5,448.9 11.6,10.8 556.0,557.7 228.1,228.3 995.8,998.0
887.6,888.8 120.2,119.6 0.3,0.3 0.3,0.6 556.8,557.6 339.1,339.3 887.2,888.0 999.0,998.5 779.0,778.9 11.1,10.2 118.3,117.6
229.2,228.9 669.1,668.4 448.9,449.2 0.5,0.2`
    .split(/\s+/)
    .map((pair) => pair.split(',').map(Number) as [number, number])

const vague = { varianceOf: () => 1e6, wander: 0 }
const line = (x: number) =>
  new Map([
    ['level', 1],
    ['x', x],
  ])

describe('a recursive fit', () => {
  it('ends at the certified line', () => {
    const fit = new RecursiveFit(vague)
    // In thousands, as the charts' own columns are of the order of 1; the vague prior still pulls by a millionth.
    for (const [x, y] of NORRIS) fit.learn(line(x / 1000), fit.expect(line(x / 1000), y).off)
    expect(fit.coefficient('x') / 1000).toBeCloseTo(1.00211681802045, 5)
    expect(fit.coefficient('level')).toBeCloseTo(-0.262323073774029, 3)
    const whole = linearRegression(NORRIS)
    expect(fit.coefficient('x') / 1000).toBeCloseTo(whole.m, 5)
  })

  it('has residuals of one variance and without memory, whatever the speeds (Brown, Durbin and Evans 1975)', () => {
    const random = randomStream(7, 'fit')
    const fit = new RecursiveFit(vague)
    const residuals: number[] = []
    for (let i = 0; i < 4000; i += 1) {
      const x = Math.sin(i / 5) + random.normal()
      const { off, variance } = fit.expect(line(x), 3 + 2 * x + random.normal())
      fit.learn(line(x), off)
      if (i > 5) residuals.push(off / Math.sqrt(variance))
    }
    const mean = (values: number[]) => values.reduce((sum, value) => sum + value, 0) / values.length
    expect(mean(residuals.map((one) => one ** 2))).toBeCloseTo(1, 1)
    expect(Math.abs(mean(residuals.slice(1).map((one, i) => one * residuals[i]!)))).toBeLessThan(0.05)
  })

  it('grows by a level, forgets one, learns a new level quickly, and goes on from its state', () => {
    const fit = new RecursiveFit({ varianceOf: () => 100, wander: 1e-6 })
    const row = (side: string) => new Map([['level', 1], ...(side === 'A' ? [] : [[`side:${side}`, 1] as const])])
    for (let i = 0; i < 200; i += 1) {
      const side = 'AB'[i % 2]!
      fit.learn(row(side), fit.expect(row(side), side === 'A' ? 1 : 4).off)
    }
    expect(fit.coefficient('side:B')).toBeCloseTo(3, 1)
    fit.relearnLevel()
    fit.learn(row('A'), fit.expect(row('A'), 2).off)
    expect(fit.coefficient('level')).toBeCloseTo(2, 1)
    expect(fit.coefficient('side:B')).toBeCloseTo(3, 1)
    const copy = new RecursiveFit({ varianceOf: () => 100, wander: 1e-6 })
    copy.restore(JSON.parse(JSON.stringify(fit.snapshot())))
    expect(copy.expect(row('B'), 5)).toEqual(fit.expect(row('B'), 5))
    fit.drop('side:B')
    expect(fit.columns).toEqual(['level'])
  })
})
