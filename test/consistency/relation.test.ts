/** Single parts against numbers by hand. */
import { describe, expect, it } from 'vitest'
import { addArea, areaSlope, newArea } from '../../edge/consistency/area.ts'
import { addWindow, bufferGain, newBalance, surfaceRatio } from '../../edge/consistency/balance.ts'
import { isolate } from '../../edge/consistency/isolate.ts'
import { lengthAt, newLength, reportSpeed } from '../../edge/consistency/length-count.ts'
import { mixUpsOf, recognise } from '../../edge/consistency/mix-ups.ts'
import { fitHypothesis, type Relation, type RelationId } from '../../edge/consistency/relation.ts'

const relation = (id: RelationId, ratio: number, wholeSd = 0.01): Relation => ({
  id,
  ratio,
  sd: wholeSd,
  wholeSd,
  firstM: 1000,
  secondM: 1000,
  isJudged: true,
})

describe('length by a speed', () => {
  it('joins near reports by a line and holds over a silence', () => {
    const length = newLength()
    reportSpeed(length, 4, 0)
    reportSpeed(length, 6, 1000) // mean 5 m/s for 1 s
    reportSpeed(length, 2, 11_000) // 6 m/s held for 10 s
    expect(lengthAt(length, 11_000)).toBeCloseTo(65)
    expect(lengthAt(length, 12_000)).toBeCloseTo(67)
    expect(lengthAt(length, 6000)).toBeCloseTo(35)
  })
})

describe('the balance', () => {
  it('gives both gains from rest and from a cycle', () => {
    // g_u/g_v = 1.05 and g_S/g_u = 2: at rest y = 1.05; with the unwind at half speed x = 2·(0.525 − 1.05).
    const balance = newBalance()
    for (let i = 0; i < 20; i += 1) addWindow(balance, 10.5, 10, 0, 0.01)
    for (let i = 0; i < 4; i += 1) addWindow(balance, 5.25, 10, 2 * (5.25 - 10.5), 0.01)
    expect(surfaceRatio(balance)?.value).toBeCloseTo(1.05)
    expect(bufferGain(balance)?.value).toBeCloseTo(2)
  })

  it('keeps the sign of a position that counts the wrong way', () => {
    const balance = newBalance()
    for (let i = 0; i < 20; i += 1) addWindow(balance, 10, 10, 0, 0.01)
    for (let i = 0; i < 4; i += 1) addWindow(balance, 2, 10, 8, 0.01)
    expect(bufferGain(balance)?.value).toBeCloseTo(-1)
  })
})

describe('the area', () => {
  it('gives the caliper, whatever a metre of stored web is worth', () => {
    // 80 µm, 2 m of web in each metre of S that the config counts: A = A₀ − t(V + 2S).
    const area = newArea()
    for (let i = 0; i < 200; i += 1) {
      const storedM = 10 + 5 * Math.sin(i / 7)
      const areaM2 = 0.1 - 80e-6 * (5 * i + 2 * storedM)
      addArea(area, Math.sqrt((4 * areaM2) / Math.PI), 5 * i, storedM)
    }
    expect((areaSlope(area)?.caliperM ?? 0) * 1e6).toBeCloseTo(80, 6)
    expect(areaSlope(area)?.metres).toBe(995)
  })
})

describe('isolation', () => {
  const none = () => []

  it('fits one factor by weighted least squares', () => {
    // Two relations see ln g_v as 0.10 ± 0.01 and 0.13 ± 0.02: weights 4 : 1, mean 0.106, deviation 0.01·√0.8.
    const fit = fitHypothesis(
      [relation('speeds', Math.exp(-0.1), 0.01), relation('totaliser', Math.exp(-0.13), 0.02)],
      ['line_speed'],
    )
    expect(Math.log(fit?.factor ?? 0)).toBeCloseTo(0.106)
    expect(fit?.sd).toBeCloseTo(0.01 * Math.sqrt(0.8))
    expect(fit?.misfit).toBeCloseTo(0.6 ** 2 + 1.2 ** 2)
  })

  it('finds nothing where everything agrees', () => {
    expect(isolate([relation('speeds', 1.001), relation('area', 1.02, 0.03)], none).candidates).toEqual([])
  })

  it('names the only tag that explains everything', () => {
    const { candidates, isMixed } = isolate(
      [relation('speeds', 1.3), relation('festoon_unwind', 1 / 1.3), relation('area', 1, 0.03)],
      none,
    )
    expect(candidates.map(({ suspects }) => suspects)).toEqual([['unwind_speed']])
    expect(isMixed).toBe(false)
  })

  it('says so where no single tag explains everything', () => {
    const { candidates, isMixed } = isolate(
      [relation('speeds', 1.3), relation('festoon_line', 2), relation('area', 0.25, 0.03), relation('setting', 0.5)],
      none,
    )
    expect(isMixed).toBe(true)
    expect(candidates).toHaveLength(1)
  })
})

describe('mix-ups', () => {
  it('are known by their factor and not by one beside it', () => {
    const speeds = mixUpsOf('line_speed', 'm/min')
    expect(recognise(speeds, 3.281, 0.001)).toMatchObject({ kind: 'unit', actual: 'ft/min' })
    expect(recognise(speeds, 3.4, 0.001)).toBeUndefined()
    const positions = mixUpsOf('buffer_position', '%')
    expect(recognise(positions, 0.0101, 0.005)).toMatchObject({ kind: 'unit', actual: '1' })
    expect(recognise(positions, 1.334, 0.002)).toMatchObject({ kind: 'strands', counted: 4, real: 3 })
    expect(recognise(positions, 1.03, 0.002)).toBeUndefined()
  })
})
