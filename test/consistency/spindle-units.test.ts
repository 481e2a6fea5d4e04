/** One spindle's diameter in another unit than the other's: named by itself, and nothing else that rests on it. */
import { describe, expect, it } from 'vitest'
import type { ConsistencyView } from '../../edge/api/messages.ts'
import { newSpindles, noteSpindle, type SpindlesState, spindleUnit } from '../../edge/consistency/spindle-units.ts'
import { newReplay, samplesOf } from '../pipeline/replay-simulation.ts'
import { type Simulation, simulate } from '../truth/line-simulator.ts'
import { USUAL } from '../truth/scenario.ts'

/** Rolls by diameter as read, m: each falls evenly over so many seconds of production. */
type Roll = [spindle: string, fromM: number, toM: number]

function ran(...rolls: Roll[]): SpindlesState {
  const state = newSpindles()
  let tMs = 0
  for (const [spindle, fromM, toM] of rolls) {
    for (let second = 0; second <= 100; second += 1) {
      tMs += 1000
      noteSpindle(state, tMs, spindle, fromM + ((toM - fromM) * second) / 100)
    }
  }
  return state
}
const found = (state: SpindlesState, units: Record<string, string> = { A: 'mm', B: 'mm' }) =>
  spindleUnit(state, (spindle) => units[spindle], 0.1)
/** One inch is 25.4 mm, exact by definition. */
const INCH = 25.4

describe('a spindle in another unit', () => {
  it('is the one whose reading no roll can have, by either error', () => {
    const inches = found(ran(['A', 0.45, 0.13], ['B', 0.46 / INCH, 0.13 / INCH]))
    expect(inches).toMatchObject({ spindle: 'B', other: 'A', mixUp: { actual: 'in', stated: 'mm' }, otherUnit: 'mm' })
    // 16 of its 100 s are over at the first median.
    expect(inches?.reads.high).toBeCloseTo((0.46 - 0.16 * 0.33) / INCH / 0.001, 1)
    const millimetres = ran(['A', 0.45, 0.13], ['B', 0.46 * INCH, 0.3 * INCH])
    expect(found(millimetres, { A: 'mm', B: 'in' })?.mixUp).toMatchObject({ actual: 'mm', stated: 'in' })
  })

  it('is told from centimetres by how its roll begins', () => {
    expect(found(ran(['A', 0.45, 0.13], ['B', 0.046, 0.03]))?.mixUp.actual).toBe('cm')
    expect(found(ran(['A', 0.45, 0.13], ['B', 0.46 / INCH, 0.38 / INCH]))?.mixUp.actual).toBe('in')
  })

  it('is known while the other spindle has just begun its next roll', () => {
    expect(found(ran(['A', 0.45, 0.13], ['B', 0.46 / INCH, 0.13 / INCH], ['A', 0.45, 0.4]))?.spindle).toBe('B')
  })

  it('is found where it breaks later, between rolls or in one, and forgotten once its rolls fit again', () => {
    const sound: Roll[] = [
      ['A', 0.45, 0.13],
      ['B', 0.45, 0.13],
    ]
    const between = ran(...sound, ['A', 0.45, 0.13], ['B', 0.45 / INCH, 0.3 / INCH])
    expect(found(between)?.spindle).toBe('B')
    const within = ran(...sound, ['A', 0.45, 0.13], ['B', 0.45, 0.4], ['B', 0.4 / INCH, 0.3 / INCH])
    expect(found(within)?.spindle).toBe('B')
    expect(found(ran(['A', 0.45, 0.13], ['B', 0.45 / INCH, 0.13 / INCH], ['A', 0.45, 0.13], ['B', 0.45, 0.4]))).toBe(
      undefined,
    )
  })

  it('is none where rolls differ as they do, or where a sensor sees nothing', () => {
    const sound: Roll[][] = [
      [
        ['A', 0.9, 0.13],
        ['B', 0.45, 0.13],
      ],
      // The rest of a first roll beside a full one.
      [
        ['A', 0.15, 0.13],
        ['B', 1.5, 1.4],
      ],
      [
        ['A', 0.45, 0.13],
        ['B', 0.018, 0.0178],
      ],
    ]
    for (const rolls of sound) expect(found(ran(...rolls))).toBeUndefined()
  })
})

function spoiled(simulation: Simulation, fromS: number) {
  const address = simulation.tags.find(({ signal, spindle }) => signal === 'roll_diameter' && spindle === 'B')?.address
  const fromMs = simulation.scenario.startTMs + fromS * 1000
  return simulation.rows.map((row) =>
    row.address === address && typeof row.value === 'number' && row.tMs >= fromMs
      ? { ...row, value: row.value / INCH }
      : row,
  )
}

/** What the unwind says at the end of each 100 s, and its alarms. */
function told({ config, rows, startTMs }: { config: string; rows: Simulation['rows']; startTMs: number }) {
  const { replay } = newReplay(config)
  const views: { s: number; view: ConsistencyView; alarms: { words?: { key: string }; text: string }[] }[] = []
  let nextMs = startTMs + 100_000
  for (const sample of samplesOf(rows)) {
    if (sample.tMs >= nextMs) {
      const [view] = replay.unwinds.views(nextMs)
      const consistency = replay.unwinds.consistency('label_press', nextMs)
      views.push({ s: (nextMs - startTMs) / 1000, view: consistency!, alarms: view!.alarms })
      nextMs += 100_000
    }
    replay.take([sample])
  }
  return views
}

describe('the unwind', () => {
  const simulation = simulate({ signals: USUAL, bySpindle: true, durationS: 1900, rollS: 400, firstRoll: 0.9 })
  const { startTMs } = simulation.scenario
  const diameterAlarms = (alarms: { words?: { key: string }; text: string }[]) =>
    alarms.filter(({ words }) => words?.key.startsWith('alarm.diameter_implausible'))

  it('says nothing while both spindles are sound', () => {
    for (const { view, alarms } of told({ config: simulation.config, rows: simulation.rows, startTMs })) {
      expect(view.findings).toEqual([])
      expect(alarms).toEqual([])
    }
  })

  it('names the spindle, and raises the alarm with its unit, where its tag goes over to inches later', () => {
    const views = told({ config: simulation.config, rows: spoiled(simulation, 1000), startTMs })
    const before = views.filter(({ s }) => s <= 1100)
    expect(before.flatMap(({ view }) => view.findings)).toEqual([])
    // B runs from 1160 s on, and has fallen by a twentieth by 1300.
    const after = views.filter(({ s }) => s >= 1300)
    expect(after.map(({ view }) => view.findings.map(({ id }) => id))).toEqual(
      after.map(() => ['roll_diameter.B.unit']),
    )
    expect(after[0]?.view.findings[0]).toMatchObject({
      severity: 'wrong',
      signals: ['roll_diameter'],
      addresses: ['ns=2;s=label_press.UnwindB.Diameter'],
      looks_like: 'in as mm',
    })
    expect(after.at(-1)?.view.findings[0]?.text).toMatch(
      /^roll_diameter \(ns=2;s=label_press\.UnwindB\.Diameter\) of spindle B reads 5\.\d+ to 18(\.\d)? mm, that of spindle A 128 to 4\d\d mm: its unit looks like in, the config says mm\. Set its unit to in\./,
    )
    const [alarm] = diameterAlarms(after[0]!.alarms)
    expect(alarm?.words?.key).toBe('alarm.diameter_implausible.spindle_unit')
    expect(alarm?.text).toBe(
      'The diameter of spindle B looks like in, and the config reads it as mm. Watch the roll by eye, and have the unit checked.',
    )
  })

  it('names it where the config says inches and the tag carries millimetres, and no other value', () => {
    const config = simulation.config.replace(/(UnwindB\.Diameter', unit: )mm/, '$1in')
    const views = told({ config, rows: simulation.rows, startTMs }).filter(({ s }) => s >= 600)
    expect(views.map(({ view }) => view.findings.map(({ id }) => id))).toEqual(
      views.map(() => ['roll_diameter.B.unit']),
    )
    expect(views[0]?.view.findings[0]?.looks_like).toBe('mm as in')
  })
})
