/** Units as OPC UA servers state them (UNECE Recommendation 20: `r/min`, `µm`) against those of a config. */
import { describe, expect, it } from 'vitest'
import { loadConfigText } from '../../edge/config/load.ts'
import { contradictionOf } from '../../edge/signals/stated-unit.ts'

/** The signal `line_speed`, or another one, of a config that states it with this unit. */
function signal(name: 'line_speed' | 'roll_diameter' | 'spindle_speed', unit: string, more = '') {
  const units = { line_speed: 'm/min', roll_diameter: 'mm', spindle_speed: 'rpm', [name]: unit }
  const line = (key: keyof typeof units): string =>
    `      ${key}: { source: plc, address: 'ns=2;s=${key}', unit: '${units[key]}'${key === name ? more : ''} }`
  const text = [
    'version: 1',
    'site: { name: Alder Quay Works, time_zone: UTC }',
    'sources: { plc: { kind: opcua, endpoint: opc.tcp://127.0.0.1:4840 } }',
    'unwinds:',
    '  press:',
    '    roll: { core_diameter: 100 mm, nominal_caliper: 80 um }',
    '    splicer: { method: flying, splice_diameter: 130 mm }',
    '    signals:',
    line('line_speed'),
    line('roll_diameter'),
    line('spindle_speed'),
    '',
  ].join('\n')
  const found = loadConfigText(text, 'press.yaml').config.unwinds[0]?.signals.find((each) => each.signal === name)
  if (found === undefined) throw new Error(`no ${name}`)
  return found
}

describe('a unit', () => {
  it('is in doubt where the server states another one of the same kind', () => {
    const speed = contradictionOf(signal('line_speed', 'ft/min'), 'm/min')
    expect(speed).toMatchObject({ stated: 'm/min', configured: 'ft/min' })
    // One foot is 0.3048 m and one inch 25.4 mm, exact by definition.
    expect(speed?.factor).toBeCloseTo(0.3048, 12)
    expect(contradictionOf(signal('roll_diameter', 'mm'), 'in')?.factor).toBeCloseTo(1 / 25.4, 12)
  })

  it('is in doubt where the server states another kind', () => {
    expect(contradictionOf(signal('roll_diameter', 'mm'), '%')).toEqual({
      stated: '%',
      configured: 'mm',
      factor: undefined,
    })
  })

  it('is not where only the name differs', () => {
    expect(contradictionOf(signal('spindle_speed', 'rpm'), 'r/min')).toBeUndefined()
    expect(contradictionOf(signal('line_speed', 'fpm'), 'ft/min')).toBeUndefined()
  })

  it('is not where the server states none, or one that nobody here knows, or a person has scaled the tag', () => {
    expect(contradictionOf(signal('line_speed', 'm/min'), undefined)).toBeUndefined()
    expect(contradictionOf(signal('line_speed', 'm/min'), 'sheets per hour')).toBeUndefined()
    expect(contradictionOf(signal('line_speed', 'm/min', ', scale: 0.3048'), 'ft/min')).toBeUndefined()
  })
})
