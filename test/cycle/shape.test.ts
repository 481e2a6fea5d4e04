/** When an unwind began to slow, from a carriage whose reports come at uneven times. */
import { describe, expect, it } from 'vitest'
import { Motion } from '../../edge/cycle/motion.ts'
import { startOf } from '../../edge/cycle/shape.ts'

describe('the start of a cycle', () => {
  it('is not led astray by a report whose time is off', () => {
    // As the demo's carton line reported it on a computer that was short of time: ms, and stored web in m at 2 m/s. Its
    // spindle still turned at full speed at 472 ms and was slower at 552 ms. Between 1202 and 1422 ms one slope looks like a stop.
    const reports = [
      [-208, 12.2156],
      [-48, 12.207],
      [132, 12.2156],
      [202, 12.2141],
      [312, 12.2063],
      [472, 12.2219],
      [552, 12.2077],
      [682, 12.1836],
      [822, 12.1651],
      [942, 12.1126],
      [992, 12.0934],
      [1102, 12.026],
      [1202, 11.9557],
      [1372, 11.8251],
      [1422, 11.7746],
      [1522, 11.6681],
      [1672, 11.485],
      [1772, 11.3579],
      [1872, 11.2152],
    ] as const
    const motion = new Motion()
    for (const [tMs, storedM] of reports) motion.report(tMs, 2, undefined, storedM)
    const { points, periodMs, resolutionM, noiseM } = motion
    const ramps = { downMps2: 1.2, upMps2: 0.6 } // as the line's config has them
    const startedTMs = startOf({
      points,
      isMeasured: false,
      periodMs,
      resolutionM,
      noiseM,
      strokeM: 0,
      ramps,
      corners: [],
    })
    expect(startedTMs).toBeGreaterThan(472 - 150)
    expect(startedTMs).toBeLessThan(552 + 150)
  })
})
