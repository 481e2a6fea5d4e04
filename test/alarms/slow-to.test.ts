import { describe, expect, it } from 'vitest'
import { lastingMps, type SlowTo, speedToWait, stopM } from '../../edge/alarms/slow-to.ts'
import { factsOf, START_TMS } from './facts-of.ts'

/** Web and time of a line that goes on at `mps` until it is told, then follows what is told after `followS`; steps of 0.1 s. */
const run = (webM: number, mps: number, usualS: number, followS: number) => {
  const [stepS, rampMps2] = [0.1, 0.4]
  const said: { atS: number; speedMpm: number | 'stop' }[] = []
  let held: SlowTo | undefined
  let [target, sinceS] = [mps, 0]
  let [web, speed, atS] = [webM, mps, 0]
  for (; web > 0 && atS < usualS + 20; atS += stepS) {
    const told = speedToWait(
      factsOf({
        tMs: START_TMS + atS * 1000,
        lineSpeedMps: speed,
        lineRampMps2: rampMps2,
        metresToSplice: web,
        secondsLow: 1,
        secondsToSplice: 1,
        fillLeadS: 0,
        nextRoll: { isRefused: false, usualS, leastS: usualS },
      }),
      held,
    )
    const now = told === 'stop' ? 'stop' : told === 'unknown' ? Number.NaN : told.speedMpm
    if (said.at(-1)?.speedMpm !== now) {
      said.push({ atS, speedMpm: now })
      sinceS = atS
    }
    if (typeof told === 'object') held = told
    if (told === 'stop') break
    if (atS - sinceS >= followS) target = (held?.speedMpm ?? 0) / 60
    speed = Math.max(target, speed - (speed > target ? rampMps2 * stepS : 0))
    web -= speed * stepS
  }
  return { said, web, atS }
}

describe('the speed at which the web lasts', () => {
  it('is what a line that ramps down to it really needs', () => {
    // 260 m at 7 m/s, 38 s needed; held against a sum in small steps.
    const [webM, lineMps, rampMps2, neededS] = [260, 7, 0.4, 38]
    const mps = lastingMps(webM, lineMps, rampMps2, neededS)
    let [web, speed, seconds] = [webM, lineMps, 0]
    for (; web > stopM(mps, rampMps2); seconds += 0.001) {
      speed = Math.max(mps, speed - rampMps2 * 0.001)
      web -= speed * 0.001
    }
    expect(seconds).toBeCloseTo(neededS, 1)
  })
  it('is that of now where the web lasts anyhow, and none where not even a stop comes in time', () => {
    expect(lastingMps(430, 7, 0.4, 40)).toBe(7)
    expect(lastingMps(60, 7, 0.4, 40)).toBe(0)
  })
})

describe('what is asked of people', () => {
  it('stays the same for one who slows in time; the web lasts until the roll is ready, and then for a stop', () => {
    const { said, web, atS } = run(300, 7, 45, 8)
    expect(said.map(({ speedMpm }) => speedMpm)).toEqual([expect.any(Number), 'stop'])
    expect(atS).toBeGreaterThan(45)
    expect(web).toBeGreaterThan(10)
  })
  it('falls in steps that one can follow where nobody does, and ends in a stop while stopping still helps', () => {
    const { said, web } = run(400, 7, 120, 1000)
    for (let i = 1; i < said.length; i++) {
      if (said[i]!.speedMpm !== 'stop') expect(said[i]!.speedMpm).toBeLessThan(said[i - 1]!.speedMpm as number)
      expect(said[i]!.atS - said[i - 1]!.atS).toBeGreaterThan(10)
    }
    expect(said.at(-1)?.speedMpm).toBe('stop')
    // 7 m/s at 0.4 m/s² stop within 61 m.
    expect(web).toBeGreaterThan(7 ** 2 / 0.8)
    expect(said.length).toBeLessThanOrEqual(4)
  })
  it('is a stop at once where only that can be reached', () => {
    expect(run(220, 7, 90, 0).said).toEqual([{ atS: 0, speedMpm: 'stop' }])
  })
})
