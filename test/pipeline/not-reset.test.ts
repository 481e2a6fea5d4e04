/** A diameter that goes on reading the old roll after a transfer is said; what turrets and presets do is not. */
import { expect, test } from 'vitest'
import { OldRoll } from '../../edge/estimators/old-roll.ts'
import { simulate } from '../truth/line-simulator.ts'
import { type Scenario, USUAL } from '../truth/scenario.ts'
import { replaySimulation } from './replay-simulation.ts'

const DIAMETER = 'ns=2;s=label_press.Unwind.Diameter'
const SPLICE: Partial<Scenario> = {
  rollS: 150,
  firstRoll: 0.3,
  preparationS: 30,
  durationS: 130,
  periodMs: 200,
  seed: 3,
}

/** The alarms where the PLC program keeps the old roll's diameter for so long after the transfer; with seconds since it; rolls as short as these are never ready in time. */
function alarmsWhere(keepsS: number, given: Partial<Scenario>): { said: string; afterS: number }[] {
  const run = simulate({ ...SPLICE, ...given })
  const transferTMs = run.splices[0]!.transferTMs!
  let oldRoll: (typeof run.rows)[number]['value']
  const rows = run.rows.map((row) => {
    if (row.address !== DIAMETER) return row
    if (row.tMs < transferTMs) oldRoll = row.value
    return row.tMs < transferTMs || row.tMs > transferTMs + keepsS * 1000 ? row : { ...row, value: oldRoll }
  })
  expect(rows.some(({ address }) => address === DIAMETER)).toBe(true)
  return replaySimulation({ config: run.config, rows })
    .alarms.filter(({ time, alarm }) => Date.parse(time) > transferTMs && alarm !== 'roll_not_ready')
    .map((row) => ({
      said: `${row.alarm} ${row.event}`,
      afterS: (Date.parse(row.time) - transferTMs) / 1000,
    }))
}

const BY_SPINDLE = [...new Set([...USUAL, 'active_spindle'] as const)]
const BY_STEP = [...new Set([...USUAL, 'splice_step'] as const)]

test.each([
  ['the spindle', BY_SPINDLE],
  ["the splicer's step", BY_STEP],
])('a transfer that %s tells, and a diameter not set anew for 50 s', (_by, signals) => {
  const alarms = alarmsWhere(50, { signals })
  expect(alarms.map(({ said }) => said)).toEqual(['diameter_not_reset raised', 'diameter_not_reset cleared'])
  // As long as presets and turrets take (trade notes: 10 to 30 s), and the alarm's own delay.
  expect(alarms[0]!.afterS).toBeGreaterThan(30)
  expect(alarms[0]!.afterS).toBeLessThan(36)
  expect(alarms[1]!.afterS).toBeGreaterThan(50)
})

test.each([
  ['at once', 0, {}],
  ['after 12 s, as a turret turns', 12, {}],
  ['after 28 s, as a slow turret turns', 28, {}],
  ['at once, converging over fifteen turns', 0, { presetMm: 200, convergeTurns: 15 }],
] satisfies [string, number, Partial<Scenario>][])('a diameter set anew %s raises nothing', (_when, keepsS, given) => {
  expect(alarmsWhere(keepsS, { signals: BY_SPINDLE, ...given })).toEqual([])
})

test('a roll much smaller than the one it follows is another roll', () => {
  const old = new OldRoll()
  old.change(0, 1000, { diameterM: 0.6, caliperM: 80e-6 })
  expect(old.reads(0.6, 1000, 1005)).toBe(true)
  // Reckoned down by 2 calipers a turn of 0.6·π m: 0.4 mm over five turns.
  expect(old.reads(0.5996, 3000, 1009.4)).toBe(true)
  expect(old.seconds(31_000)).toBe(31)
  expect(old.reads(0.4, 4000, 1020)).toBe(false)
  expect(old.seconds(31_000)).toBeUndefined()
})
