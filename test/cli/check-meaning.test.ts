/** What `check` prints beside what a tag itself says. */
import { describe, expect, it } from 'vitest'
import { meaningOf, misfit } from '../../edge/cli/check.ts'
import { loadConfigText } from '../../edge/config/load.ts'

const text = `
version: 1
site: { name: Alder Quay Works, time_zone: UTC }
sources: { plc: { kind: opcua, endpoint: opc.tcp://127.0.0.1:4840 } }
unwinds:
  press:
    roll: { core_diameter: 100 mm, nominal_caliper: 80 um }
    splicer: { method: flying, splice_diameter: 130 mm }
    signals:
      line_speed: { source: plc, address: 'ns=2;s=Speed', unit: ft/min }
      roll_diameter: { source: plc, address: 'ns=2;s=Diameter', unit: mm, range: [50, 1600] }
      tension: { source: plc, address: 'ns=2;s=Tension', unit: N, scale: 0.025, offset: 1 }
      new_roll_ready: { source: plc, address: 'ns=2;s=Status', bit: 5 }
      roll_id: { source: plc, address: 'ns=2;s=RollId' }
      splice_step: { source: plc, address: 'ns=2;s=Step', values: { 10: idle, 20: stopped } }
`
const { signals } = loadConfigText(text, 'press.yaml').config.unwinds[0]!
const said = (name: string, value: string | undefined): string =>
  meaningOf(signals.find(({ signal }) => signal === name)!, value)

describe('what a tag says, read as its signal', () => {
  it('is a number in the unit of the config, after scale and offset', () => {
    expect(said('line_speed', '984.2519685')).toBe('984.252 ft/min')
    // 8000 · 0.025 + 1
    expect(said('tension', '8000')).toBe('201 N')
  })
  it('is a bit of a word, or the word that the config has for it', () => {
    expect(said('new_roll_ready', '40')).toBe('bit 5: true')
    expect(said('splice_step', '20')).toBe('stopped')
    expect(said('splice_step', '99')).toBe('no meaning mapped')
  })
  it('is nothing where the tag says what cannot be, or nothing', () => {
    expect(said('roll_diameter', '20')).toBe('no possible value in mm')
    expect(said('line_speed', undefined)).toBe('')
  })
})

describe('what a tag says that its signal cannot have', () => {
  const misfitOf = (name: string, value: string) => misfit(signals.find(({ signal }) => signal === name)!, value)

  it('is trouble: a word on a number, a number out of its range, a step that no map has', () => {
    expect(misfitOf('tension', 'AQ-4100')).toContain("can't be a value of tension")
    expect(misfitOf('roll_diameter', '20')).toContain("can't be a value of roll_diameter")
    expect(misfitOf('splice_step', '99')).toContain("can't be a value of splice_step")
    expect(misfitOf('tension', '')).toContain("can't be a value of tension")
  })
  it('is none where it can, or a text is empty', () => {
    expect([misfitOf('tension', '8000'), misfitOf('roll_id', ''), misfitOf('splice_step', '20')]).toEqual([
      undefined,
      undefined,
      undefined,
    ])
  })
})
