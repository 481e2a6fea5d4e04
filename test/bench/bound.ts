/**
 * How good a countdown can be: the posterior Cramér–Rao bound of the metres to the splice, and the scatter of the splicer's
 * own trigger. Shares no code with `edge/`: the generator's scenario gives the truth, ml-matrix the algebra.
 *
 * Nothing can know the metres better than √(B² + σ_trig²):
 *
 * B, in m. State z = [α, τ, b, c, s], linearised about the true run of a mean roll:
 *   α  error of the cross-section A, as mm of diameter at the splice: δA = α·(π/2)·D_s·10⁻³ (m²)
 *   τ  error of the effective caliper t, per cent: δt = t·τ/100 (m)
 *   b  offset of the reading, mm;   c, s  cosine and sine part of the once-per-turn wave, mm
 * Taking h metres of web:  δα = −κ·h·τ,  κ = (t/100) / ((π/2)·D_s·10⁻³)  (mm per m and per cent), and τ walks:
 *   q = 100²·(w² + g²)/L  (per cent² per m), w its random walk and g its drift over a roll of L metres (shares), so
 *   Q = q·[κ²h³/3, −κh²/2; −κh²/2, h]  for [α, τ].
 * One reading of D (m):  row H = [D_s/D, 0, 1, cos θ, sin θ] (mm), θ = angle of the roll; variance r = σ² + Δ²/12 (mm²), σ the
 *   true noise, Δ the step of the reading. Readings within a second come together: information Y ← P⁻¹ + Σ HᵀH/r.
 * Priors: τ 5 %, b 3 mm (the issue's); wave 2 mm each part and α 100 mm (nothing is known of them).
 * Metres to the splice R = (A − π(D_s − b)²/4)/t: gradient G = [m per mm]·α, −R/100·τ, (πD_s/2t)·10⁻³·b, and what the
 *   caliper still does on the way: (A − A_s falls by ∫t dh) adds q·(1/100)²·R³/3 (m²).
 *   B² = G·P·Gᵀ + q·10⁻⁴·R³/3.
 * The Kalman covariance is the posterior Cramér–Rao bound of a linear model with normal noise (van Trees & Bell, Bayesian
 * Bounds, 2007; Tichavský, Muravchik & Nehorai, IEEE Trans. Signal Processing 46 (1998), from memory). The bound concerns one
 * roll by itself: what other rolls taught of caliper and offset is not in it, so a countdown that learns may be under it.
 *
 * σ_trig, in m. The splicer begins when its own filtered reading first is at its setting: standard deviation of the web at
 * which the cycle begins, by running the generator's sensor and filter down to the setting with fresh noise and phase.
 */
import { inverse, Matrix } from 'ml-matrix'
import { randomStream } from '../truth/random.ts'
import { Roll, webBetweenM } from '../truth/roll.ts'
import { cycleSpeedMps, mps, type Scenario } from '../truth/scenario.ts'
import { DiameterSensor } from '../truth/sensor.ts'

const PRIOR_CALIPER_PERCENT = 5
const PRIOR_OFFSET_MM = 3
const PRIOR_WAVE_MM = 2
const PRIOR_AREA_MM = 100
/** Step of the covariance's run, s. */
const STEP_S = 1

export interface Bound {
  /** B at each horizon, m. */
  bM: number
  horizonS: number
}

/** Variance of one report of the diameter, mm². */
const readingVariance = (s: Scenario): number => s.noiseMm ** 2 + Math.max(s.quantumMm, 0.01) ** 2 / 12

/**
 * B at the horizons for a roll that is watched from full.
 * @param rollS - how long the roll lasts from full to the splice diameter, s.
 */
export function countdownBound(s: Scenario, rollS: number, horizonsS: readonly number[]): Bound[] {
  const v = mps(s.speedMpm)
  const caliperM = s.caliperUm * 1e-6 * (1 + s.caliperOff)
  const spliceM = s.spliceMm / 1000
  const usableM = rollS * v
  const lengthM = usableM + webBetweenM(spliceM, s.coreMm / 1000, caliperM)
  const mmPerM = caliperM / ((Math.PI / 2) * spliceM) / 1e-3
  const kappa = mmPerM / 100
  const q = (100 ** 2 * (s.caliperWander ** 2 + s.caliperDrift ** 2)) / lengthM
  const r = readingVariance(s)

  const h = v * STEP_S
  const step = Matrix.eye(5)
  step.set(0, 1, -kappa * h)
  const noise = Matrix.zeros(5, 5)
  noise.set(0, 0, (q * kappa ** 2 * h ** 3) / 3)
  noise.set(0, 1, (-q * kappa * h ** 2) / 2)
  noise.set(1, 0, (-q * kappa * h ** 2) / 2)
  noise.set(1, 1, q * h)

  let p = Matrix.diag([
    PRIOR_AREA_MM ** 2,
    PRIOR_CALIPER_PERCENT ** 2,
    PRIOR_OFFSET_MM ** 2,
    PRIOR_WAVE_MM ** 2,
    PRIOR_WAVE_MM ** 2,
  ])
  const wanted = [...horizonsS].sort((a, b) => b - a)
  const bounds: Bound[] = []
  let theta = 0
  for (let leftS = rollS; leftS > 0 && wanted.length > 0; leftS -= STEP_S) {
    const leftM = leftS * v
    const diameterM = Math.sqrt(spliceM ** 2 + (4 * caliperM * leftM) / Math.PI)
    const information = Matrix.zeros(5, 5)
    const radPerS = (2 * v) / diameterM
    const turnsPerS = radPerS / (2 * Math.PI)
    // Once per turn only one reading a turn is fresh, and always at the same angle.
    const perS = s.oncePerTurn ? Math.min(1000 / s.periodMs, turnsPerS) : 1000 / s.periodMs
    const count = Math.max(1, Math.round(perS * STEP_S))
    const weight = (perS * STEP_S) / count
    for (let i = 0; i < count; i++) {
      const angle = s.oncePerTurn ? 0 : theta + (radPerS * i * STEP_S) / count
      const row = Matrix.rowVector([spliceM / diameterM, 0, 1, Math.cos(angle), Math.sin(angle)])
      information.add(
        row
          .transpose()
          .mmul(row)
          .mul(weight / r),
      )
    }
    theta += radPerS * STEP_S
    p = inverse(Matrix.add(inverse(p), information))
    while (wanted.length > 0 && leftS - STEP_S < wanted[0]!) {
      const horizonS = wanted.shift()!
      if (horizonS > leftS) continue
      const perMm = 1 / mmPerM
      const gradient = Matrix.rowVector([perMm, -(horizonS * v) / 100, perMm, s.oncePerTurn ? perMm : 0, 0])
      const still = (q * 1e-4 * (horizonS * v) ** 3) / 3
      bounds.push({ horizonS, bM: Math.sqrt(gradient.mmul(p).mmul(gradient.transpose()).get(0, 0) + still) })
    }
    p = step.mmul(p).mmul(step.transpose()).add(noise)
  }
  return bounds
}

export interface TriggerScatter {
  /** Standard deviation of the web at which the cycle begins, m. */
  sdM: number
  /** Mean reading without noise when it begins, mm: above the setting where noise passes first, below by filter and delay. */
  meanReadingMm: number
  /** Web per mm of the reading there, m. */
  mPerMm: number
}

/** First passage of the splicer's filtered reading, by so many runs of the generator's own sensor. */
export function triggerScatter(s: Scenario, runs = 400): TriggerScatter {
  const v = cycleSpeedMps(s)
  const caliperM = s.caliperUm * 1e-6 * (1 + s.caliperOff)
  const mPerMm = (Math.PI * s.spliceMm * 1e-6) / (2 * caliperM)
  const scanS = s.scanMs / 1000
  const pass = s.filterS <= 0 ? 1 : 1 - Math.exp(-scanS / s.filterS)
  const filteredSdMm = s.noiseMm * Math.sqrt(pass / (2 - pass))
  const settleS = 10 * Math.max(s.filterS, scanS)
  const settleM = settleS * v
  const aboveMm = 6 * filteredSdMm + s.outOfRoundMm + s.quantumMm + settleM / mPerMm
  const webs: number[] = []
  const readings: number[] = []
  const random = randomStream(s.seed, 'bound')
  for (let run = 0; run < runs; run++) {
    // The setting is reached by the reading: the true diameter stands lower by the offset.
    const settingM = (s.spliceMm - s.offsetMm) / s.scale / 1000
    const overM = aboveMm * mPerMm + random.even() * 20 * Math.PI * settingM
    const outerM = Math.sqrt(settingM ** 2 + (4 * caliperM * overM) / Math.PI)
    const coreM = 0.8 * settingM
    const lengthM = webBetweenM(outerM, coreM, caliperM)
    const roll = new Roll({ id: '', lengthM, coreM, caliperM, drift: 0 })
    // Any number of turns lies behind: the wave's phase and the once-a-turn report are anywhere.
    roll.take(overM - aboveMm * mPerMm)
    const sensor = new DiameterSensor({ ...s, disturbances: [], seed: s.seed * 10_000 + run }, 'bound')
    let tS = 0
    roll.take(random.even() * scanS * v)
    while (!roll.isEmpty) {
      sensor.scan(roll, tS)
      // The filter starts from one raw reading: what that one does is no passage.
      if (tS >= settleS && sensor.filteredMm <= s.spliceMm) break
      roll.take(v * scanS)
      tS += scanS
    }
    // The delay ends at a scan.
    roll.take(v * scanS * Math.ceil((s.triggerDelayS - 1e-9) / scanS))
    webs.push(overM - roll.takenM)
    readings.push(sensor.expectedMm(roll.diameterM))
  }
  const mean = (values: readonly number[]): number => values.reduce((sum, one) => sum + one, 0) / values.length
  const middle = mean(webs)
  const sdM = Math.sqrt(webs.reduce((sum, one) => sum + (one - middle) ** 2, 0) / (webs.length - 1))
  return { sdM: sdM * s.tachScale, meanReadingMm: mean(readings), mPerMm: mPerMm * s.tachScale }
}
