/** The filter's algebra against other people's: a published example, batch least squares, and many runs of the linear model. */
import { inverse, Matrix } from 'ml-matrix'
import { describe, expect, test } from 'vitest'
import { RollFilter, type RollFilterState } from '../../edge/estimators/roll-filter.ts'
import { randomStream } from '../truth/random.ts'

const QUARTER_PI = Math.PI / 4
/** Area or reading, caliper, offset, both parts of the wave, the caliper's rise. */
const N = 6
/**
 * A filter in any state of area (m²), caliper, offset, wave and rise, of which only the variances named are not zero. The filter's
 * own first state is the reading Y = √(4A/π) + b.
 */
const filterIn = (x: readonly number[], variances: readonly number[], driftPerM = 0): RollFilter => {
  const [areaM2, caliperM, offsetM] = x as [number, number, number]
  const diameterM = Math.sqrt(areaM2 / QUARTER_PI)
  const p = readingOf(diameterM).mmul(Matrix.diag([...variances, ...new Array<number>(N).fill(0)].slice(0, N)))
  const state: RollFilterState = {
    x: [diameterM + offsetM, caliperM, offsetM, x[3] ?? 0, x[4] ?? 0, x[5] ?? 0],
    p: p.mmul(readingOf(diameterM).transpose()).to1DArray(),
    driftPerM,
    priorCaliperM: caliperM,
    rollM: 1,
    takenM: 0,
    thetaRad: 0,
  }
  return RollFilter.restore(state)
}

/** Derivatives of the filter's state by [A, t, b, c, s, g]. */
function readingOf(diameterM: number): Matrix {
  const by = Matrix.eye(N)
  by.set(0, 0, 2 / (Math.PI * diameterM))
  by.set(0, 2, 1)
  return by
}

/** Area, m², and the covariance of [A, t, b, c, s, g] of a filter. */
function areaOf(filter: RollFilter): { areaM2: number; p: number[] } {
  const back = inverse(readingOf(filter.trueDiameterM))
  const p = Matrix.from1DArray(N, N, filter.snapshot().p)
  return {
    areaM2: QUARTER_PI * filter.trueDiameterM ** 2,
    p: back.mmul(p).mmul(back.transpose()).to1DArray(),
  }
}

describe('GIVEN the published example of a building of 50 m, seen with an altimeter of 5 m standard deviation', () => {
  // A. Becker, Kalman Filter from the Ground Up / kalmanfilter.net, one-dimensional filter without process noise, example
  // "estimating the height of a building" (from memory): start 60 m, variance 225 m².
  const MEASURED = [48.54, 47.11, 55.01, 55.15, 49.89, 40.85, 46.72, 50.05, 51.27, 49.95]
  const ESTIMATES = [49.69, 48.47, 50.57, 51.68, 51.33, 49.62, 49.21, 49.31, 49.53, 49.57]
  const VARIANCES = [22.5, 11.84, 8.04, 6.08, 4.89, 4.09, 3.52, 3.08, 2.74, 2.47]

  test('WHEN the ten readings come THEN estimates and variances are the printed ones', () => {
    // The offset of the reading is the one unknown: the roll's own diameter is known to be 1 m.
    const filter = filterIn([QUARTER_PI, 1e-4, 60, 0, 0], [0, 0, 225])
    for (const [i, height] of MEASURED.entries()) {
      filter.update({ diameterM: 1 + height, cos: 0, sin: 0, varianceM2: 25 })
      expect(Math.abs(filter.offsetM - ESTIMATES[i]!)).toBeLessThan(0.0051)
      expect(Math.abs(filter.offsetSdM ** 2 - VARIANCES[i]!)).toBeLessThan(0.0051)
    }
  })
})

/** Weighted least squares with a prior: x = argmin (x − m)ᵀM⁻¹(x − m) + Σ (z − Hx)²/r. */
function batch(prior: readonly number[], variances: readonly number[], rows: number[][], z: number[], r: number) {
  const h = new Matrix(rows)
  const m = Matrix.columnVector([...prior])
  const information = inverse(Matrix.diag([...variances])).add(h.transpose().mmul(h).div(r))
  const p = inverse(information)
  const residual = Matrix.sub(Matrix.columnVector(z), h.mmul(m))
  return { x: Matrix.add(m, p.mmul(h.transpose()).mmul(residual).div(r)), p }
}

describe('GIVEN linear data', () => {
  test('WHEN offset and wave are unknown THEN the filter ends where batch least squares does, to 1e-6', () => {
    const random = randomStream(5, 'batch')
    const variances = [9e-6, 4e-6, 4e-6]
    const filter = filterIn([QUARTER_PI, 1e-4, 0, 0, 0], [0, 0, ...variances])
    const rows: number[][] = []
    const z: number[] = []
    for (let i = 0; i < 200; i++) {
      const [cos, sin] = [Math.cos(1.7 * i), Math.sin(1.7 * i)]
      const reading = 2e-3 + 1e-3 * cos - 0.5e-3 * sin + 1e-3 * random.normal()
      rows.push([1, cos, sin])
      z.push(reading)
      filter.update({ diameterM: 1 + reading, cos, sin, varianceM2: 1e-6 })
    }
    const { x, p } = batch([0, 0, 0], variances, rows, z, 1e-6)
    const state = filter.snapshot()
    for (const [i, at] of [2, 3, 4].entries()) {
      expect(Math.abs(state.x[at]! / x.get(i, 0) - 1)).toBeLessThan(1e-6)
      for (const [j, to] of [2, 3, 4].entries())
        expect(Math.abs(state.p[at * N + to]! - p.get(i, j))).toBeLessThan(1e-6 * p.get(i, i))
    }
  })

  test('WHEN area, caliper and its rise are unknown over web taken THEN the filter agrees with batch least squares to 1e-6', () => {
    // So small a range that diameter against area is a straight line: dD = 2/(πD)·dA.
    const random = randomStream(6, 'batch')
    const [areaM2, caliperM] = [QUARTER_PI, 1e-4]
    // In units of the prior's standard deviations, or the normal equations have no digits left.
    const sds = [1e-8, 1e-7, 2e-6]
    const truth = [0.7 * sds[0]!, -0.4 * sds[1]!, 0.6 * sds[2]!]
    const filter = filterIn([areaM2, caliperM, 0, 0, 0], [sds[0]! ** 2, sds[1]! ** 2, 0, 0, 0, sds[2]! ** 2])
    const sdM = 1e-8
    const rows: number[][] = []
    const z: number[] = []
    for (let i = 1; i <= 120; i++) {
      filter.take(1e-3)
      const webM = i * 1e-3
      const diameterM = Math.sqrt((areaM2 - caliperM * webM) / QUARTER_PI)
      const slope = 2 / (Math.PI * diameterM)
      const row = [slope, -slope * webM, (-slope * webM ** 2) / 2]
      const excess = row.reduce((sum, one, k) => sum + one * truth[k]!, 0) + sdM * random.normal()
      rows.push(row.map((one, k) => one * sds[k]!))
      z.push(excess)
      filter.update({
        diameterM: diameterM + excess,
        cos: 0,
        sin: 0,
        varianceM2: sdM ** 2,
      })
    }
    const { x, p } = batch([0, 0, 0], [1, 1, 1], rows, z, sdM ** 2)
    const seen = areaOf(filter)
    const webM = 0.12
    const rise = filter.snapshot().x[5]!
    const off = [seen.areaM2 - (areaM2 - caliperM * webM), filter.caliperM - caliperM, rise]
    // The filter's area and caliper are those of now, the batch's those of the start.
    const now = new Matrix([
      [sds[0]!, -webM * sds[1]!, (-(webM ** 2) / 2) * sds[2]!],
      [0, sds[1]!, webM * sds[2]!],
      [0, 0, sds[2]!],
    ])
    const said = now.mmul(x)
    for (const [i, sd] of sds.entries()) expect(Math.abs(off[i]! - said.get(i, 0))).toBeLessThan(1e-6 * sd)
    const variances = now.mmul(p).mmul(now.transpose())
    expect(Math.abs(seen.p[N + 1]! / variances.get(1, 1) - 1)).toBeLessThan(1e-6)
    expect(Math.abs(seen.p[N * N - 1]! / variances.get(2, 2) - 1)).toBeLessThan(1e-6)
    // What it says of the roll's outside is the batch's caliper of the start.
    const { lesson } = filter
    expect(Math.abs(lesson.caliperM - caliperM - sds[1]! * x.get(1, 0))).toBeLessThan(1e-6 * sds[1]!)
    expect(Math.abs(lesson.caliperVarM2 / (sds[1]! ** 2 * p.get(1, 1)) - 1)).toBeLessThan(1e-6)
  })
})

describe('GIVEN 20,000 rolls with a caliper that rises and walks', () => {
  test('WHEN each is watched six times THEN errors of area, caliper and metres have the filter’s own covariance within 3 %', () => {
    const random = randomStream(11, 'covariance')
    const rolls = 20_000
    const [areaM2, caliperM, stepM] = [0.5, 1e-4, 300]
    const sds = [1e-5, 1e-6, 3e-10]
    const driftPerM = 0.3e-6 ** 2 / 2000
    const readingSdM = 20e-6
    const prior = filterIn(
      [areaM2, caliperM, 0, 0, 0],
      [sds[0]! ** 2, sds[1]! ** 2, 0, 0, 0, sds[2]! ** 2],
      driftPerM,
    ).snapshot()
    const sums = [0, 0, 0]
    const said = [0, 0, 0]
    // A caliper that walks by √(q·h) over h loses, beyond its value at the start, an area of normal spread √(q·h³/3), ½ of h correlated.
    const walkSd = Math.sqrt(driftPerM * stepM)
    for (let roll = 0; roll < rolls; roll++) {
      const filter = RollFilter.restore(prior)
      let area = areaM2 + sds[0]! * random.normal()
      let caliper = caliperM + sds[1]! * random.normal()
      const rise = sds[2]! * random.normal()
      for (let i = 0; i < 6; i++) {
        const [a, b] = [random.normal(), random.normal()]
        area -= caliper * stepM + (rise * stepM ** 2) / 2 + walkSd * stepM * (a / 2 + b / Math.sqrt(12))
        caliper += walkSd * a + rise * stepM
        filter.take(stepM)
        const diameterM = Math.sqrt(area / QUARTER_PI) + readingSdM * random.normal()
        filter.update({ diameterM, cos: 0, sin: 0, varianceM2: readingSdM ** 2 })
      }
      const { areaM2: seenM2, p } = areaOf(filter)
      const [eA, eT] = [seenM2 - area, filter.caliperM - caliper]
      const { metres, varianceM2 } = filter.remaining(0.5)
      // What the caliper does later is in the filter's variance, so it is in the truth.
      const restM2 = area - QUARTER_PI * 0.25
      const later = Math.sqrt(caliper ** 2 + 2 * rise * restM2)
      const restM = (2 * restM2) / (caliper + later)
      const laterSd = Math.sqrt((driftPerM * Math.abs(restM) ** 3) / 3) / later
      const eR = metres - (restM + laterSd * random.normal())
      sums[0]! += eA * eA
      sums[1]! += eT * eT
      sums[2]! += eR * eR
      for (const [i, variance] of [p[0]!, p[N + 1]!, varianceM2].entries()) said[i]! += variance
    }
    for (const [i, sum] of sums.entries()) {
      const ratio = sum / said[i]!
      expect(Math.abs(ratio - 1), `${['area', 'caliper', 'metres'][i]}: ${ratio}`).toBeLessThan(0.03)
    }
  })
})
