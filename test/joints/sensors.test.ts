/**
 * Side-lay, register, decurler and finished rolls on whole recordings of the independent simulator, whose sensors read the web
 * at their place. Limits: a step of the side-lay within a fifth of its tolerance, an error of the register within its
 * tolerance, metres within 0.5 m or 1 % of the path, as at every station.
 */
import { describe, expect, it } from 'vitest'
import type { JointView } from '../../edge/joint-columns.ts'
import { newReplay, samplesOf } from '../pipeline/replay-simulation.ts'
import { JOINT_SENSORS } from '../truth/joint-sensors.ts'
import { simulate } from '../truth/line-simulator.ts'
import { REQUIRED, type Scenario, SUBSTRATES } from '../truth/scenario.ts'

const SEEDS = [1, 2, 3]
const STORED_M = 30

function run(given: Partial<Scenario>) {
  const simulation = simulate({ rollS: 60, firstRoll: 1, preparationS: 20, durationS: 400, ...given })
  const joints = new Map<string, JointView>()
  const { replay, said } = newReplay(simulation.config, { joint: (joint) => joints.set(joint.id, joint) })
  replay.take(samplesOf(simulation.rows))
  replay.finish()
  expect(said.faults).toEqual([])
  return { simulation, said, joints: [...joints.values()] }
}

describe.each(SEEDS)('seed %i', (seed) => {
  it('side-lay: offset of both webs, the step, the drift before it, and which web was off', () => {
    const sideLay = { ...JOINT_SENSORS.sideLay, offsetsMm: [0.1, 0.2, 2.4, -0.1], runsOffMm: [0, 0, 0, 3] }
    const { joints, said } = run({
      seed,
      sensors: { ...JOINT_SENSORS, sideLay },
      signals: [...REQUIRED, 'edge_offset'],
    })
    const judged = joints.flatMap(({ side_lay }) => side_lay ?? [])
    expect(judged.map(({ reason }) => reason).slice(0, 4)).toEqual([null, 'new_web', 'old_web', 'drift'])
    // From roll 0 to 1, 1 to 2, 2 to 3; then roll 3 has run off by 3 mm, all of it but what the last 5 m average.
    for (const [i, [before, after]] of [[0.1, 0.2] as const, [0.2, 2.4] as const, [2.4, -0.1] as const].entries()) {
      expect(Math.abs(judged[i]!.before - before), `before joint ${i}`).toBeLessThan(0.2)
      expect(Math.abs(judged[i]!.after - after), `after joint ${i}`).toBeLessThan(0.2)
      expect(Math.abs(judged[i]!.step - (after - before)), `step at joint ${i}`).toBeLessThan(0.2)
    }
    expect(judged[3]!.drift).toBeGreaterThan(2.5)
    expect(Math.abs(judged[3]!.before - 2.9)).toBeLessThan(0.25)
    expect(said.alarms.filter(({ alarm, event }) => alarm === 'side_lay_off' && event === 'raised')).toHaveLength(
      judged.filter(({ within }) => !within).length,
    )
  })

  it('register: the error at the joint, and metres and repeats until it was back', () => {
    const register = { ...JOINT_SENSORS.register, errorsMm: [40, -25, 0, 120] }
    const { joints } = run({ seed, sensors: { ...JOINT_SENSORS, register }, signals: [...REQUIRED, 'register_error'] })
    const found = joints.flatMap((joint) => joint.register ?? [])
    expect(found.length).toBeGreaterThanOrEqual(4)
    for (const [i, error] of register.errorsMm.entries()) {
      const backM = Math.max(0, (Math.abs(error) - register.toleranceMm) / register.backMmPerM)
      const nearM = Math.max(0.5, 0.01 * (STORED_M + register.sensorM))
      // Within the tolerance, and what the line takes back within the metre that the joint's place is not known by.
      expect(Math.abs(found[i]!.error - error), `error ${i}`).toBeLessThan(register.toleranceMm + register.backMmPerM)
      if (error === 0) expect(found[i]).toMatchObject({ metres: 0, repeats: 0 })
      else expect(Math.abs((found[i]!.metres ?? 0) - backM), `metres ${i}`).toBeLessThanOrEqual(nearM + 0.5)
      expect(found[i]!.repeats).toBe(Math.ceil((found[i]!.metres ?? 0) / 0.305))
    }
  })

  it('a decurler that follows is quiet; one that stands is named on the roll on which it stands', () => {
    const signals = [...REQUIRED, 'decurler_position'] as const
    const alarmsOf = (standsOnRoll: number | undefined) => {
      const decurler = { ...JOINT_SENSORS.decurler, standsOnRoll }
      const { said, simulation } = run({
        ...SUBSTRATES.board,
        seed,
        sensors: { ...JOINT_SENSORS, decurler },
        signals,
        rollS: 90,
        durationS: 650,
      })
      const raised = said.alarms.filter(({ alarm, event }) => alarm === 'decurler_standing' && event === 'raised')
      return raised.map(
        ({ time }) => simulation.splices.filter(({ startedTMs }) => startedTMs < Date.parse(time)).length,
      )
    }
    expect(alarmsOf(undefined)).toEqual([])
    expect(alarmsOf(5)[0]).toBe(5)
  })

  it('a joint in a finished roll lies where it came to lie, at changing speed', () => {
    const stationsM = [9, 58]
    const schedule = [50, 110, 170, 230, 290, 350].flatMap((atS) => [
      { atS, speedMpm: 160 },
      { atS: atS + 20, speedMpm: 300 },
    ])
    const { joints, simulation } = run({ seed, stationsM, schedule, signals: [...REQUIRED, 'finished_roll'] })
    const there = joints.flatMap(({ stations }) => (stations[1]?.arrived == null ? [] : [stations[1]]))
    const real = simulation.arrivals.filter(({ stationM }) => stationM === 58)
    expect(there.length).toBeGreaterThanOrEqual(4)
    expect(there).toHaveLength(real.length)
    for (const [i, { finished_roll, finished_roll_metres }] of there.entries()) {
      const { passedM } = real[i]!
      const { finishedRollM } = JOINT_SENSORS
      const startM = Math.floor(passedM / finishedRollM) * finishedRollM
      expect(finished_roll).toBe(`F${String(1 + startM / finishedRollM).padStart(3, '0')}`)
      // The very first roll was wound before anybody looked.
      if (startM === 0) expect(finished_roll_metres).toBeNull()
      else
        expect(Math.abs((finished_roll_metres ?? 0) - (passedM - startM))).toBeLessThanOrEqual(
          Math.max(0.5, 0.01 * (STORED_M + 58)),
        )
    }
  })
})
