/** The generator as a whole: web is conserved, integration agrees with a general ODE solver, truth agrees with its own rows. */
import { Solver } from 'odex'
import { describe, expect, test } from 'vitest'
import { LineDrive, UnwindDrive } from './drives.ts'
import { simulate, simulateSite } from './line-simulator.ts'
import { Roll, webBetweenM } from './roll.ts'
import { ALL, defineScenario, netWebM, REQUIRED, type Scenario, SUBSTRATES } from './scenario.ts'

const EVENTS = [
  'no_new_roll',
  'ran_out',
  'web_break',
  'cycle_too_slow',
  'buffer_empty',
  'manual_early',
  'slow_stop',
  'slow_fill',
] as const

const CASES: [string, Partial<Scenario>][] = [
  ...Object.entries(SUBSTRATES),
  ...EVENTS.map((kind): [string, Partial<Scenario>] => [kind, { spareM: 6, events: [{ roll: 0, kind }] }]),
  ['aborted', { speedMpm: 180, spliceMm: 160, events: [{ roll: 0, kind: 'aborted' }] }],
  ['rides full', { bufferMode: 'rides_full' }],
  ['braked', { unwindDrive: 'braked' }],
  ['flying', { method: 'flying' }],
  ['stopped', { method: 'stopped' }],
  ['planned slow-down', { spliceSpeedMpm: 150 }],
  ['drifting caliper', { caliperDrift: 0.03, caliperOff: 0.05 }],
]

describe.each(CASES)('%s', (_name, given) => {
  const run = simulate({ durationS: 600, ...given })

  test('web off the rolls is web through the line plus what the buffer gained', () => {
    const { takenM, passedM, storedM, storedAtStartM } = run.totals
    expect(takenM - passedM).toBeCloseTo(storedM - storedAtStartM, 6)
    for (const row of run.truth) expect(row.storedM).toBeGreaterThanOrEqual(-1e-9)
  })

  test('the same seed gives the same recording', () => {
    const again = simulate({ durationS: 600, ...given })
    expect(again.rows.length).toBe(run.rows.length)
    expect(again.rows.at(-1)).toEqual(run.rows.at(-1))
  })

  test('every countdown falls by the web that leaves the roll', () => {
    for (let i = 1; i < run.truth.length; i++) {
      const [before, now] = [run.truth[i - 1]!, run.truth[i]!]
      if (before.metresToSplice === undefined || now.metresToSplice === undefined) continue
      if (now.rollNumber !== before.rollNumber || now.metresToSplice > before.metresToSplice) continue
      expect(before.metresToSplice - now.metresToSplice).toBeCloseTo(now.takenTagM - before.takenTagM, 9)
    }
  })
})

describe('outcomes come from physics', () => {
  test.each([
    ['no_new_roll', 'missed', 'no_new_roll'],
    ['ran_out', 'missed', 'ran_out'],
    ['web_break', 'failed', 'web_break'],
    ['cycle_too_slow', 'failed', 'cycle_too_slow'],
    ['buffer_empty', 'failed', 'buffer_empty'],
    ['manual_early', 'good', undefined],
    ['slow_stop', 'good', undefined],
  ] as const)('%s: first splice %s, %s; the next is good', (kind, outcome, cause) => {
    const { splices } = simulate({ spareM: 6, durationS: 620, events: [{ roll: 0, kind }] })
    expect(splices[0]).toMatchObject({ outcome, cause })
    expect(splices[1]).toMatchObject({ outcome: 'good' })
  })

  test('an aborted cycle is followed by a second attempt on the same roll', () => {
    const { splices } = simulate({
      speedMpm: 180,
      spliceMm: 160,
      durationS: 400,
      events: [{ roll: 0, kind: 'aborted' }],
    })
    expect(splices.map((one) => [one.roll, one.outcome, one.cause])).toEqual([
      [0, 'aborted', 'splicer_fault'],
      [0, 'good', undefined],
    ])
  })

  test('plain stops, ramps and hand changes make no splice', () => {
    const run = simulate({
      durationS: 170,
      firstRoll: 1,
      schedule: [
        { atS: 20, speedMpm: 0 },
        { atS: 60, speedMpm: 20 },
        { atS: 80, speedMpm: 300 },
        { atS: 110, speedMpm: 0 },
        { atS: 150, speedMpm: 300 },
      ],
      handChangesS: [140],
    })
    expect(run.splices).toEqual([])
    expect(run.handChangesTMs.length).toBe(1)
  })
})

test('the splice begins near its setting and a cycle takes what the formula says', () => {
  const { splices, scenario } = simulate({ noiseMm: 0.1, stopScatter: 0, durationS: 700 })
  for (const splice of splices) {
    expect(splice.outcome).toBe('good')
    expect(Math.abs(splice.diameterMm - scenario.spliceMm)).toBeLessThan(1)
    // Steps of 5 ms and a scan of 20 ms at each of four corners.
    const needed = netWebM(scenario, splice.speedMpm / 60)
    expect(Math.abs(splice.webFromBufferM! - needed)).toBeLessThan(0.02 * needed)
    expect(Math.abs(splice.stoppedSeconds - scenario.stopS)).toBeLessThan(0.06)
    const stub = webBetweenM(splice.diameterMm / 1000, scenario.coreMm / 1000, scenario.caliperUm * 1e-6)
    // While slowing the old roll gives v²/2a more.
    const slowing = (splice.speedMpm / 60) ** 2 / (2 * scenario.decelerationMps2)
    expect(Math.abs(splice.leftOnRollM! - (stub - slowing))).toBeLessThan(0.04 * stub)
  }
})

test('diameter and buffer agree with a general ODE solver', () => {
  // y = [D, S] with dD/dt = −2tv_u/(πD) and dS/dt = v_u − v, as the line stops evenly while the unwind runs on.
  const t = 100e-6
  const solver = new Solver(2)
  solver.absoluteTolerance = 1e-12
  solver.relativeTolerance = 1e-12
  const slope = (x: number, [d]: number[]) => [(-2 * t * 5) / (Math.PI * d!), 0.3 * x]
  const end = solver.solve(slope, 0, [0.4, 2], 10)
  const web = 50
  expect(end.y[0]).toBeCloseTo(Math.sqrt(0.16 - (4 * t * web) / Math.PI), 10)
  const s = defineScenario({ speedMpm: 300, lineRampMps2: 0.3 })
  const line = new LineDrive({ ...s, schedule: [{ atS: 0, speedMpm: 0 }] })
  line.speedMps = 5
  let stored = 2
  for (let ms = 0; ms < 10_000; ms += 5) {
    const before = line.speedMps
    line.step(ms, 0.005)
    stored += (5 - (before + line.speedMps) / 2) * 0.005
  }
  expect(stored).toBeCloseTo(end.y[1]!, 8)
})

test('the unwind never outruns its overspeed', () => {
  const s = defineScenario({})
  const unwind = new UnwindDrive(s, 5)
  const roll = new Roll({ id: 'R', lengthM: 1000, coreM: 0.1, caliperM: 100e-6, drift: 0 })
  for (let i = 0; i < 4000; i++) unwind.step({ kind: 'follow', storedTargetM: 100 }, 5, 0, roll, 0.4, 0.005)
  expect(unwind.speedMps).toBeCloseTo(5 * (1 + s.overspeed), 9)
})

describe('ramps', () => {
  /** From 5 m/s to rest or back: time, s, and web that the buffer loses meanwhile, m. */
  const ramp = (kind: 'stop' | 'start', given: Partial<Scenario>, lengthM = 1000, widthM = 1) => {
    const unwind = new UnwindDrive(defineScenario(given), kind === 'stop' ? 5 : 0)
    const roll = new Roll({ id: 'R', lengthM, coreM: 0.1, caliperM: 80e-6, drift: 0, widthM })
    let web = 0
    let ms = 0
    for (; kind === 'stop' ? unwind.speedMps > 0 : unwind.speedMps < 5; ms += 5) {
      const before = unwind.speedMps
      unwind.step({ kind, storedTargetM: 10 }, 5, 10, roll, 0.4, 0.005)
      web += (5 - (before + unwind.speedMps) / 2) * 0.005
    }
    return { web, seconds: ms / 1000 }
  }

  // v/a + t_j and v²/2a + v·t_j/2 for a ramp with corners rounded over t_j (integrating a trapezoid of acceleration).
  test('an S-curved stop takes t_j longer and half of v·t_j more web', () => {
    const plain = ramp('stop', { jerkS: 0 })
    const curved = ramp('stop', { jerkS: 0.4 })
    expect(curved.seconds - plain.seconds).toBeCloseTo(0.4, 1)
    expect(curved.web - plain.web).toBeCloseTo(1, 1)
  })

  // J = m(R² + r²)/2 with m ∝ w(R² − r²): twice the width takes twice the time; radii 0.5 and 0.25 m on a core that hardly
  // counts take 2³ (torque on the core) and 2² (force on the web) times as long.
  test('a torque-limited start takes as long as the moment of inertia over the radius', () => {
    const area = (diameterM: number): number => ((Math.PI / 4) * (diameterM ** 2 - 0.1 ** 2)) / 80e-6
    for (const [accelerationLimit, power] of [
      ['torque', 3],
      ['force', 2],
    ] as const) {
      const big = ramp('start', { accelerationLimit }, area(1.6)).seconds
      const small = ramp('start', { accelerationLimit }, area(0.95)).seconds
      expect(big / small).toBeCloseTo((1.6 / 0.95) ** power, 1)
      expect(ramp('start', { accelerationLimit }, area(0.95), 2).seconds / small).toBeCloseTo(2, 1)
    }
  })
})

describe('the recording', () => {
  test('required signals alone, all signals and by spindle have the same physics', () => {
    const starts = [REQUIRED, ALL].map((signals) => simulate({ signals }).splices.map((one) => one.startedTMs))
    expect(starts[1]).toEqual(starts[0])
    const both = simulate({ bySpindle: true, festoonOverMqtt: true })
    expect(both.splices.map((one) => one.startedTMs)).toEqual(starts[0])
    expect(both.config).toContain('by_spindle')
    expect(both.rows.some((row) => row.address === 'plant/label_press/festoon#position')).toBe(true)
  })

  test('disorder stays within what is asked, and duplicates are added', () => {
    const run = simulate({ disorderMs: 5000, duplicateShare: 0.05, durationS: 60 })
    let newest = 0
    let worst = 0
    for (const row of run.rows) {
      newest = Math.max(newest, row.tMs)
      worst = Math.max(worst, newest - row.tMs)
    }
    expect(worst).toBeGreaterThan(3000)
    expect(worst).toBeLessThanOrEqual(5000)
    expect(run.rows.length).toBeGreaterThan(60 * 10 * 8 * 1.03)
  })

  test('on change the constants are silent', () => {
    const every = simulate({ durationS: 30 }).rows.length
    expect(simulate({ durationS: 30, onChange: true }).rows.length).toBeLessThan(0.8 * every)
  })

  test('several unwinds share one recording and one config', () => {
    const site = simulateSite([
      { unwind: 'label_press', durationS: 20 },
      { unwind: 'coater', durationS: 20, seed: 2 },
    ])
    expect(site.config.match(/line_speed:/g)?.length).toBe(2)
    expect(site.rows.length).toBe(2 * 20 * 10 * 8)
    for (let i = 1; i < site.rows.length; i++) expect(site.rows[i]!.tMs).toBeGreaterThanOrEqual(site.rows[i - 1]!.tMs)
  })

  test('the CSV carries time, tag, value and quality', () => {
    const run = simulate({ durationS: 1, disturbances: [{ kind: 'bad', fromS: 0.5, toS: 1 }] })
    const lines = run.csv().split('\n')
    expect(lines[0]).toBe('time,tag,value,quality')
    expect(lines[1]).toMatch(/^2026-03-02T06:00:00\.100Z,ns=2;s=label_press\.Line\.Speed,[\d.]+,$/)
    expect(lines.filter((line) => line.endsWith(',,bad')).length).toBe(1)
    expect(run.csv('ms').split('\n')[1]).toMatch(/^1772431200100,/)
  })
})
