/** Joints on their way through the line, against the independent simulator: the right metre, at changing speed. */
import { describe, expect, it } from 'vitest'
import type { JointEventRow, JointView } from '../../edge/joint-columns.ts'
import { newReplay, samplesOf } from '../pipeline/replay-simulation.ts'
import { simulate } from '../truth/line-simulator.ts'
import { ALL, REQUIRED, type Scenario, SUBSTRATES } from '../truth/scenario.ts'

const STATIONS_M = [9, 41, 58]
/** Two splices; the line slows and speeds up while joints are on their way. */
const LINE: Partial<Scenario> = {
  rollS: 90,
  firstRoll: 0.75,
  durationS: 200,
  preparationS: 30,
  stationsM: STATIONS_M,
  schedule: [
    { atS: 74, speedMpm: 180 },
    { atS: 100, speedMpm: 300 },
    { atS: 176, speedMpm: 120 },
    { atS: 190, speedMpm: 300 },
  ],
}

/** Newest state of each joint. */
function jointsOf(
  given: Partial<Scenario>,
  patch: (config: string) => string = (config) => config,
  each: (joint: JointView) => void = () => undefined,
) {
  const simulation = simulate(given)
  const joints = new Map<string, JointView>()
  const events: JointEventRow[] = []
  const { replay, said } = newReplay(patch(simulation.config), {
    jointEvent: (row) => events.push(row),
    joint: (joint) => {
      joints.set(joint.id, joint)
      each(joint)
    },
  })
  replay.take(samplesOf(simulation.rows))
  replay.finish()
  expect(said.faults).toEqual([])
  return { simulation, said, events, joints: [...joints.values()] }
}

/** How far the line was from the true metre when a joint was said to have arrived, m. */
function errorsM({ simulation, joints }: ReturnType<typeof jointsOf>): { stationM: number; errorM: number }[] {
  return joints.flatMap((joint) =>
    joint.stations.flatMap(({ arrived }, index) => {
      const stationM = STATIONS_M[index]!
      const { splices, truth, arrivals } = simulation
      const nearest = splices.reduce((a, b) =>
        Math.abs(a.startedTMs - Date.parse(joint.made)) < Math.abs(b.startedTMs - Date.parse(joint.made)) ? a : b,
      )
      const real = arrivals.find((one) => one.roll === nearest.roll && one.stationM === stationM)
      if (real === undefined || arrived === null) return []
      const speedMps = (truth.findLast(({ tMs }) => tMs <= real.tMs)?.speedMpm ?? 0) / 60
      return [{ stationM, errorM: ((Date.parse(arrived) - real.tMs) / 1000) * speedMps }]
    }),
  )
}

const CASES: Record<string, Partial<Scenario>> = {
  'label, required signals': { signals: REQUIRED },
  'label, all signals': { signals: ALL },
  'film at 400 m/min': { ...SUBSTRATES.film, signals: REQUIRED, schedule: [] },
  'rides full': { bufferMode: 'rides_full' },
  braked: { unwindDrive: 'braked' },
}

describe('a joint at its stations', () => {
  it.each(Object.entries(CASES))('%s: within 0.5 m or 1 % of the path', (_name, given) => {
    const run = jointsOf({ ...LINE, ...given })
    const errors = errorsM(run)
    expect(errors.length).toBeGreaterThanOrEqual(2 * STATIONS_M.length)
    for (const { stationM, errorM } of errors) {
      // The festoon's content is part of the path that has to pass.
      const pathM = stationM + 0.95 * 30
      expect(Math.abs(errorM), `${stationM} m`).toBeLessThanOrEqual(Math.max(0.5, 0.01 * pathM))
    }
  })

  it('is learned from the station that sees it, where its distance is stated wrongly', () => {
    const far = (config: string): string =>
      config.replace('name: Station 1, distance: 9 m', 'name: Station 1, distance: 11 m')
    const scenario: Partial<Scenario> = { ...LINE, rollS: 60, firstRoll: 1, durationS: 400, schedule: [] }
    const updates: JointView[] = []
    jointsOf({ ...scenario, signals: [...REQUIRED, 'joint_seen'] }, far, (joint) => updates.push(joint))
    const sightings = [...Map.groupBy(updates, ({ id }) => id).values()].flatMap((ofOne) => {
      const at = ofOne.find(({ stations }) => stations[0]?.seen !== null)
      return at === undefined ? [] : [at.stations[0]!.metres]
    })
    expect(sightings.length).toBeGreaterThanOrEqual(5)
    // Not learned, each would be seen 2 m before it was due; learned, it is seen where it is due.
    for (const metres of sightings.slice(-2)) expect(Math.abs(metres)).toBeLessThan(0.4)
  })
})

describe('each arrival is an event', () => {
  it('that comes once, in order, and says what the joint says', () => {
    const { events, joints } = jointsOf({ ...LINE })
    const arrivals = joints.flatMap(({ id, stations }) =>
      stations.flatMap(({ station, arrived }) => (arrived === null ? [] : [{ joint: id, station, time: arrived }])),
    )
    expect(arrivals.length).toBeGreaterThanOrEqual(2 * STATIONS_M.length)
    expect(events).toHaveLength(arrivals.length)
    for (const arrival of arrivals) {
      expect(events).toContainEqual(expect.objectContaining({ ...arrival, event: 'arrived', takes_out: false }))
    }
    const times = events.map(({ time }) => time)
    expect(times).toEqual([...times].sort())
  })

  it('and where a sensor sees it, the event says by how much the counted web was off', () => {
    const far = (config: string): string =>
      config.replace('name: Station 1, distance: 9 m', 'name: Station 1, distance: 10 m')
    const { events } = jointsOf({ ...LINE, durationS: 130, signals: [...REQUIRED, 'joint_seen'] }, far)
    const ofFirst = events.filter(({ station }) => station === 'Station 1')
    // The sensor is first: it says the arrival, 1 m before it was due.
    expect(ofFirst.map(({ event }) => event)).toEqual(['arrived', 'seen'])
    expect(ofFirst[1]?.metres).toBeCloseTo(-1, 0)
    expect(ofFirst[1]?.time).toBe(ofFirst[0]?.time)
  })
})

describe('a gate that takes the joint out', () => {
  const gate = (config: string): string =>
    config.replace(
      'name: Station 2, distance: 41 m',
      'name: Station 2, distance: 41 m, takes_out: true, confirm_within: 15 m',
    )

  it('that nobody confirms raises an alarm once it is past, and a tap closes it', () => {
    const { said, joints, events } = jointsOf({ ...LINE, durationS: 130 }, gate)
    const atGate = events.filter(({ station }) => station === 'Station 2')
    expect(atGate.map(({ event }) => event)).toEqual(['arrived', 'unconfirmed'])
    expect(atGate[1]?.metres).toBeGreaterThanOrEqual(15)
    const raised = said.alarms.filter(({ alarm }) => alarm === 'joint_not_out')
    expect(raised).toMatchObject([{ event: 'raised', priority: 'high', limit: 15 }])
    expect(raised[0]?.value).toBeGreaterThanOrEqual(15)
    expect(raised[0]?.value).toBeLessThan(18)
    expect(joints.at(-1)?.stations[1]).toMatchObject({ state: 'unconfirmed', takes_out: true })
  })

  it('that a person confirms raises none', () => {
    const simulation = simulate({ ...LINE, durationS: 130 })
    const joints = new Map<string, JointView>()
    const events: JointEventRow[] = []
    const { replay, said } = newReplay(gate(simulation.config), {
      joint: (joint) => joints.set(joint.id, joint),
      jointEvent: (row) => events.push(row),
    })
    const arrived = simulation.arrivals.find(({ stationM }) => stationM === 41)!.tMs
    const samples = samplesOf(simulation.rows)
    replay.take(samples.filter(({ tMs }) => tMs <= arrived))
    const id = [...joints.keys()][0]!
    const tap = {
      source: 'operator',
      address: 'joint_out/label_press/Station%202',
      quality: 'good',
      person: 'Crew B',
    } as const
    replay.take([{ ...tap, value: id, tMs: arrived + 1, arrivalTMs: arrived + 1 }])
    replay.take(samples.filter(({ tMs }) => tMs > arrived + 1))
    replay.finish()
    expect(said.alarms.filter(({ alarm }) => alarm === 'joint_not_out')).toEqual([])
    expect(joints.get(id)?.stations[1]).toMatchObject({ state: 'out', out_by: 'Crew B' })
    expect(events.filter(({ event }) => event === 'out')).toMatchObject([{ joint: id, person: 'Crew B' }])
  })
})

describe('a web break', () => {
  // The simulator parts a bad joint 25 m after its transfer, when it is 9 m past the festoon.
  const scenario: Partial<Scenario> = {
    ...LINE,
    schedule: [],
    events: [{ roll: 0, kind: 'web_break' }],
    durationS: 90,
    signals: ALL,
  }

  it('where the joint just got to a station is at the joint', () => {
    expect(jointsOf(scenario).joints[0]?.broke).toMatchObject({ at_joint: true, station: 'Station 1' })
  })

  it('where no station is near is not', () => {
    const { joints } = jointsOf(scenario, (config) =>
      config.replace('Station 1, distance: 9 m', 'Station 1, distance: 24 m'),
    )
    expect(joints[0]?.broke).toMatchObject({ at_joint: false, station: null })
  })
})
