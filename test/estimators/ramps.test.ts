/** What ramps take, learned from cycles whose loss follows from the equation of motion J·dω/dt = M of a hollow cylinder. */
import { describe, expect, test } from 'vitest'
import {
  learnRamps,
  loadFactor,
  noteRamps,
  type RollLoad,
  type SeenRamps,
  usualRamps,
} from '../../edge/estimators/learning/ramps.ts'
import { type Random, randomStream } from '../truth/random.ts'

const SHEET = { decelerationMps2: 2.5, accelerationMps2: 1.2 }
const CORE_M = 0.1
/** Density of the web, kg/m³, and the motor's torque, N·m, such that a roll of 1 m and 1 m width comes up with 1.2 m/s². */
const DENSITY = 900
const massKg = (d: number, w: number): number => DENSITY * w * (Math.PI / 4) * (d * d - CORE_M * CORE_M)
const inertia = (d: number, w: number): number => (massKg(d, w) * ((d / 2) ** 2 + (CORE_M / 2) ** 2)) / 2
const TORQUE = (1.2 * inertia(1, 1)) / 0.5
const FORCE = (1.2 * inertia(1, 1)) / 0.25

type Limit = 'ramp' | 'torque' | 'force'
/** m/s² at the roll's surface. */
function acceleration(limit: Limit, d: number, w: number): number {
  if (limit === 'ramp') return 1.2
  return limit === 'torque' ? (TORQUE * (d / 2)) / inertia(d, w) : (FORCE * (d / 2) ** 2) / inertia(d, w)
}
interface Machine {
  limit: Limit
  deceleration?: number
  cornersS?: number
}
const lossS = ({ limit, deceleration = 2.5, cornersS = 0 }: Machine, v: number, d: number, w = 1): number =>
  cornersS + v / (2 * deceleration) + v / (2 * acceleration(limit, d, w))

const DIAMETERS = [1, 0.6, 0.9, 0.5, 0.75, 1, 0.55, 0.8, 0.65, 0.95]
const WIDTHS = [1, 0.6, 1.3]
function cycle(machine: Machine, i: number, random: Random, v = 5, w = 1): SeenRamps {
  const diameterM = DIAMETERS[i % DIAMETERS.length]!
  const load = { diameterM, coreM: CORE_M, widthM: w }
  return {
    tMs: i * 3_600_000,
    lineMps: v,
    lossS: lossS(machine, v, diameterM, w) * (1 + 0.02 * random.normal()),
    downS: null,
    load,
  }
}
const speedOf = (i: number): number => [5, 3, 4, 2.5, 5][i % 5]!
const expected = (cycles: SeenRamps[], v: number, load: RollLoad): number => {
  const { mean, ...learned } = learnRamps(cycles, SHEET)
  return mean[0] + v * (mean[1] + mean[2] * loadFactor({ mean, ...learned }, load))
}
const load = (diameterM: number, widthM: number | null = 1): RollLoad => ({ diameterM, coreM: CORE_M, widthM })

describe('GIVEN ten cycles with rolls of 0.5 to 1 m', () => {
  test.each(['ramp', 'torque', 'force'] as const)(
    'WHEN the %s limits THEN that is found, and every roll’s loss within 5 percent',
    (limit) => {
      let found = 0
      for (let seed = 1; seed <= 20; seed++) {
        const random = randomStream(seed, `ramps ${limit}`)
        const cycles = Array.from({ length: 10 }, (_, i) => cycle({ limit }, i, random))
        if (learnRamps(cycles, SHEET).limit === limit) found += 1
        for (const d of [0.5, 0.75, 1])
          expect(Math.abs(expected(cycles, 5, load(d)) / lossS({ limit }, 5, d) - 1)).toBeLessThan(0.05)
      }
      expect(found).toBeGreaterThanOrEqual(17)
    },
  )

  test('WHEN widths differ too and are known THEN they are reckoned with', () => {
    const machine = { limit: 'torque' } as const
    for (let seed = 1; seed <= 20; seed++) {
      const random = randomStream(seed, 'ramps width')
      const cycles = Array.from({ length: 12 }, (_, i) => cycle(machine, i, random, 5, WIDTHS[i % 3]!))
      expect(Math.abs(expected(cycles, 5, load(0.9, 1.3)) / lossS(machine, 5, 0.9, 1.3) - 1)).toBeLessThan(0.06)
      expect(Math.abs(expected(cycles, 5, load(0.9, 0.6)) / lossS(machine, 5, 0.9, 0.6) - 1)).toBeLessThan(0.06)
    }
  })

  test('WHEN corners are rounded and speeds differ THEN the loss at another speed is within 5 %', () => {
    const machine = { limit: 'ramp', cornersS: 0.5 } as const
    for (let seed = 1; seed <= 20; seed++) {
      const random = randomStream(seed, 'ramps corners')
      const cycles = Array.from({ length: 10 }, (_, i) => cycle(machine, i, random, speedOf(i)))
      for (const v of [2.5, 4, 5.5])
        expect(Math.abs(expected(cycles, v, load(1)) / lossS(machine, v, 1) - 1)).toBeLessThan(0.05)
    }
  })

  test('WHEN the data sheet is 40 % off THEN it does not matter', () => {
    const machine = { limit: 'ramp', deceleration: 1.2 } as const
    const random = randomStream(1, 'ramps sheet')
    const cycles = Array.from({ length: 10 }, (_, i) => cycle(machine, i, random))
    expect(Math.abs(expected(cycles, 5, load(1)) / lossS(machine, 5, 1) - 1)).toBeLessThan(0.03)
  })

  test('WHEN one is bad THEN little changes; WHEN the drive is set anew THEN three cycles tell', () => {
    for (let seed = 1; seed <= 20; seed++) {
      const random = randomStream(seed, 'ramps change')
      const cycles = Array.from({ length: 12 }, (_, i) => cycle({ limit: 'ramp' }, i, random))
      const calm = expected(structuredClone(cycles), 5, load(1))
      const bad = { ...cycle({ limit: 'ramp' }, 12, random), lossS: 3 * calm }
      expect(Math.abs(expected([...cycles, bad], 5, load(1)) / calm - 1)).toBeLessThan(0.02)
      const anew = Array.from({ length: 3 }, (_, i) => cycle({ limit: 'ramp', deceleration: 1.5 }, 12 + i, random))
      const truth = lossS({ limit: 'ramp', deceleration: 1.5 }, 5, 1)
      expect(Math.abs(expected([...structuredClone(cycles), ...anew], 5, load(1)) / truth - 1)).toBeLessThan(0.06)
    }
  })
})

describe('GIVEN cycles for months', () => {
  test('WHEN the newest comes THEN twenty count, none older than a month, and nothing was forgotten by chance', () => {
    const random = randomStream(5, 'ramps many')
    const cycles: SeenRamps[] = []
    for (let i = 0; i < 60; i++) {
      noteRamps(cycles, cycle({ limit: 'torque' }, i, random))
      learnRamps(cycles, SHEET)
    }
    expect(cycles).toHaveLength(20)
    noteRamps(cycles, { ...cycles[19]!, tMs: cycles[19]!.tMs + 31 * 86_400_000 })
    expect(cycles).toHaveLength(1)
  })
  test('WHEN none was seen THEN the data sheet counts', () => {
    expect(learnRamps([], SHEET)).toEqual(usualRamps(SHEET))
    expect(usualRamps(SHEET).mean).toEqual([0, 0.2, 1 / 2.4])
  })
})
