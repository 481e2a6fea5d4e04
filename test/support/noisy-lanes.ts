/** Lanes as a plant sends them: every estimate moves a little at each look. For byte rates, memory and load. */
import type { UnwindView } from '../../edge/api/messages.ts'
import { calmLanes } from './calm-lanes.ts'

/** A seeded generator (mulberry32, public domain, from memory): the same noise in each run. */
export const seeded = (seed: number): (() => number) => {
  let state = seed
  return () => {
    state = (state + 0x6d2b79f5) | 0
    let t = Math.imul(state ^ (state >>> 15), 1 | state)
    t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t
    return ((t ^ (t >>> 14)) >>> 0) / 4294967296
  }
}

/** Every figure that an estimator makes, moved by up to ± half a per cent, with all the digits that a double has. */
export const noisyLanes = (count: number): ((views: UnwindView[]) => UnwindView[]) => {
  const lanes = calmLanes(count)
  const random = seeded(7)
  const noisy = (value: number | null): number | null => (value === null ? null : value * (1 + (random() - 0.5) / 100))
  return (views) =>
    lanes(views).map((view) => ({
      ...view,
      diameter: noisy(view.diameter),
      caliper: noisy(80),
      metres_to_splice: noisy(view.metres_to_splice),
      metres_low: noisy(view.metres_to_splice),
      metres_high: noisy(view.metres_to_splice),
      seconds_to_splice: noisy(view.seconds_to_splice),
      seconds_low: noisy(view.seconds_low),
      seconds_high: noisy(view.seconds_high),
      buffer_stored: noisy(7.5),
      buffer_needed: noisy(21.2),
      buffer_margin: noisy(6.3),
      safe_speed: noisy(338),
      line_speed: noisy(300),
      fill_lead_seconds: noisy(35) ?? 0,
      next_splices: view.next_splices.map((next) => ({
        after: noisy(next.after) ?? 0,
        after_low: noisy(next.after_low) ?? 0,
        after_high: noisy(next.after_high) ?? 0,
      })),
    }))
}
