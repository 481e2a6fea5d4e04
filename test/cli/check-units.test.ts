/** Units as OPC UA servers state them (UNECE Recommendation 20: `r/min`, `µm`) against those of a config. */
import { describe, expect, it } from 'vitest'
import { unitDoubt } from '../../edge/cli/check-units.ts'
import { loadConfigText } from '../../edge/config/load.ts'

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
    expect(unitDoubt(signal('line_speed', 'ft/min'), 'm/min')).toBe(
      "the server states m/min, the config ft/min: compare with the machine's panel, one of them is wrong",
    )
    expect(unitDoubt(signal('roll_diameter', 'mm'), 'in')).toMatch(/^the server states in, the config mm:/)
  })

  it('is in doubt where the server states another kind', () => {
    expect(unitDoubt(signal('roll_diameter', 'mm'), '%')).toMatch(/^the server states %/)
  })

  it('is not where only the name differs', () => {
    expect(unitDoubt(signal('spindle_speed', 'rpm'), 'r/min')).toBeUndefined()
    expect(unitDoubt(signal('line_speed', 'fpm'), 'ft/min')).toBeUndefined()
  })

  it('is not where the server states none, or one that nobody here knows, or a person has scaled the tag', () => {
    expect(unitDoubt(signal('line_speed', 'm/min'), undefined)).toBeUndefined()
    expect(unitDoubt(signal('line_speed', 'm/min'), 'sheets per hour')).toBeUndefined()
    expect(unitDoubt(signal('line_speed', 'm/min', ', scale: 0.3048'), 'ft/min')).toBeUndefined()
  })
})
