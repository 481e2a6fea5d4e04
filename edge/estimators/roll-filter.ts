/**
 * The running roll as an extended Kalman filter over the web taken off it. Pure, O(1).
 *
 * State x = [Y, t, b, c, s]: Y what the sensor would say without noise and wave (m), t effective caliper (m), b offset of the
 * reading (m), so that the web on its core measures D = Y − b, c and s the cosine and sine parts of a once-per-turn wave (m).
 *
 *   taking ds of web:   D² ← D² − 4·t·ds/π,  dt = random walk with intensity q (m² per m of web)
 *   reading:            Y + c·cos θ + s·sin θ + noise,  dθ = 2·ds/D
 *
 * The first is area against length, A = πD²/4, dA = −t·ds (handbook relation L = π(D² − d²)/(4t)). A state of A instead of Y
 * would need 2/(πD) in the reading's row; its every change with the estimate would tell apart what no reading can, area and
 * offset, and the offset would be believed long before anything is known of it. So the reading is linear and the web is not.
 * The filter equations are those of any textbook (e.g. Grewal & Andrews, Kalman Filtering, ch. 4 and 8, from memory), the
 * update in Joseph's form. Valid for 0 < t ≪ D and readings averaged over less than one change of slope.
 */
const N = 5
const Y = 0
const T = 1
const B = 2
const C = 3
const S = 4

export interface RollPrior {
  /** Outside of the core, m: what is inside is no web. Without it the roll counts as web to its middle. */
  coreM?: number
  caliperM: number
  caliperSdM: number
  offsetM: number
  offsetSdM: number
  /** Covariance of caliper and offset, m². */
  covM2?: number
}

/**
 * Standard deviation of either part of an unknown wave, m: most rolls are round within 1 mm, one that lay on its side is
 * out by 5 mm and more (common practice, no source). A prior for round rolls alone would read a third of the bad ones.
 */
const WAVE_SD_M = 2e-3
/**
 * What a caliper walks over a whole roll (one sd): 1 % usually, 3 % at times (common practice, no source). Less took a drift
 * for an offset of the sensor, more made the interval too wide on ordinary rolls (bench).
 */
const DRIFT_SHARE_PER_ROLL = 0.0125
/** A roll that is begun near its core is the rest of a longer one, m. */
const LEAST_ROLL_M = 50
/** Wander of the wave per turn, as a share of its size: the layers differ and the phase is dead reckoned. */
const WAVE_WANDER_SHARE = 0.02
const WAVE_WANDER_FLOOR_M = 1e-5
/** A wave less sure than this many of its standard deviations is none. */
const WAVE_SURE_SDS = 3
/** However long it was not seen, a wave is no farther off than this (one sd), m. */
const WAVE_MOST_SD_M = 4e-3
/** No roll is thinner, m. */
const LEAST_DIAMETER_M = 0.02
/** No roll has more web, m: a length beyond it is a counter gone mad. */
const MOST_WEB_M = 1e6
/** No step of web makes an error of the diameter grow by more than this. */
const MOST_GROWTH = 10
/** A caliper outside these multiples of the prior is no caliper. */
const CALIPER_MIN_SHARE = 0.3
const CALIPER_MAX_SHARE = 3

export interface RollFilterState {
  x: number[]
  p: number[]
  driftPerM: number
  priorCaliperM: number
  thetaRad: number
}

/** A reading, or the mean of several, with what it says about the wave. */
export interface DiameterReading {
  /** 1: of diameter and wave (if absent, too); 0: of the wave alone. */
  level?: number
  diameterM: number
  cos: number
  sin: number
  varianceM2: number
}

export interface Remaining {
  /** Web from here to the trigger, m of line. */
  metres: number
  /** Its variance from this state alone, m². */
  varianceM2: number
  /** Derivative of the metres by the trigger's diameter, m per m. */
  perTriggerM: number
  /** Derivative of the metres by the reading now, m per m. */
  perReadingM: number
}

export class RollFilter {
  readonly #x: Float64Array
  readonly #p: Float64Array
  #driftPerM: number
  readonly #priorCaliperM: number
  thetaRad = 0

  /** Starts from a first reading, and from what is known of its roll and its sensor. */
  constructor(prior: RollPrior, first: DiameterReading) {
    const trueM = Math.max(first.diameterM - prior.offsetM, LEAST_DIAMETER_M)
    this.#priorCaliperM = prior.caliperM
    this.#x = Float64Array.of(trueM + prior.offsetM, prior.caliperM, prior.offsetM, 0, 0)
    this.#p = new Float64Array(N * N)
    const vW = WAVE_SD_M ** 2
    const p = this.#p
    p[Y * N + Y] = first.varianceM2 + vW * (first.cos ** 2 + first.sin ** 2)
    p[T * N + T] = prior.caliperSdM ** 2
    p[T * N + B] = p[B * N + T] = prior.covM2 ?? 0
    p[B * N + B] = prior.offsetSdM ** 2
    p[C * N + C] = vW
    p[S * N + S] = vW
    p[Y * N + C] = p[C * N + Y] = -vW * first.cos
    p[Y * N + S] = p[S * N + Y] = -vW * first.sin
    const rollM = ((Math.PI / 4) * (trueM ** 2 - (prior.coreM ?? 0) ** 2)) / prior.caliperM
    this.#driftPerM = (DRIFT_SHARE_PER_ROLL * prior.caliperM) ** 2 / Math.max(rollM, LEAST_ROLL_M)
  }

  get caliperM(): number {
    return this.#x[T]!
  }

  get caliperSdM(): number {
    return Math.sqrt(this.#p[T * N + T]!)
  }

  get offsetM(): number {
    return this.#x[B]!
  }

  get offsetSdM(): number {
    return Math.sqrt(this.#p[B * N + B]!)
  }

  /** Covariance of caliper and offset, m². */
  get covM2(): number {
    return this.#p[T * N + B]!
  }

  /** Diameter of the web on its core, without the sensor's offset, m. */
  get trueDiameterM(): number {
    return Math.max(LEAST_DIAMETER_M, this.#x[Y]! - this.#x[B]!)
  }

  /** What the sensor would say now without noise and wave, m. */
  get diameterM(): number {
    return this.#x[Y]!
  }

  get waveAmplitudeM(): number {
    return Math.hypot(this.#x[C]!, this.#x[S]!)
  }

  /** Of the amplitude a = √(c² + s²), first order in the covariance; of an amplitude that is not there, of either part. */
  get waveAmplitudeSdM(): number {
    const [c, s] = [this.#x[C]!, this.#x[S]!]
    const [cc, ss, cs] = [this.#p[C * N + C]!, this.#p[S * N + S]!, this.#p[C * N + S]!]
    const power = c * c + s * s
    const variance = power > 0 ? (c * c * cc + s * s * ss + 2 * c * s * cs) / power : (cc + ss) / 2
    return Math.sqrt(Math.max(0, variance))
  }

  /** Amplitude of a wave that is surely there, m; else 0. */
  get sureWaveM(): number {
    return this.waveAmplitudeM > WAVE_SURE_SDS * this.waveAmplitudeSdM ? this.waveAmplitudeM : 0
  }

  /** Web was taken, m (negative where it was given back), with the uncertainty of that length. */
  take(lengthM: number, lengthSdM = 0): void {
    const webM = Math.max(-MOST_WEB_M, Math.min(MOST_WEB_M, lengthM))
    const webSdM = Math.min(MOST_WEB_M, lengthSdM)
    const x = this.#x
    const p = this.#p
    const beforeM = this.trueDiameterM
    const square = beforeM ** 2 - (4 * x[T]! * webM) / Math.PI
    const isEmpty = square <= LEAST_DIAMETER_M ** 2
    const afterM = isEmpty ? LEAST_DIAMETER_M : Math.sqrt(square)
    x[Y] = x[B]! + afterM
    // P ← F P Fᵀ: D_after = √(D² − 4·t·ds/π) has the derivatives D/D_after by D and −2·ds/(π·D_after) by t, and D = Y − b.
    const byY = isEmpty ? 1 : Math.min(MOST_GROWTH, beforeM / afterM)
    const byT = isEmpty ? 0 : (-2 * webM) / (Math.PI * afterM)
    const byB = 1 - byY
    for (let j = 0; j < N; j += 1) p[Y * N + j] = byY * p[Y * N + j]! + byT * p[T * N + j]! + byB * p[B * N + j]!
    for (let i = 0; i < N; i += 1) p[i * N + Y] = byY * p[i * N + Y]! + byT * p[i * N + T]! + byB * p[i * N + B]!
    const length = Math.abs(webM)
    const q = this.#driftPerM
    const perArea = 2 / (Math.PI * afterM)
    p[Y * N + Y] = p[Y * N + Y]! + perArea ** 2 * ((q * length ** 3) / 3 + (x[T]! * webSdM) ** 2)
    p[Y * N + T] = p[Y * N + T]! - (perArea * q * length ** 2 * Math.sign(webM)) / 2
    p[T * N + Y] = p[Y * N + T]!
    p[T * N + T] = p[T * N + T]! + q * length
    // Turns of a spiral: the mean of both diameters is exact.
    const diameterM = (beforeM + afterM) / 2
    const turns = length / (Math.PI * diameterM)
    const wander = turns * Math.max(WAVE_WANDER_FLOOR_M, WAVE_WANDER_SHARE * this.waveAmplitudeM) ** 2
    // Web of unknown length turned the roll by an unknown angle: a phase error moves the whole amplitude.
    const slip = (Math.min(1, (2 * webSdM) / diameterM) * this.waveAmplitudeM) ** 2
    for (const i of [C, S]) {
      const known = p[i * N + i]!
      p[i * N + i] = known + Math.min(wander + slip, Math.max(0, WAVE_MOST_SD_M ** 2 - known))
    }
    this.thetaRad = (this.thetaRad + (2 * webM) / diameterM) % (2 * Math.PI)
  }

  /** Reading that the filter expects, m, and its variance from the state alone, m². */
  expect(cos: number, sin: number, level = 1): { diameterM: number; varianceM2: number } {
    const p = this.#p
    // h·P·hᵀ with h = [level, 0, 0, cos, sin].
    const variance =
      level * (p[Y * N + Y]! * level + p[Y * N + C]! * cos + p[Y * N + S]! * sin) +
      cos * (p[C * N + Y]! * level + p[C * N + C]! * cos + p[C * N + S]! * sin) +
      sin * (p[S * N + Y]! * level + p[S * N + C]! * cos + p[S * N + S]! * sin)
    return {
      diameterM: level * this.diameterM + this.#x[C]! * cos + this.#x[S]! * sin,
      varianceM2: Math.max(0, variance),
    }
  }

  /** @returns the innovation squared over its expected variance: 1 on average where the noise is rightly known. */
  update(reading: DiameterReading): number {
    const h = [reading.level ?? 1, 0, 0, reading.cos, reading.sin]
    const p = this.#p
    const ph = new Float64Array(N)
    for (let i = 0; i < N; i += 1) for (let j = 0; j < N; j += 1) ph[i] = ph[i]! + p[i * N + j]! * h[j]!
    let innovationVariance = reading.varianceM2
    for (let i = 0; i < N; i += 1) innovationVariance += h[i]! * ph[i]!
    const innovation = reading.diameterM - this.expect(reading.cos, reading.sin, reading.level).diameterM
    const gain = ph.map((value) => value / innovationVariance)
    for (let i = 0; i < N; i += 1) this.#x[i] = this.#x[i]! + gain[i]! * innovation
    // Joseph's form stays symmetric and positive whatever the rounding: P ← (I − K h) P (I − K h)ᵀ + K r Kᵀ.
    const left = new Float64Array(N * N)
    for (let i = 0; i < N; i += 1) for (let j = 0; j < N; j += 1) left[i * N + j] = p[i * N + j]! - gain[i]! * ph[j]!
    const next = new Float64Array(N * N)
    for (let i = 0; i < N; i += 1) {
      let lh = 0
      for (let k = 0; k < N; k += 1) lh += left[i * N + k]! * h[k]!
      for (let j = 0; j < N; j += 1) {
        next[i * N + j] = left[i * N + j]! - lh * gain[j]! + reading.varianceM2 * gain[i]! * gain[j]!
      }
    }
    for (let i = 0; i < N; i += 1) {
      for (let j = 0; j < N; j += 1) p[i * N + j] = (next[i * N + j]! + next[j * N + i]!) / 2
    }
    this.#x[T] = Math.min(
      CALIPER_MAX_SHARE * this.#priorCaliperM,
      Math.max(CALIPER_MIN_SHARE * this.#priorCaliperM, this.#x[T]!),
    )
    this.#x[Y] = Math.max(this.#x[B]! + LEAST_DIAMETER_M, this.#x[Y]!)
    return innovation ** 2 / innovationVariance
  }

  /**
   * Web until the reading (without noise) is at the trigger: R = π((Y − b)² − (D_s − b)²)/(4t), with the drift of the caliper
   * still to come: its random walk over R adds q·R³/3 to the area.
   */
  remaining(triggerM: number): Remaining {
    const caliper = this.#x[T]!
    const now = this.trueDiameterM
    const trigger = Math.max(0, triggerM - this.#x[B]!)
    const metres = ((Math.PI / 4) * (now ** 2 - trigger ** 2)) / caliper
    const perDiameter = Math.PI / 2 / caliper
    const gradient = [perDiameter * now, -metres / caliper, perDiameter * (trigger - now)]
    let variance = (this.#driftPerM * Math.abs(metres) ** 3) / 3 / caliper ** 2
    for (let i = 0; i < 3; i += 1) {
      for (let j = 0; j < 3; j += 1) variance += gradient[i]! * this.#p[i * N + j]! * gradient[j]!
    }
    return { metres, varianceM2: Math.max(0, variance), perTriggerM: -perDiameter * trigger, perReadingM: gradient[0]! }
  }

  snapshot(): RollFilterState {
    return {
      x: [...this.#x],
      p: [...this.#p],
      driftPerM: this.#driftPerM,
      priorCaliperM: this.#priorCaliperM,
      thetaRad: this.thetaRad,
    }
  }

  /** The same state, to go on from without touching this one. */
  copy(): RollFilter {
    return RollFilter.#from(this.#x, this.#p, this.#driftPerM, this.#priorCaliperM, this.thetaRad)
  }

  static restore({ x, p, driftPerM, priorCaliperM, thetaRad }: RollFilterState): RollFilter {
    return RollFilter.#from(x, p, driftPerM, priorCaliperM, thetaRad)
  }

  static #from(
    x: ArrayLike<number>,
    p: ArrayLike<number>,
    driftPerM: number,
    caliperM: number,
    thetaRad: number,
  ): RollFilter {
    const fresh = new RollFilter(
      { caliperM, caliperSdM: 0, offsetM: 0, offsetSdM: 0 },
      { diameterM: 1, cos: 0, sin: 0, varianceM2: 0 },
    )
    fresh.#x.set(x)
    fresh.#p.set(p)
    fresh.#driftPerM = driftPerM
    fresh.thetaRad = thetaRad
    return fresh
  }
}
