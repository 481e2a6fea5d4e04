/** A roll whose splice is overdue: what is left to its core, against the generator's truth; and marks inside the roll. */
import { describe, expect, test } from 'vitest'
import type { UnwindView } from '../../edge/api/messages.ts'
import { simulate } from '../truth/line-simulator.ts'
import { USUAL } from '../truth/scenario.ts'
import { newReplay, samplesOf } from './replay-simulation.ts'

const RUN = simulate({
  preparationS: 40,
  durationS: 620,
  seed: 5,
  signals: USUAL,
  events: [{ roll: 0, kind: 'ran_out' }],
})
const { unwind } = RUN.scenario

/** What screens are told once a second. */
function views(flagMm?: number): UnwindView[] {
  const { replay, said } = newReplay(RUN.config)
  const samples = samplesOf(RUN.rows)
  const heard: UnwindView[] = []
  let nextMs = Math.ceil(samples[0]!.tMs / 1000) * 1000 + 5000
  if (flagMm !== undefined) {
    const at = { tMs: nextMs - 2000, arrivalTMs: nextMs - 2000, quality: 'good', person: 'R. Lind' } as const
    samples.push({ source: 'operator', address: `flag/${unwind}`, value: flagMm, ...at })
    samples.sort((a, b) => a.tMs - b.tMs)
  }
  for (const sample of samples) {
    while (sample.tMs > nextMs + 100) {
      heard.push(replay.unwinds.views(nextMs).find((view) => view.unwind === unwind)!)
      nextMs += 1000
    }
    replay.take([sample])
  }
  expect(said.faults).toEqual([])
  return heard
}

describe('GIVEN a splicer that does not start', () => {
  test('WHEN the splice is overdue THEN web and time to the bare core are told, and not before', () => {
    const heard = views()
    const overdue = heard.filter(({ left_to_core: left }) => left !== null)
    expect(overdue.length).toBeGreaterThan(3)
    // 130 mm to 100 mm at 80 µm are π(D² − d²)/(4t) = 67.7 m: 13.5 s at 300 m/min (trade notes).
    const [first] = overdue
    expect(first!.left_to_core!.metres).toBeGreaterThan(40)
    expect(first!.left_to_core!.metres).toBeLessThan(70)
    const bareTMs = RUN.truth.find(({ tMs, diameterMm }) => tMs > Date.parse(first!.time) && diameterMm <= 100.2)?.tMs
    for (const { time, left_to_core: left, line_speed } of overdue.slice(0, 4)) {
      expect(left!.seconds).toBeCloseTo(left!.metres / (line_speed! / 60), 3)
      expect(Math.abs(left!.seconds! - (bareTMs! - Date.parse(time)) / 1000)).toBeLessThan(2)
    }
    expect(
      heard.filter(({ seconds_to_splice: s, left_to_core: left }) => s !== null && s > 1 && left !== null),
    ).toEqual([])
  })

  test('WHEN a mark lies in the roll THEN the next one is told while it is to come', () => {
    const heard = views(40)
    const told = heard.filter(({ next_flag: flag }) => flag !== null)
    expect(told.length).toBeGreaterThan(5)
    const seconds = told.map(({ next_flag: flag }) => flag!.seconds)
    expect(seconds.at(-1)).toBeLessThan(seconds[0]!)
    expect(heard.at(-1)!.next_flag).toBeNull()
  })

  test('THEN a full roll is drawn as large from the first look to the last, whenever a page is opened', () => {
    const heard = views().filter(({ state, diameter }) => state === 'running' && diameter !== null)
    // Before the web runs out and another roll is loaded.
    heard.splice(heard.findIndex(({ left_to_core: left }) => left !== null))
    const [first, last] = [heard[5]!, heard.at(-1)!]
    expect(last.diameter!).toBeLessThan(0.97 * first.diameter!)
    const full = heard.slice(5).map(({ full_diameter }) => full_diameter)
    expect(Math.max(...full) / Math.min(...full)).toBeLessThan(1.01)
    expect(Math.min(...full)).toBeGreaterThanOrEqual(Math.floor(first.diameter!))
  })
})
