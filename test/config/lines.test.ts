/** Lines that several unwinds feed: what a file says of them and how it is refused. */
import { describe, expect, test } from 'vitest'
import { diffConfig } from '../../edge/config/apply.ts'
import { loadConfigText } from '../../edge/config/load.ts'
import { LastwrapError } from '../../edge/errors.ts'

const unwind = (id: string) => `  ${id}:
    roll: { core_diameter: 100 mm, nominal_caliper: 80 um }
    splicer: { method: flying, splice_diameter: 130 mm }
    signals:
      line_speed: { source: plc, address: ns=2;s=Speed, unit: m/min }
      roll_diameter: { source: plc, address: 'ns=2;s=${id}', unit: mm }
`
const PLANT = `version: 1
site: { name: Alder Quay Works, time_zone: Europe/Berlin }
sources:
  plc: { kind: opcua, endpoint: 'opc.tcp://127.0.0.1:4840' }
unwinds:
${unwind('inner')}${unwind('outer')}${unwind('third')}`

const load = (lines: string) => loadConfigText(`${PLANT}lines:\n${lines}`, 'plant.yaml').config

const faultsOf = (lines: string): readonly string[] => {
  try {
    load(lines)
  } catch (error) {
    if (error instanceof LastwrapError && error.code === 'config_invalid') return error.faults
    throw error
  }
  return []
}

describe('lines', () => {
  test('have defaults for all but their unwinds', () => {
    expect(load('  laminator: { unwinds: { inner: { path: 14 m }, outer: {} } }\n').lines).toEqual([
      {
        id: 'laminator',
        name: 'laminator',
        unwinds: [
          { id: 'inner', pathM: 14 },
          { id: 'outer', pathM: 0 },
        ],
        jointSeparationM: 3,
        crew: 1,
        meetingRisk: 0.01,
      },
    ])
  })

  test('are taken as written', () => {
    const text = `  laminator:
    name: Laminator 2
    joint_separation: 10 ft
    crew: 2
    meeting_risk: 0.5 %
    unwinds: { inner: { path: 0.5 km }, outer: { path: 22 m } }
`
    const [line] = load(text).lines
    expect(line).toMatchObject({ name: 'Laminator 2', crew: 2, meetingRisk: 0.005 })
    expect(line?.jointSeparationM).toBeCloseTo(3.048, 9)
    expect(line?.unwinds[0]?.pathM).toBe(500)
  })

  test('name unwinds that there are, each in one line', () => {
    expect(faultsOf('  a: { unwinds: { inner: {}, nobody: {} } }\n')).toEqual([
      'plant.yaml:25:30: lines.a.unwinds.nobody: there is no unwind "nobody": name one of inner, outer, third.',
    ])
    expect(
      faultsOf('  a: { unwinds: { inner: {}, outer: {} } }\n  b: { unwinds: { inner: {}, third: {} } }\n'),
    ).toEqual(['plant.yaml:26:19: lines.b.unwinds.inner: the unwind feeds the line a already: keep it in one.'])
  })

  test('need two unwinds, a crew and quantities with units', () => {
    expect(faultsOf('  a: { unwinds: { inner: {} } }\n')[0]).toContain('lines.a.unwinds: names one unwind only')
    expect(faultsOf('  a: { crew: 0, unwinds: { inner: {}, outer: {} } }\n')[0]).toContain('lines.a.crew: 0 is below 1')
    expect(faultsOf('  a: { joint_separation: 3, unwinds: { inner: {}, outer: {} } }\n')[0]).toContain(
      'lines.a.joint_separation',
    )
  })

  test('are applied live: a changed separation begins nothing anew', () => {
    const one = load('  a: { unwinds: { inner: {}, outer: {} } }\n')
    const other = load('  a: { joint_separation: 4 m, unwinds: { inner: {}, outer: {} } }\n')
    expect(diffConfig(one, one).isEmpty).toBe(true)
    expect(diffConfig(one, other)).toMatchObject({ isEmpty: false, restart: [] })
    expect(diffConfig(one, other).unwinds.changed).toEqual([])
  })
})
