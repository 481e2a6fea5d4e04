/** Names of phases above a trace: each over its own band or led to it, none over another. */
import { expect, it } from 'vitest'
import { type PhaseName, placePhases } from '../../dashboard/charts/phase-names.ts'

/** Lengths of fill, slow, stopped, start and refill, s, on a trace of 150 s whose splice begins at 60 s. */
const CYCLES = {
  'zero speed': [22, 3, 4, 6, 30],
  'as short as they come': [1, 0.8, 0.7, 0.5, 0.6],
  'long refill': [12, 5, 8, 9, 55],
}
const WIDTHS = [24, 30, 52, 28, 36]
const bandsOf = (seconds: readonly number[], plot: { left: number; right: number }): PhaseName[] => {
  const x = (s: number) => plot.left + ((40 + s) / 150) * (plot.right - plot.left)
  let from = 0
  return seconds.map((length, i) => {
    const band = { left: x(from), right: x(from + length), width: WIDTHS[i]! }
    from += length
    return band
  })
}

for (const [screen, plot] of Object.entries({ laptop: { left: 68, right: 860 }, phone: { left: 68, right: 330 } })) {
  it.each(Object.entries(CYCLES))(`names every phase of a cycle on a ${screen}: %s`, (_name, seconds) => {
    const bands = bandsOf(seconds, plot)
    const places = placePhases(bands, plot)
    places.forEach((place, i) => {
      if (place === undefined) throw new Error(`phase ${i} has no name`)
      const { left, right, width } = bands[i]!
      const end = place.left + width
      expect(place.left).toBeGreaterThanOrEqual(plot.left)
      expect(end).toBeLessThanOrEqual(plot.right)
      if (place.leader === undefined) {
        expect(place.row).toBe(0)
        expect(place.left).toBeGreaterThanOrEqual(left)
        expect(end).toBeLessThanOrEqual(right)
        expect(place.left + width / 2).toBeCloseTo((left + right) / 2, 6)
      } else {
        // Its line stands in its own band and ends at its own words.
        expect(place.leader).toBeCloseTo((left + right) / 2, 6)
        expect(Math.max(place.left - place.leader, place.leader - end)).toBeLessThanOrEqual(3)
      }
      places.forEach((other, j) => {
        if (other === undefined || i === j) return
        const otherEnd = other.left + bands[j]!.width
        if (place.row === other.row) expect(end < other.left || otherEnd < place.left).toBe(true)
        // A line goes through no words below its own.
        if (place.leader !== undefined && other.row < place.row)
          expect(place.leader < other.left || place.leader > otherEnd).toBe(true)
      })
    })
  })
}

it('says nothing of a phase outside of the part that is shown', () => {
  expect(placePhases([{ left: -50, right: -10, width: 20 }], { left: 0, right: 100 })).toEqual([undefined])
})
