/** What counts as a changed setting: common practice, no source. */
import { describe, expect, it } from 'vitest'
import { SettingWatch } from '../../edge/trends/setting-watch.ts'

function watching(signal: string, unit: string) {
  const watch = new SettingWatch()
  let tMs = 0
  return {
    watch,
    /** Looks twice a second. */
    hold(value: number | string | ((i: number) => number), forS: number) {
      const found: string[] = []
      for (let i = 0; i < forS * 2; i += 1, tMs += 500) {
        const readings = [{ signal, unit, value: typeof value === 'function' ? value(i) : value }]
        for (const one of watch.step(readings, tMs))
          found.push(`${one.from} → ${one.to} ${one.unit} at ${one.tMs / 1000}`)
      }
      return found
    },
  }
}

describe('a setting', () => {
  it('is logged once it has stood, from when it left what it was; not what it was first', () => {
    const one = watching('splice_diameter', 'mm')
    expect(one.hold(130, 60)).toEqual([])
    expect(one.hold(1, 1)).toEqual([])
    expect(one.hold(12, 1)).toEqual([])
    expect(one.hold(125, 10)).toEqual(['130 → 125 mm at 60'])
    expect(one.hold(125, 60)).toEqual([])
  })

  it('that trembles, or is back before it stood, did not change', () => {
    const one = watching('extra.press_time', 's')
    one.hold(2, 10)
    expect(one.hold((i) => 2 + (i % 2) * 0.003, 60)).toEqual([])
    expect(one.hold(3, 3)).toEqual([])
    expect(one.hold(2, 60)).toEqual([])
  })

  it('of speed may ramp, and a stop is none', () => {
    const one = watching('speed_setpoint', 'm/min')
    one.hold(300, 60)
    expect(one.hold((i) => 300 - i * 5, 20)).toEqual([])
    expect(one.hold(100, 40)).toEqual(['300 → 100 m/min at 60.5'])
    expect(one.hold(0, 600)).toEqual([])
    expect(one.hold(100, 60)).toEqual([])
  })

  it('may be a word, and is known again after a restart', () => {
    const one = watching('extra.recipe', '')
    one.hold('thin', 10)
    const again = new SettingWatch()
    again.restore(JSON.parse(JSON.stringify(one.watch.snapshot())))
    const change = [0, 6000].flatMap((tMs) => again.step([{ signal: 'extra.recipe', unit: '', value: 'thick' }], tMs))
    expect(change).toEqual([{ signal: 'extra.recipe', unit: '', tMs: 0, from: 'thin', to: 'thick' }])
  })
})
