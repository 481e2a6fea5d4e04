/** What people enter changes the advice as a tag would, and is known again by a restored pipeline. */
import { describe, expect, test } from 'vitest'
import { Bench } from './bench.ts'

const advice = (bench: Bench) => bench.unwinds.advise('coater', bench.tMs, (advisor) => advisor.view(bench.tMs))!
const enter = (bench: Bench, address: string, value: string | number | boolean): void =>
  bench.say('operator', `${address}`, value, { person: 'M. Ober' })

describe('an entered roll', () => {
  test('gives the splice after the next, by its diameter or else by the length on its label', () => {
    const bench = new Bench().begin().run(30)
    const second = () => advice(bench).next_splices[1]!
    enter(bench, 'waiting/coater/diameter', 400)
    enter(bench, 'waiting/coater/material', 'X')
    bench.run(1)
    expect(second()).toMatchObject({ roll: 'waiting', material: 'X' })
    // Ring of web from 400 mm to 130 mm at 80 µm: π(D² − d²)/4t = 1404.9 m (handbook relation).
    expect(second().roll_length).toBeCloseTo((Math.PI * (0.4 ** 2 - 0.13 ** 2)) / (4 * 80e-6), 0)
    enter(bench, 'waiting/coater/diameter', '')
    enter(bench, 'waiting/coater/length', 2000)
    bench.run(1)
    // What lies between 130 mm and the core of 100 mm stays on it: 67.7 m.
    expect(second().roll_length).toBeCloseTo(2000 - (Math.PI * (0.13 ** 2 - 0.1 ** 2)) / (4 * 80e-6), 0)
  })

  test('is known again after a restart, and so is how far it is prepared', () => {
    const bench = new Bench().begin().run(10)
    enter(bench, 'waiting/coater/roll_id', 'R-17')
    enter(bench, 'stage/coater/load', true)
    bench.run(1)
    const before = bench.view('coater')
    const after = new Bench().begin()
    const [, coater] = JSON.parse(JSON.stringify(bench.unwinds.snapshots())) as { unwind: string; data: unknown }[]
    after.unwinds.restore('coater', coater!.data)
    after.tMs = bench.tMs
    expect(after.view('coater').waiting_roll).toEqual(before.waiting_roll)
    expect(after.view('coater').preparation.stages.map(({ done_at }) => done_at)).toEqual(
      before.preparation.stages.map(({ done_at }) => done_at),
    )
  })
})

describe('an entered job', () => {
  test('counts down with the line and says how many splices it takes', () => {
    const bench = new Bench().begin().run(30)
    // Splices can be counted only where something is known of the rolls to come.
    enter(bench, 'waiting/coater/diameter', 400)
    enter(bench, 'job/coater/remaining', 2000)
    bench.run(20)
    // 20 s at 5 m/s.
    expect(advice(bench).job!.remaining).toBeCloseTo(2000 - 100, 0)
    expect(advice(bench).job!.splices).toBe(1)
  })
})
