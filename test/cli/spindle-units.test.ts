/** One spindle in another unit is named, and nothing where rolls differ as they do. */
import { expect, it } from 'vitest'
import { spindleUnits } from '../../edge/cli/spindle-units.ts'
import type { SignalConfig } from '../../edge/config/config.ts'
import { keyOfTag } from '../../edge/config/tags.ts'

const spindle = (name: string, unit: 'mm' | 'in'): SignalConfig =>
  ({
    ...{ signal: 'roll_diameter', spindle: name, unit, toSi: unit === 'mm' ? 0.001 : 0.0254 },
    tag: { source: 'plc', address: `Unwind${name}.Diameter` },
  }) as SignalConfig

function said(a: ['mm' | 'in', number, number], b: ['mm' | 'in', number, number]): string[] {
  const [one, other] = [spindle('A', a[0]), spindle('B', b[0])]
  const ranges = new Map([
    [keyOfTag(one.tag), { low: a[1], high: a[2] }],
    [keyOfTag(other.tag), { low: b[1], high: b[2] }],
  ])
  return spindleUnits([one, other], ranges)
}

it('names the spindle that is far off and fits in the other unit', () => {
  const [sentence, ...more] = said(['in', 182, 291], ['mm', 74, 877])
  expect(sentence).toContain('roll_diameter of spindle A (UnwindA.Diameter) reads 182 to 291 in, that of spindle B 74')
  expect(sentence).toContain('its unit looks like mm, the config says in.')
  expect(more).toEqual([])
  expect(said(['mm', 74, 877], ['mm', 10, 30])[0]).toContain('of spindle B (UnwindB.Diameter)')
})

it('says nothing of spindles that take the same rolls, nor of a full roll beside a core', () => {
  expect(said(['mm', 80, 900], ['mm', 74, 877])).toEqual([])
  expect(said(['in', 4, 36], ['mm', 74, 877])).toEqual([])
  expect(said(['mm', 1100, 1300], ['mm', 76, 76])).toEqual([])
  expect(said(['mm', 900, 1200], ['mm', 50, 50.2])).toEqual([])
})
