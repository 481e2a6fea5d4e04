/**
 * Splices of an invented splicer for the trend charts: physics and scatter only, nothing of how they are charted.
 *
 * Jobs of some ten splices set speed and material; rolls differ in size; two sides differ from each other. A stop, the two
 * ramps and the trigger scatter by themselves; web, low point and refill follow from them.
 */
import type { TrendSplice } from '../../edge/trends/metrics.ts'
import { type Random, randomStream } from '../truth/random.ts'

export interface PlantOptions {
  seed: number
  splices: number
  /** Scatter of stop and ramps, share of the value (standard deviation). */
  scatter?: number
  /** Stop length grows by this share per splice from the splice `from` on; on one side only where it is named. */
  drift?: { perSplice: number; from: number; side?: string }
  /** Scatter with long tails (Student's t on 4 degrees), and one splice in 50 far out. */
  isRough?: boolean
}

const SIDES = ['A', 'B'] as const
const MATERIALS = [
  { name: 'thin', widthM: 1.1 },
  { name: 'usual', widthM: 1.3 },
  { name: 'heavy', widthM: 1.6 },
]
const RUNNING_STORED_M = 27.5
const OVERSPEED = 0.12
const MINUTES_BETWEEN = 24

export function* plantSplices(options: PlantOptions): Generator<TrendSplice> {
  const { seed, splices, scatter = 0.05, drift, isRough = false } = options
  const jobs = randomStream(seed, 'jobs')
  const noise = randomStream(seed, 'scatter')
  const rolls = randomStream(seed, 'rolls')
  let left = 0
  let speedMps = 4
  let material = MATERIALS[0]!
  for (let i = 0; i < splices; i += 1) {
    if (left === 0) {
      left = 4 + Math.floor(jobs.even() * 14)
      speedMps = 2.5 + 3.3 * jobs.even()
      material = MATERIALS[Math.floor(jobs.even() * MATERIALS.length)]!
    }
    left -= 1
    const side = SIDES[i % 2]!
    const rollM = 0.9 + 0.4 * rolls.even()
    const drifted = drift === undefined || (drift.side ?? side) !== side ? 0 : Math.max(0, i - drift.from + 1)
    const off = () => Math.exp(scatter * deviate(noise, isRough))
    const stopS = (side === 'A' ? 1.1 : 1.22) * (1 + (drift?.perSplice ?? 0) * drifted) * off()
    const deceleration = 2.5 * off()
    // Torque-limited: a solid roll's inertia per radius grows with its radius squared times the width.
    const acceleration = ((1.3 * 1.1 * 1.3) / (material.widthM * rollM ** 2)) * off()
    const web = speedMps * stopS + (speedMps ** 2 / 2) * (1 / deceleration + 1 / acceleration)
    yield {
      id: `s-${i}`,
      tMs: i * MINUTES_BETWEEN * 60_000,
      side,
      material: material.name,
      speedMps,
      rollM,
      dueM: RUNNING_STORED_M,
      values: {
        stop: stopS,
        deceleration,
        acceleration,
        refill: (web / (OVERSPEED * speedMps)) * Math.exp(0.03 * deviate(noise, isRough)),
        web_used: web,
        low_point: RUNNING_STORED_M - web + 0.2 * deviate(noise, isRough),
        trigger_offset: -1 + 0.8 * deviate(noise, isRough),
        preparation: 420 * Math.exp(0.2 * deviate(noise, isRough)),
      },
    }
  }
}

/** Mean 0, variance 1. */
function deviate(random: Random, isRough: boolean): number {
  if (!isRough) return random.normal()
  if (random.even() < 0.02) return 8 * random.normal()
  const squares = [1, 2, 3, 4].reduce((sum) => sum + random.normal() ** 2, 0)
  // Variance of Student's t on 4 degrees is 2.
  return random.normal() / Math.sqrt(squares / 4) / Math.SQRT2
}
