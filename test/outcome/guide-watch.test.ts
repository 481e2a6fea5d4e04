/** The web guide's travel: made-up positions whose least travel left is known, through a splice of the generator's line. */
import { describe, expect, it } from 'vitest'
import { newGuide, noteGuide } from '../../edge/outcome/guide-watch.ts'
import { replaySimulation } from '../pipeline/replay-simulation.ts'
import { simulate } from '../truth/line-simulator.ts'
import type { RecordingRow } from '../truth/recording-file.ts'

const run = simulate({ spareM: 6, durationS: 400, rollsS: [240], firstRoll: 1 })
const cycle = run.splices[0]!
const GUIDE = `      extra.guide: { source: line_plc, address: 'ns=2;s=Unwind.Guide', unit: mm, role: guide, travel: [-20, 30] }\n`

/** Positions by seconds from the start of the splice. */
const guided = (positions: readonly (readonly [second: number, mm: number])[], mapping = GUIDE) => {
  const rows = positions.map(
    ([second, value]): RecordingRow => ({
      tMs: Math.round(cycle.startedTMs + second * 1000),
      source: 'line_plc',
      address: 'ns=2;s=Unwind.Guide',
      value,
      quality: 'good',
    }),
  )
  const config = run.config.replace('    signals:\n', `    signals:\n${mapping}`)
  const { details, outcome } = replaySimulation({ config, rows: [...run.rows, ...rows] }).splices[0]!
  return { outcome, left: details.guide_left, unit: details.guide_left_unit, share: details.guide_left_share }
}

describe('the web guide', () => {
  it('is told by the least travel that it had left before either end, in its unit and of what it has when centred', () => {
    // Centred at 5 mm it has 25 mm to either end.
    expect(
      guided([
        [-60, 5],
        [6, 26],
        [8, 10],
        [20, -13],
      ]),
    ).toEqual({ outcome: 'good', left: 4, unit: 'mm', share: 0.16 })
    expect(
      guided([
        [-60, 5],
        [6, 20],
        [8, 10],
        [20, -17],
      ]),
    ).toMatchObject({ left: 3, share: 0.12 })
  })
  it('counts neither before the cycle nor later than half a minute after it', () => {
    const overS = (cycle.backTMs! - cycle.startedTMs) / 1000
    expect(
      guided([
        [-60, 29],
        [-1, 5],
        [overS + 45, 29],
      ]),
    ).toMatchObject({ left: 25, share: 1 })
  })
  it('beyond its end has none left', () => {
    expect(
      guided([
        [-60, 5],
        [3, 31],
      ]),
    ).toMatchObject({ left: 0, share: 0 })
  })
  it('is not known without a tag of that role, and of a tag that is silent', () => {
    const none = { left: null, unit: null, share: null }
    expect(guided([[-60, 5]], GUIDE.replace(', role: guide, travel: [-20, 30]', ''))).toMatchObject(none)
    expect(guided([])).toMatchObject(none)
  })
  it('is watched for as long as a cycle takes that never came back', () => {
    const s = newGuide()
    expect(noteGuide(s, 0, { left: 9, share: 0.9, unit: 'mm' }, null)).toBe(false)
    expect(noteGuide(s, 90_000, { left: 2, share: 0.2, unit: 'mm' }, null)).toBe(false)
    expect(noteGuide(s, 130_000, { left: 1, share: 0.1, unit: 'mm' }, 99_000)).toBe(true)
    expect([s.least?.left, noteGuide(s, 131_000, undefined, 99_000)]).toEqual([2, false])
  })
})
