/** When a spindle stood: the longest stop since a moment, its ends between two reports. */
import { describe, expect, it } from 'vitest'
import { longestStop } from '../../edge/cycle/points.ts'
import { rampPeakTMs } from '../../edge/cycle/ramp-end.ts'
import { STOPPED_BELOW_MPS } from '../../edge/cycle/speeds.ts'

const at = (...speeds: number[]) => speeds.map((surfaceMps, i) => ({ tMs: i * 100, surfaceMps }))

describe('the longest stop', () => {
  it('runs from crossing to crossing of 1 m/min', () => {
    // Down by 1 m/s per 100 ms, 0.3 s at rest, up by 1 m/s per 100 ms: the crossings lie by their share of a step.
    const stop = longestStop(at(2, 1, 0, 0, 0, 0, 1, 2), 0)
    expect(stop?.fromTMs).toBeCloseTo(100 + (1 - STOPPED_BELOW_MPS) * 100, 6)
    expect(stop?.toTMs).toBeCloseTo(500 + STOPPED_BELOW_MPS * 100, 6)
  })

  it('is no shorter for a speed that stood already when it was reported', () => {
    // 2.5 m/s² down to a standstill 80 ms after the last report that moved; 1.25 m/s² up from 40 ms before the first.
    const stop = longestStop(at(0.7, 0.45, 0.2, 0, 0, 0, 0.05, 0.175, 0.3), 0)
    expect(stop?.fromTMs).toBeCloseTo(200 + (1000 * (0.2 - STOPPED_BELOW_MPS)) / 2.5, 6)
    expect(stop?.toTMs).toBeCloseTo(600 - (1000 * (0.05 - STOPPED_BELOW_MPS)) / 1.25, 6)
  })

  it('is not one that is over before the cycle, nor one that still lasts', () => {
    expect(longestStop(at(2, 0, 0, 2, 2, 2, 2), 400)).toBeUndefined()
    expect(longestStop(at(2, 2, 0, 0, 0), 0)).toBeUndefined()
  })

  it('is the longest where the unwind hesitates', () => {
    const stop = longestStop(at(2, 0, 2, 2, 0, 0, 0, 2), 0)
    expect((stop?.toTMs ?? 0) - (stop?.fromTMs ?? 0)).toBeGreaterThan(200)
  })
})

describe('the end of the ramp after a stop', () => {
  /** A ramp of 3.2 s to a peak, a dip to 223 of 240 m/min, and back to the line's speed after 6 s. */
  const points = (peakMpm: number) =>
    Array.from({ length: 70 }, (_, i) => {
      const tS = i / 10
      const dip = Math.max(223, peakMpm - 20 * (tS - 3.2))
      const mpm = tS < 3.2 ? (peakMpm * tS) / 3.2 : tS < 5 ? dip : Math.min(240, 223 + 17 * (tS - 5))
      return { tMs: i * 100, lineMps: 4, unwindMps: mpm / 60, storedM: undefined }
    })

  it('is its peak, whether that is at the line’s speed or just below', () => {
    expect(rampPeakTMs(points(239.7), 0)).toBe(3200)
    expect(rampPeakTMs(points(233), 0)).toBe(3200)
  })

  it('is none where the unwind did not fall again, or hesitated on its way', () => {
    expect(rampPeakTMs(points(239.7).slice(0, 34), 0)).toBeUndefined()
    const hesitant = points(239.7).map((point) => ({ ...point, unwindMps: point.unwindMps * 0.8 }))
    expect(rampPeakTMs(hesitant, 0)).toBeUndefined()
    expect(rampPeakTMs(points(239.7), null)).toBeUndefined()
  })
})
