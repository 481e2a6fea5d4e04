/** The two drives: the line at its set speed, the unwind at what the splicer demands. Speeds m/s, linear ramps. */
import { diameterOverM, type Roll } from './roll.ts'
import { mps, type Scenario, usualWebM } from './scenario.ts'

const towards = (value: number, target: number, most: number): number =>
  value < target ? Math.min(target, value + most) : Math.max(target, value - most)

export class LineDrive {
  /** Without the steps of an indexing web. */
  speedMps: number
  /** A planned slow-down for the splice, or 0 where the line is stopped for one. */
  limitMps = Number.POSITIVE_INFINITY
  readonly #scenario: Scenario
  #heldUntilMs = 0
  #rampMps2: number

  constructor(scenario: Scenario) {
    this.#scenario = scenario
    this.#rampMps2 = scenario.lineRampMps2
    this.speedMps = mps(this.scheduledMpm(0))
  }

  /** What the schedule asks for at a time since the start. */
  scheduledMpm(tS: number): number {
    let speed = this.#scenario.speedMpm
    for (const change of this.#scenario.schedule) if (change.atS <= tS) speed = change.speedMpm
    return speed
  }

  /** Stopped on purpose or by a fault until `untilMs`, with so steep a ramp. */
  holdUntil(untilMs: number, rampMps2: number): void {
    this.#heldUntilMs = untilMs
    this.#rampMps2 = rampMps2
  }

  isHeld(tMs: number): boolean {
    return tMs < this.#heldUntilMs
  }

  setpointMps(tMs: number): number {
    return this.isHeld(tMs) ? 0 : Math.min(this.limitMps, mps(this.scheduledMpm(tMs / 1000)))
  }

  step(tMs: number, dtS: number): void {
    if (!this.isHeld(tMs)) this.#rampMps2 = this.#scenario.lineRampMps2
    this.speedMps = towards(this.speedMps, this.setpointMps(tMs), this.#rampMps2 * dtS)
  }

  /** How fast the web moves at a time: in steps where it is indexed, m/s. */
  webMps(tMs: number): number {
    const { indexing } = this.#scenario
    if (indexing === undefined) return this.speedMps
    const wholeMs = indexing.moveMs + indexing.restMs
    return tMs % wholeMs < indexing.moveMs ? (this.speedMps * wholeMs) / indexing.moveMs : 0
  }
}

export interface UnwindDemand {
  kind: 'follow' | 'stop' | 'start'
  /** Where the carriage is to ride, m of web. */
  storedTargetM: number
  /** Of the overspeed, where the fill is slower than it should be. */
  rateShare?: number
  /** While the line stands after a fault, people jog the buffer up to its target at this speed, m/s. */
  jogMps?: number
}

/** How much faster than usual what drives the unwind brings up this roll: by its moment of inertia. */
function easeOf(s: Scenario, roll: Roll): number {
  if (s.accelerationLimit === 'ramp') return 1
  const coreM = s.coreMm / 1000
  const usualM = diameterOverM(s.spliceMm / 1000, usualWebM(s), s.caliperUm * 1e-6)
  const arm = s.accelerationLimit === 'torque' ? 1 : 2
  const load = (diameterM: number, widthM: number): number =>
    (widthM * ((diameterM / 2) ** 4 - (coreM / 2) ** 4)) / (diameterM / 2) ** arm
  return load(usualM, s.widthsM[0] ?? 1) / load(roll.diameterM, roll.data.widthM ?? 1)
}

/** How fast the carriage is driven home, 1/s; and how fast the trim itself may change, m/s². */
const POSITION_GAIN = 0.5
const TRIM_RATE_MPS2 = 0.5
/** Below this the line stands and the carriage is left where it is, m/s. */
const STANDING_MPS = 0.02

export class UnwindDrive {
  speedMps: number
  readonly #scenario: Scenario
  #trimMps = 0
  /** While stopping and starting for a splice, m/s²; positive is faster. */
  #accelerationMps2 = 0

  constructor(scenario: Scenario, speedMps: number) {
    this.#scenario = scenario
    this.speedMps = speedMps
  }

  step(demand: UnwindDemand, lineMps: number, storedM: number, roll: Roll, fullM: number, dtS: number): void {
    const s = this.#scenario
    // A braked roll is pulled up by the web: the force is given, so the ramp goes with the roll's inertia.
    const inertia = s.unwindDrive === 'braked' ? Math.min(4, (fullM / roll.diameterM) ** 2) : easeOf(s, roll)
    const upMps2 = s.accelerationMps2 * inertia
    const up = upMps2 * dtS
    const down = s.decelerationMps2 * dtS
    if (demand.kind === 'stop') {
      this.#ramp(0, s.decelerationMps2, dtS)
      return
    }
    if (demand.kind === 'start') {
      this.#ramp(lineMps * (1 + s.overspeed), upMps2, dtS)
      this.#trimMps = this.speedMps - lineMps
      return
    }
    this.#accelerationMps2 = 0
    if (lineMps < STANDING_MPS && demand.jogMps !== undefined && storedM < demand.storedTargetM) {
      this.#trimMps = 0
      this.speedMps = Math.min(demand.jogMps, this.speedMps + up)
      return
    }
    const most = (demand.rateShare ?? 1) * s.overspeed * lineMps
    const wanted =
      s.method !== 'zero_speed' || lineMps < STANDING_MPS ? 0 : POSITION_GAIN * (demand.storedTargetM - storedM)
    this.#trimMps = towards(this.#trimMps, Math.max(-most, Math.min(most, wanted)), TRIM_RATE_MPS2 * dtS)
    if (lineMps < STANDING_MPS) this.#trimMps = 0
    const target = Math.max(0, lineMps + this.#trimMps)
    this.speedMps =
      target > this.speedMps ? Math.min(target, this.speedMps + up) : Math.max(target, this.speedMps - down)
  }

  /** Towards a speed with a limited acceleration, which itself takes `jerkS` to build up and to take back. */
  #ramp(targetMps: number, mostMps2: number, dtS: number): void {
    const { jerkS } = this.#scenario
    if (jerkS <= 0) {
      this.speedMps = towards(this.speedMps, targetMps, mostMps2 * dtS)
      return
    }
    const jerk = mostMps2 / jerkS
    const missing = targetMps - this.speedMps
    const way = Math.sign(missing)
    const now = way * this.#accelerationMps2
    // The acceleration must be back at nothing when the target is reached: a²/2j is what taking it back brings.
    const isTakenBack = now > 0 && (now * now) / (2 * jerk) >= Math.abs(missing)
    // At least the last step's worth, so that the target is reached.
    const next = isTakenBack ? Math.max(now - jerk * dtS, jerk * dtS) : Math.min(mostMps2, now + jerk * dtS)
    this.speedMps = towards(this.speedMps, targetMps, ((now + next) / 2) * dtS)
    this.#accelerationMps2 = this.speedMps === targetMps ? 0 : way * next
  }
}
