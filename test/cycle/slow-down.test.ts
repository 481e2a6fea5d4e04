import { describe, expect, test } from 'vitest'
import type { SplicerConfig } from '../../edge/config/config.ts'
import { type SeenSlowDown, SlowDownWatch } from '../../edge/cycle/slow-down.ts'
import { learnedNothing } from '../../edge/estimators/learning/splicer.ts'
import { plannedSlowDown, timeAtSpeed } from '../../edge/estimators/slow-down.ts'

/** A line at 5 m/s that ramps with 0.4 m/s² to 2.5 m/s, takes so many metres there, splices, and comes back or not. */
function splice(holdM: number, comesBack: boolean): SeenSlowDown | undefined {
  const watch = new SlowDownWatch()
  let tMs = 0
  let webM = 0
  let seen: SeenSlowDown | undefined
  const run = (seconds: number, speedOf: (s: number) => number, heldMps?: number): void => {
    for (let i = 0; i < seconds * 10; i++) {
      const mps = speedOf(i / 10)
      webM += mps / 10
      tMs += 100
      seen ??= watch.step(tMs, mps, webM, heldMps)
      // A monitor that starts anew in between goes on from plain data.
      const copy = JSON.parse(JSON.stringify(watch.snapshot()))
      watch.restore(copy)
    }
  }
  run(20, () => 5, 5)
  run(6.25, (s) => 5 - 0.4 * s)
  run(holdM / 2.5, () => 2.5)
  seen ??= watch.cycleStarted(tMs, 2.5, webM)
  run(20, () => 2.5)
  if (comesBack) run(6.25, (s) => 2.5 + 0.4 * s)
  run(150, () => (comesBack ? 5 : 2.5))
  return seen
}

describe('GIVEN a line that slows down on purpose', () => {
  // v²/2a: from 5 to 2.5 m/s with 0.4 m/s² in 6.25 s and 23.4375 m.
  test('WHEN it has spliced and is back THEN speed, ramp and the web at low speed are known', () => {
    const { slow, fromMps } = splice(10, true)!
    expect(fromMps).toBe(5)
    expect(slow!.mps).toBe(2.5)
    expect(slow!.rampMps2).toBeCloseTo(0.4, 1)
    expect(Math.abs(slow!.holdM - 10)).toBeLessThan(1.5)
  })

  test('WHEN it stays slow THEN its speed was changed for another reason', () => {
    expect(splice(10, false)).toBeUndefined()
  })

  test('WHEN three splices showed it THEN it is expected, and the time to the cycle counts it', () => {
    const splicer = { spliceSpeedMps: undefined } as SplicerConfig
    const seen = splice(10, true)!
    const learned = learnedNothing()
    learned.slowDowns = [seen, seen]
    expect(plannedSlowDown(splicer, learned)).toBeUndefined()
    learned.slowDowns = [seen, seen, seen]
    const slow = { mps: 2.5, rampMps2: 0.4, holdM: 10 }
    expect(plannedSlowDown(splicer, learned)?.mps).toBe(2.5)
    // 100 m: 66.5625 m at 5 m/s, 23.4375 m in the ramp's 6.25 s, 10 m at 2.5 m/s.
    expect(timeAtSpeed(100, 5, slow)).toBeCloseTo(66.5625 / 5 + 6.25 + 4, 9)
    expect(timeAtSpeed(100, 2.5, slow)).toBe(40)
  })

  test('WHEN three splices show none THEN a configured one is not believed any more', () => {
    const learned = learnedNothing()
    learned.slowDowns = Array.from({ length: 3 }, (_, tMs) => ({ tMs, fromMps: 5, slow: null }))
    expect(plannedSlowDown({ spliceSpeedMps: 2.5 } as SplicerConfig, learned)).toBeUndefined()
    expect(plannedSlowDown({ spliceSpeedMps: 2.5 } as SplicerConfig, learnedNothing())?.mps).toBe(2.5)
  })
})
