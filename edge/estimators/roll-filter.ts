/**
 * The running roll as an extended Kalman filter over the web taken off it. Pure, O(1).
 *
 * State x = [Y, t, b, c, s, g]: Y what the sensor would say without noise and wave (m), t effective caliper (m), b offset of the
 * reading (m), so that the web on its core measures D = Y − b, c and s the cosine and sine parts of a once-per-turn wave (m),
 * g what the caliper rises by per metre of web taken (m per m): a drift from the outside to the core.
 *
 *   taking ds of web:   D² ← D² − 4·(t·ds + g·ds²/2)/π,  t ← t + g·ds and a random walk with intensity q (m² per m of web)
 *   reading:            Y + c·cos θ + s·sin θ + noise,  dθ = 2·ds/D
 *
 * The first is area against length, A = πD²/4, dA = −t·ds (handbook relation L = π(D² − d²)/(4t)). A state of A instead of Y
 * would need 2/(πD) in the reading's row; its every change with the estimate would tell apart what no reading can, area and
 * offset, and the offset would be believed long before anything is known of it. So the reading is linear and the web is not.
 * The filter equations are those of any textbook (e.g. Grewal & Andrews, Kalman Filtering, ch. 4 and 8, from memory), the
 * update in Joseph's form. Valid for 0 < t ≪ D and readings averaged over less than one change of slope.
 */
const N = 6
const Y = 0
const T = 1
const B = 2
const C = 3
const S = 4
const G = 5

export interface RollPrior {
  /** Outside of the core, m: what is inside is no web. Without it the roll counts as web to its middle. */
  coreM?: number
  caliperM: number
  caliperSdM: number
  offsetM: number
  offsetSdM: number
  /** What the caliper rises by from the outside to the core, m. */
  slopeM?: number
  slopeSdM?: number
  /** Covariances, m². */
  covM2?: RollCovariances
  /** Web of the whole roll, m, where what is seen first is no more than the rest of it. */
  rollM?: number
}

/** Of caliper, offset and the caliper's rise over a roll, m². */
export interface RollCovariances {
  caliperOffset: number
  caliperSlope: number
  offsetSlope: number
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
/** No caliper rises or falls by more than this share over a roll. */
const MOST_SLOPE_SHARE = 0.15
/** What is foreseen of a caliper is at least this share of what it is now. */
const LEAST_LATER_SHARE = 0.5

export interface RollFilterState {
  x: number[]
  p: number[]
  driftPerM: number
  priorCaliperM: number
  /** Web of the whole roll, and what was taken of it since the start, m. */
  rollM: number
  takenM: number
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

/** What a roll said: its caliper at the outside, the reading's offset, the caliper's rise over the roll (m); covariances (m²). */
export interface RollLesson extends RollCovariances {
  caliperM: number
  offsetM: number
  slopeM: number
  caliperVarM2: number
  offsetVarM2: number
  slopeVarM2: number
}

export class RollFilter {
  readonly #x: number[]
  readonly #p: number[]
  readonly #driftPerM: number
  readonly #priorCaliperM: number
  readonly #rollM: number
  #takenM: number
  thetaRad: number

  private constructor(state: RollFilterState) {
    this.#x = state.x
    this.#p = state.p
    this.#driftPerM = state.driftPerM
    this.#priorCaliperM = state.priorCaliperM
    this.#rollM = state.rollM
    this.#takenM = state.takenM
    this.thetaRad = state.thetaRad
  }

  /** Starts from a first reading, and from what is known of its roll and its sensor. */
  static begin(prior: RollPrior, first: DiameterReading): RollFilter {
    const trueM = Math.max(first.diameterM - prior.offsetM, LEAST_DIAMETER_M)
    const seenM = ((Math.PI / 4) * (trueM ** 2 - (prior.coreM ?? 0) ** 2)) / prior.caliperM
    const rollM = Math.max(prior.rollM ?? seenM, LEAST_ROLL_M)
    const vW = WAVE_SD_M ** 2
    const p = new Array<number>(N * N).fill(0)
    const set = (i: number, j: number, value: number): void => {
      p[i * N + j] = p[j * N + i] = value
    }
    set(Y, Y, first.varianceM2 + vW * (first.cos ** 2 + first.sin ** 2))
    set(T, T, prior.caliperSdM ** 2)
    set(B, B, prior.offsetSdM ** 2)
    set(G, G, ((prior.slopeSdM ?? 0) / rollM) ** 2)
    set(T, B, prior.covM2?.caliperOffset ?? 0)
    set(T, G, (prior.covM2?.caliperSlope ?? 0) / rollM)
    set(B, G, (prior.covM2?.offsetSlope ?? 0) / rollM)
    set(C, C, vW)
    set(S, S, vW)
    set(Y, C, -vW * first.cos)
    set(Y, S, -vW * first.sin)
    return new RollFilter({
      x: [trueM + prior.offsetM, prior.caliperM, prior.offsetM, 0, 0, (prior.slopeM ?? 0) / rollM],
      p,
      driftPerM: (DRIFT_SHARE_PER_ROLL * prior.caliperM) ** 2 / rollM,
      priorCaliperM: prior.caliperM,
      rollM,
      takenM: 0,
      thetaRad: 0,
    })
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

  get rollM(): number {
    return this.#rollM
  }

  /**
   * What this roll says of its caliper at its outside t₀ = t − g·s (s the web taken), its offset and its caliper's rise over
   * the roll, all m: by the filter's own state and covariance.
   */
  get lesson(): RollLesson {
    const [x, p, takenM, rollM] = [this.#x, this.#p, this.#takenM, this.#rollM]
    const [tg, gg, bg] = [p[T * N + G]!, p[G * N + G]!, p[B * N + G]!]
    return {
      caliperM: x[T]! - takenM * x[G]!,
      offsetM: x[B]!,
      slopeM: rollM * x[G]!,
      caliperVarM2: p[T * N + T]! - 2 * takenM * tg + takenM ** 2 * gg,
      offsetVarM2: p[B * N + B]!,
      slopeVarM2: rollM ** 2 * gg,
      caliperOffset: p[T * N + B]! - takenM * bg,
      caliperSlope: rollM * (tg - takenM * gg),
      offsetSlope: rollM * bg,
    }
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
    const square = beforeM ** 2 - (4 * (x[T]! + (x[G]! * webM) / 2) * webM) / Math.PI
    const isEmpty = square <= LEAST_DIAMETER_M ** 2
    const afterM = isEmpty ? LEAST_DIAMETER_M : Math.sqrt(square)
    x[Y] = x[B]! + afterM
    this.#takenM += webM
    // P ← F P Fᵀ: D_after = √(D² − 4·(t·ds + g·ds²/2)/π) has the derivatives D/D_after by D, −2·ds/(π·D_after) by t and ds/2
    // of that by g; D = Y − b, and t grows by g·ds.
    const byY = isEmpty ? 1 : Math.min(MOST_GROWTH, beforeM / afterM)
    const byT = isEmpty ? 0 : (-2 * webM) / (Math.PI * afterM)
    const byB = 1 - byY
    const byG = (byT * webM) / 2
    for (let j = 0; j < N; j += 1) {
      const slope = p[G * N + j]!
      p[Y * N + j] = byY * p[Y * N + j]! + byT * p[T * N + j]! + byB * p[B * N + j]! + byG * slope
      p[T * N + j] = p[T * N + j]! + webM * slope
    }
    for (let i = 0; i < N; i += 1) {
      const slope = p[i * N + G]!
      p[i * N + Y] = byY * p[i * N + Y]! + byT * p[i * N + T]! + byB * p[i * N + B]! + byG * slope
      p[i * N + T] = p[i * N + T]! + webM * slope
    }
    const length = Math.abs(webM)
    const q = this.#driftPerM
    const perArea = 2 / (Math.PI * afterM)
    p[Y * N + Y] = p[Y * N + Y]! + perArea ** 2 * ((q * length ** 3) / 3 + (x[T]! * webSdM) ** 2)
    p[Y * N + T] = p[Y * N + T]! - (perArea * q * length ** 2 * Math.sign(webM)) / 2
    p[T * N + Y] = p[Y * N + T]!
    p[T * N + T] = p[T * N + T]! + q * length
    x[T] = this.#plausible(x[T]! + x[G]! * webM)
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

  #plausible(caliperM: number): number {
    return Math.min(
      CALIPER_MAX_SHARE * this.#priorCaliperM,
      Math.max(CALIPER_MIN_SHARE * this.#priorCaliperM, caliperM),
    )
  }

  /** @returns the innovation squared over its expected variance: 1 on average where the noise is rightly known. */
  update(reading: DiameterReading): number {
    const { cos, sin, varianceM2 } = reading
    const level = reading.level ?? 1
    const x = this.#x
    const p = this.#p
    // P·hᵀ with h = [level, 0, 0, cos, sin, 0].
    const ph: number[] = []
    for (let i = 0; i < N; i += 1) {
      ph.push(level * p[i * N + Y]! + cos * p[i * N + C]! + sin * p[i * N + S]!)
    }
    const innovationVariance = varianceM2 + level * ph[Y]! + cos * ph[C]! + sin * ph[S]!
    const innovation = reading.diameterM - (level * x[Y]! + cos * x[C]! + sin * x[S]!)
    const gain = ph.map((value) => value / innovationVariance)
    for (let i = 0; i < N; i += 1) x[i] = x[i]! + gain[i]! * innovation
    // Joseph's form stays symmetric and positive whatever the rounding: P ← (I − K h) P (I − K h)ᵀ + K r Kᵀ, with
    // (I − K h) P = P − K·(P hᵀ)ᵀ and that times hᵀ, to be taken off once more, (1 − K h)·P hᵀ.
    const left = 1 - (level * gain[Y]! + cos * gain[C]! + sin * gain[S]!)
    for (let i = 0; i < N; i += 1) {
      for (let j = i; j < N; j += 1) {
        p[i * N + j] = p[j * N + i] = p[i * N + j]! - (1 + left) * gain[i]! * ph[j]! + varianceM2 * gain[i]! * gain[j]!
      }
    }
    const mostSlope = (MOST_SLOPE_SHARE * this.#priorCaliperM) / this.#rollM
    x[G] = Math.min(mostSlope, Math.max(-mostSlope, x[G]!))
    x[T] = this.#plausible(x[T]!)
    x[Y] = Math.max(x[B]! + LEAST_DIAMETER_M, x[Y]!)
    return innovation ** 2 / innovationVariance
  }

  /**
   * Web until the reading (without noise) is at the trigger: the area a = π((Y − b)² − (D_s − b)²)/4 is t·R + g·R²/2, so
   * R = 2a/(t + t_s) with the caliper there t_s = √(t² + 2·g·a), and dR is da/t_s, −R·dt/t_s and −R²·dg/(2·t_s). The random walk
   * still to come adds q·R³/3 to the area.
   */
  remaining(triggerM: number): Remaining {
    const caliper = this.#x[T]!
    const now = this.trueDiameterM
    const trigger = Math.max(0, triggerM - this.#x[B]!)
    const area = (Math.PI / 4) * (now ** 2 - trigger ** 2)
    const later = Math.sqrt(Math.max((LEAST_LATER_SHARE * caliper) ** 2, caliper ** 2 + 2 * this.#x[G]! * area))
    const metres = (2 * area) / (caliper + later)
    const perDiameter = Math.PI / 2 / later
    const byT = -metres / later
    const gradient = [perDiameter * now, byT, perDiameter * (trigger - now), 0, 0, (byT * metres) / 2]
    let variance = (this.#driftPerM * Math.abs(metres) ** 3) / 3 / later ** 2
    for (let i = 0; i < N; i += 1) {
      for (let j = 0; j < N; j += 1) variance += gradient[i]! * this.#p[i * N + j]! * gradient[j]!
    }
    return { metres, varianceM2: Math.max(0, variance), perTriggerM: -perDiameter * trigger, perReadingM: gradient[0]! }
  }

  snapshot(): RollFilterState {
    return {
      x: this.#x.slice(),
      p: this.#p.slice(),
      driftPerM: this.#driftPerM,
      priorCaliperM: this.#priorCaliperM,
      rollM: this.#rollM,
      takenM: this.#takenM,
      thetaRad: this.thetaRad,
    }
  }

  /** The same state, to go on from without touching this one. */
  copy(): RollFilter {
    return new RollFilter(this.snapshot())
  }

  static restore(state: RollFilterState): RollFilter {
    return new RollFilter({ ...state, x: state.x.slice(), p: state.p.slice() })
  }
}
