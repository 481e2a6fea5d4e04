import fc from 'fast-check'
import { describe, expect, test } from 'vitest'
import { HORIZON_S, type NextSplicesInput, schedule } from '../../edge/advice/next-splices.ts'
import { Z80 } from '../../edge/estimators/statistics.ts'

const plain: NextSplicesInput = {
  firstM: 1000,
  firstSdM: 3,
  runningLengthM: 6000,
  runningMaterial: 'a',
  waiting: { kind: 'waiting', material: 'b', lengthM: 4000, sdM: 40 },
  usual: { kind: 'usual', material: 'b', lengthM: 6000, sdM: 90 },
  speedMps: 5,
  lastSpeedMps: 5,
  leadS: 20,
  preparationS: 240,
  jobM: undefined,
}

describe('the next splices', () => {
  const { splices, toStage } = schedule(plain)

  test('come in running order: running roll, waiting roll, then the usual length', () => {
    expect(splices.slice(0, 4).map(({ roll, metres }) => [roll, metres])).toEqual([
      ['running', 1000],
      ['waiting', 5000],
      ['usual', 11_000],
      ['usual', 17_000],
    ])
    expect(splices[1]?.seconds).toBe(1000)
  })

  test('fill eight hours: 144 km of line', () => {
    expect(HORIZON_S * 5).toBe(144_000)
    expect(splices.at(-1)?.metres).toBe(5000 + 23 * 6000)
    expect(splices).toHaveLength(25)
    // The waiting roll serves the first of them.
    expect(toStage).toBe(24)
  })

  test('are counted whole where fewer are listed, and not at all where they are too many', () => {
    const short = (lengthM: number) => schedule({ ...plain, usual: { kind: 'usual', material: 'b', lengthM, sdM: 1 } })
    // (144 000 − 5000) / 1000 = 139 more behind the waiting roll's; the waiting roll serves one of the 141.
    expect(short(1000).splices).toHaveLength(50)
    expect(short(1000).toStage).toBe(140)
    expect(short(100).toStage).toBeUndefined()
  })

  test('are staged by the usual roll and speed, whatever the line does now, and not at all where too few rolls were seen', () => {
    const staging = { rollM: 6000, speedMps: 5 }
    const needed = (changes: Partial<NextSplicesInput>) => schedule({ ...plain, staging, ...changes }).toStage
    expect(needed({})).toBe(24)
    // A crawl, a standstill, a guess of the next rolls by a short one.
    expect(needed({ speedMps: 0.2, lastSpeedMps: 0.2 })).toBe(24)
    expect(needed({ speedMps: undefined })).toBe(24)
    expect(needed({ usual: { kind: 'usual', material: 'b', lengthM: 800, sdM: 90 } })).toBe(24)
    expect(needed({ staging: { rollM: undefined, speedMps: 5 } })).toBeUndefined()
    // Two rolls that are known reach farther than eight hours.
    const long = { kind: 'waiting', material: 'b', lengthM: 200_000, sdM: 40 } as const
    expect(needed({ staging: { rollM: undefined, speedMps: 5 }, waiting: long })).toBe(0)
    expect(needed({ staging: { rollM: undefined, speedMps: 5 }, jobM: 4000 })).toBe(0)
    expect(needed({ staging: { rollM: undefined, speedMps: 5 }, jobM: 20_000 })).toBeUndefined()
  })

  test('are less and less sure: variances of independent rolls add', () => {
    const third = splices[2]!
    expect(third.sdM).toBeCloseTo(Math.hypot(3, 40, 90), 9)
    expect(third.high - third.metres).toBeCloseTo(Z80 * Math.hypot(3, 40, 90), 9)
  })

  test('a waiting roll too short to prepare the one after it is told', () => {
    const stub = (lengthM: number) =>
      schedule({ ...plain, waiting: { kind: 'waiting', material: 'b', lengthM, sdM: 10 } }).splices[1]?.isTooShort
    // 260 s at 5 m/s: preparation and lead.
    expect(stub(1290)).toBe(true)
    expect(stub(1310)).toBe(false)
    expect(splices[0]?.isTooShort).toBe(false)
  })

  test('a standing line has metres and no seconds', () => {
    const standing = schedule({ ...plain, speedMps: undefined })
    expect(standing.splices.map(({ metres }) => metres)).toEqual(splices.map(({ metres }) => metres))
    expect(standing.splices.every(({ seconds }) => seconds === undefined)).toBe(true)
  })

  test('of rolls of which nothing is known there are none', () => {
    expect(schedule({ ...plain, waiting: undefined, usual: undefined }).splices).toHaveLength(1)
    expect(schedule({ ...plain, waiting: undefined, usual: undefined, jobM: 1e6 }).job).toBeUndefined()
  })
})

describe('the job', () => {
  test('ends the list: what comes after it nobody has asked for', () => {
    const metres = (jobM: number) => schedule({ ...plain, jobM }).splices.map((splice) => splice.metres)
    expect(metres(16_000)).toEqual([1000, 5000, 11_000])
    expect(metres(800)).toEqual([])
    expect(schedule({ ...plain, jobM: 800 }).toStage).toBe(0)
  })

  test('that may outlast the roll by chance still asks for the next one', () => {
    // 3 m standard deviation: beyond doubt are 7 m.
    const at = (jobM: number) => schedule({ ...plain, waiting: undefined, jobM })
    expect(at(992)).toMatchObject({ job: { splices: 0 }, toStage: 0, splices: [] })
    expect(at(995)).toMatchObject({ job: { splices: 1, leftM: 7000 - 995 }, toStage: 1, splices: [{ metres: 1000 }] })
    const unknown = schedule({ ...plain, waiting: undefined, usual: undefined, jobM: 995 })
    expect(unknown).toMatchObject({ job: { leftM: 5, splices: 1 }, splices: [{ metres: 1000 }] })
  })

  test('ends on a roll: what is left on it, how many splices, how many rolls to stage', () => {
    expect(schedule({ ...plain, jobM: 800 })).toMatchObject({
      job: { splices: 0, leftM: 200, onRoll: 'running' },
      toStage: 0,
    })
    expect(schedule({ ...plain, jobM: 4000 })).toMatchObject({
      job: { splices: 1, leftM: 1000, onRoll: 'waiting' },
      toStage: 0,
    })
    const third = schedule({ ...plain, jobM: 16_000 })
    expect(third).toMatchObject({ job: { splices: 3, leftM: 1000, onRoll: 'usual', seconds: 3200 }, toStage: 2 })
    expect(third.job?.leftSdM).toBeCloseTo(Math.hypot(3, 40, 90, 90), 9)
  })

  test('without a waiting roll one more is to be staged', () => {
    expect(schedule({ ...plain, waiting: undefined, jobM: 4000 }).toStage).toBe(1)
  })

  test('longer than eight hours is followed to its end', () => {
    expect(schedule({ ...plain, jobM: 400_000 }).job?.splices).toBe(Math.ceil((400_000 - 5000) / 6000) + 1)
  })
})

test('no input gives NaN, a negative time or a list without end', () => {
  const length = fc.oneof(fc.constant(0), fc.double({ min: 0, max: 1e6, noNaN: true }))
  const roll = <K extends 'waiting' | 'usual'>(kind: K) =>
    fc.option(fc.record({ kind: fc.constant(kind), material: fc.string(), lengthM: length, sdM: length }), {
      nil: undefined,
    })
  fc.assert(
    fc.property(
      fc.record({
        firstM: length,
        firstSdM: length,
        runningLengthM: fc.option(length, { nil: undefined }),
        runningMaterial: fc.string(),
        waiting: roll('waiting'),
        usual: roll('usual'),
        speedMps: fc.option(fc.double({ min: 1e-3, max: 60, noNaN: true }), { nil: undefined }),
        lastSpeedMps: fc.double({ min: 1e-3, max: 60, noNaN: true }),
        leadS: length,
        preparationS: length,
        jobM: fc.option(length, { nil: undefined }),
      }),
      (input) => {
        const { splices, job, toStage } = schedule(input)
        expect(splices.length).toBeLessThanOrEqual(50)
        expect(toStage ?? 0).toBeGreaterThanOrEqual(0)
        if (job !== undefined) expect(job.leftM).toBeGreaterThanOrEqual(0)
        for (const { metres, low, high, sdM } of splices) {
          expect(low).toBeGreaterThanOrEqual(0)
          expect(low).toBeLessThanOrEqual(metres)
          expect(high).toBeGreaterThanOrEqual(metres)
          expect(Number.isFinite(sdM)).toBe(true)
        }
      },
    ),
  )
})
