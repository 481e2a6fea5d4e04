/**
 * How early a noisy falling reading first passes its setting. Pure.
 *
 * A splicer starts its cycle when one reading is below the setting. While the diameter is still z standard deviations
 * above it each reading has the chance 1 − Φ(z) to do so; with a fall of r standard deviations from reading to reading
 * the median of the first passage lies where (1/r)·∫_z^∞ −ln Φ(u) du = ln 2.
 */
import { normalCdf } from '../statistics.ts'

/**
 * Scatter from one passage to the next before it was seen, as a share of the noise: a third where nothing is filtered, a
 * fifth behind a filter of 0.3 s (first passage of a filtered falling reading, by simulation: test/bench/bound.ts).
 */
export const PASSAGE_SCATTER = 0.24

const STEP = 0.02
const FROM = -3
const TO = 5.5

/** ∫_z^∞ −ln Φ on a grid from high z to low. */
const TAIL: readonly number[] = (() => {
  const table: number[] = []
  let sum = 0
  for (let z = TO; z >= FROM; z -= STEP) {
    sum += -Math.log(Math.max(1e-300, normalCdf(z))) * STEP
    table.push(sum)
  }
  return table
})()

/** @returns how many standard deviations of the reading's noise above the setting the first passage lies, by its median. */
export function firstPassageSds(fallPerReadingSds: number): number {
  if (!(fallPerReadingSds > 0)) return TO
  const wanted = fallPerReadingSds * Math.LN2
  let [first, end] = [0, TAIL.length]
  while (first < end) {
    const middle = (first + end) >> 1
    if (TAIL[middle]! >= wanted) end = middle
    else first = middle + 1
  }
  return first === TAIL.length ? FROM : TO - first * STEP
}
