/**
 * One unwind, integrated in steps of 5 ms: line, unwind, roll, buffer, sensor, splicer and what goes wrong.
 * Trapezoids are exact for linear ramps, so lengths err only by the step in which a ramp begins or ends.
 */
import { LineDrive, type UnwindDemand, UnwindDrive } from './drives.ts'
import { type Random, randomStream } from './random.ts'
import { Roll, webBetweenM } from './roll.ts'
import { capacityM, cycleSpeedMps, type Scenario, type SpliceEvent, usualWebM } from './scenario.ts'
import { type Computing, DiameterSensor } from './sensor.ts'
import { Splicer } from './splicer.ts'
import type { TruthRecorder } from './truth.ts'

export const STEP_MS = 5
const STEP_S = STEP_MS / 1000
/** How far the web runs after the transfer until a bad joint parts, m; web left when people stop the line for a roll that was not ready, m. */
const PARTS_AFTER_M = 25
const STOP_BEFORE_END_M = 8
/** Slower than this the PLC computes no diameter, m/s. */
const COMPUTED_ABOVE_MPS = 0.02
/** A label's length is off by so much; a sensor sees the end so far ahead, and scatters, m; a person presses so near, mm. */
const LENGTH_OFF_SHARE = 0.003
const END_SEEN_M = 25
const END_SCATTER_M = 0.5
const PRESSED_MM = 6
const SPINDLES = ['A', 'B'] as const
export type Spindle = (typeof SPINDLES)[number]

/** Where the caliper's random walk has its corners, counted over a roll. */
const WALK_STEPS = 32

function randomWalk(share: number, random: Random): number[] {
  const walk = [0]
  for (let i = 0; i < WALK_STEPS; i++) walk.push(walk[i]! + (share * random.normal()) / Math.sqrt(WALK_STEPS))
  // The mean stays, so that the web ends at the core: trapezoids between the corners.
  const mean = (walk.reduce((sum, one) => sum + one, 0) - (walk[0]! + walk[WALK_STEPS]!) / 2) / WALK_STEPS
  return walk.map((one) => one - mean)
}

export class Plant {
  readonly scenario: Scenario
  readonly line: LineDrive
  readonly unwind: UnwindDrive
  readonly splicer: Splicer
  readonly sensors: Record<Spindle, DiameterSensor>
  readonly rolls: Record<Spindle, Roll>
  spindle: Spindle = 'A'
  /** ms since the scenario's start. */
  tMs = 0
  /** Rolls that have run before this one. */
  rollNumber = 0
  storedM: number
  /** Totals since the start, m: off the rolls, through the line. */
  takenM = 0
  passedM = 0
  isBroken = false
  /** The running roll's web has ended. */
  hasRunOut = false
  /** When a joint last passed the first station. */
  jointSeenAtMs = Number.NEGATIVE_INFINITY
  /** Each joint: web off the rolls when it was made, and web through the line when it has left the festoon, m. */
  readonly transfers: { takenM: number; linePassedM: number }[] = []
  readonly #truth: TruthRecorder
  readonly #random: Random
  readonly #preparing: Random
  readonly #triggering: Random
  /** Web left on the running roll at which its splice starts, where the diameter does not start it, m. */
  #startsAtM: number
  readonly #capacityM: number
  #fullDiameterM: number
  #readyAtMs: number
  #breakAtM = Number.POSITIVE_INFINITY
  #changeAtMs: number | undefined
  #joints: { roll: number; stationM: number; atPassedM: number }[] = []
  #handChanges: number[]
  #reloadAtMs = Number.POSITIVE_INFINITY
  #transferAtMs = Number.NEGATIVE_INFINITY

  constructor(scenario: Scenario, truth: TruthRecorder) {
    const s = scenario
    this.scenario = s
    this.#truth = truth
    this.#random = randomStream(s.seed, 'rolls')
    this.#preparing = randomStream(s.seed, 'preparation')
    this.#triggering = randomStream(s.seed, 'trigger')
    this.#capacityM = capacityM(s)
    this.line = new LineDrive(s)
    this.unwind = new UnwindDrive(s, this.line.speedMps)
    this.splicer = new Splicer(s)
    this.sensors = { A: new DiameterSensor(s, 'sensor A'), B: new DiameterSensor(s, 'sensor B') }
    this.rolls = { A: this.#newRoll('A', 0), B: this.#newRoll('B', 1) }
    this.#fullDiameterM = this.rolls.B.diameterM
    this.#startsAtM = this.#nextStartM()
    this.rolls.A.take((1 - s.firstRoll) * this.#usableWebM(0))
    this.storedM = this.#capacityM * (s.bufferMode === 'rides_full' ? s.fillShare : s.runningShare)
    this.#readyAtMs = this.#event('no_new_roll') ? Number.POSITIVE_INFINITY : s.preparationS * 500
    this.#handChanges = s.handChangesS.map((atS) => atS * 1000)
  }

  get roll(): Roll {
    return this.rolls[this.spindle]
  }
  get otherSpindle(): Spindle {
    return this.spindle === 'A' ? 'B' : 'A'
  }
  get sensor(): DiameterSensor {
    return this.sensors[this.spindle]
  }
  get isReady(): boolean {
    return this.tMs >= this.#readyAtMs
  }
  get event(): SpliceEvent | undefined {
    const { events } = this.scenario
    return events.length === 0 ? undefined : events.find((one) => one.roll === this.rollNumber)
  }
  get fullDiameterM(): number {
    return this.#fullDiameterM
  }
  get capacityM(): number {
    return this.#capacityM
  }

  step(): void {
    if (this.tMs % this.scenario.scanMs === 0) this.#scan()
    this.#move()
    this.tMs += STEP_MS
    this.#guard()
    this.#truth.step(this)
    if (this.#joints.length === 0) return
    this.#joints = this.#joints.filter(({ roll, stationM, atPassedM }) => {
      if (this.passedM < atPassedM) return true
      const tMs = this.scenario.startTMs + this.tMs
      this.#truth.arrivals.push({ roll, stationM, tMs, passedM: this.passedM })
      if (stationM === this.scenario.stationsM[0]) this.jointSeenAtMs = this.tMs
      return false
    })
  }

  #scan(): void {
    const tS = this.tMs / 1000
    this.sensor.scan(this.roll, tS, this.#isBlind, this.#computing())
    this.sensors[this.otherSpindle].scan(this.rolls[this.otherSpindle], tS)
    if (this.hasRunOut) return
    this.splicer.scan(
      {
        tMs: this.tMs,
        readingMm: this.sensor.filteredMm,
        toStartM: this.scenario.trigger === 'diameter' ? undefined : this.roll.leftM - this.#startsAtM,
        isReady: this.isReady,
        lineMps: this.line.speedMps,
        unwindMps: this.unwind.speedMps,
        storedM: this.storedM,
        event: this.event,
      },
      this.rollNumber,
      (command) => {
        if (command === 'slow_line') this.line.limitMps = cycleSpeedMps(this.scenario)
        else if (command === 'stop_line') this.line.limitMps = 0
        else if (command === 'release_line') this.line.limitMps = Number.POSITIVE_INFINITY
        else if (command === 'cycle_started') this.#truth.cycleStarted(this)
        else if (command === 'transfer') this.#transfer()
        else if (command === 'back_at_speed' || command === 'line_stopped')
          this.#truth.backAtSpeed(this, command === 'back_at_speed')
        else this.#truth.cycleEnded(this)
      },
    )
  }

  get #isBlind(): boolean {
    return this.tMs < this.#transferAtMs + this.scenario.blindS * 1000
  }

  /** What a PLC that computes the diameter has at hand. */
  #computing(): Computing | undefined {
    if (this.scenario.diameterBy === 'sensor') return undefined
    const { step } = this.splicer
    return {
      linePerUnwind: this.unwind.speedMps > COMPUTED_ABOVE_MPS ? this.line.speedMps / this.unwind.speedMps : undefined,
      isFrozen: this.scenario.freezes && step !== 'idle',
    }
  }

  #move(): void {
    const webBefore = this.line.webMps(this.tMs)
    const unwindBefore = this.unwind.speedMps
    this.line.step(this.tMs, STEP_S)
    const roll = this.roll
    if (this.hasRunOut) this.unwind.speedMps = 0
    else this.unwind.step(this.#demand(), this.line.speedMps, this.storedM, roll, this.#fullDiameterM, STEP_S)
    const came = roll.take(((unwindBefore + this.unwind.speedMps) / 2) * STEP_S)
    let went = ((webBefore + this.line.webMps(this.tMs + STEP_MS)) / 2) * STEP_S
    if (this.scenario.method !== 'zero_speed') {
      // Without a buffer the line takes what the roll gives.
      went = came
    } else if (this.storedM + came - went < 0) {
      // The carriage is at its end: the web itself holds the line back.
      went = this.storedM + came
      this.line.speedMps = Math.min(this.line.speedMps, this.unwind.speedMps)
    }
    this.takenM += came
    this.passedM += went
    if (this.scenario.method === 'zero_speed') this.storedM += came - went
  }

  #demand(): UnwindDemand {
    const demand = this.splicer.demand()
    if (this.#event('slow_fill') && this.splicer.step === 'filling') demand.rateShare = 0.25
    if (demand.kind === 'follow' && this.line.isHeld(this.tMs))
      demand.jogMps = this.#capacityM / (0.5 * this.scenario.repairS)
    return demand
  }

  /** Trip, run-out, broken web, hand changes, reloading. */
  #guard(): void {
    const s = this.scenario
    const isStanding = this.line.speedMps < 1 / 60
    if (s.method === 'zero_speed' && this.storedM < s.tripShare * this.#capacityM && !this.line.isHeld(this.tMs)) {
      if (this.splicer.isActive || this.splicer.step === 'refilling') {
        this.#truth.reachedEnd(this)
        this.#halt(s.tripRampMps2)
      }
    }
    if (this.passedM >= this.#breakAtM) {
      this.#breakAtM = Number.POSITIVE_INFINITY
      this.isBroken = true
      this.#truth.webBroke()
      this.#halt(s.tripRampMps2)
    }
    if (this.isBroken && !this.line.isHeld(this.tMs + s.repairS * 250)) this.isBroken = false
    if (this.roll.isEmpty && !this.hasRunOut) {
      this.hasRunOut = true
      this.#truth.missed(this, this.isReady ? 'ran_out' : 'no_new_roll')
      this.#halt(s.tripRampMps2)
      this.#changeAtMs = this.tMs + s.repairS * 700
    }
    const stopWebM = this.line.speedMps ** 2 / (2 * s.lineRampMps2) + STOP_BEFORE_END_M
    if (this.#changeAtMs === undefined && this.#event('no_new_roll') && this.roll.leftM < stopWebM && !isStanding) {
      this.#truth.missed(this, 'no_new_roll')
      this.#halt(s.lineRampMps2)
      this.#changeAtMs = this.tMs + s.repairS * 700
    }
    const nextChange = this.#handChanges[0]
    if (nextChange !== undefined && this.tMs >= nextChange) {
      this.#handChanges = this.#handChanges.slice(1)
      if (isStanding) this.#changeAtMs = this.tMs
    }
    if (this.#changeAtMs !== undefined && this.tMs >= this.#changeAtMs && isStanding) this.#changeByHand()
    if (this.tMs >= this.#reloadAtMs) {
      this.#reloadAtMs = Number.POSITIVE_INFINITY
      this.rolls[this.otherSpindle] = this.#newRoll(this.otherSpindle, this.rollNumber + 1)
      this.#fullDiameterM = this.rolls[this.otherSpindle].diameterM
    }
  }

  #halt(rampMps2: number): void {
    this.line.holdUntil(this.tMs + this.scenario.repairS * 1000, rampMps2)
  }

  #transfer(): void {
    this.#truth.transferred(this)
    this.#transferAtMs = this.tMs
    this.transfers.push({ takenM: this.takenM, linePassedM: this.passedM + this.storedM })
    // What lies between splicer and station at the transfer has to pass the station before the joint does.
    for (const stationM of this.scenario.stationsM) {
      this.#joints.push({ roll: this.rollNumber, stationM, atPassedM: this.passedM + this.storedM + stationM })
    }
    const breaks = this.#event('web_break')
    this.spindle = this.otherSpindle
    if (this.roll.takenM > 0)
      throw new Error('the waiting spindle carries a used roll: preparation is longer than the roll')
    if (breaks) this.#breakAtM = this.passedM + PARTS_AFTER_M
    this.#nextRoll()
  }

  #nextRoll(): void {
    this.rollNumber++
    this.#startsAtM = this.#nextStartM()
    const { preparationS, preparationScatter } = this.scenario
    const ms = Math.max(10, preparationS * (1 + preparationScatter * this.#preparing.normal())) * 1000
    this.#readyAtMs = this.#event('no_new_roll') ? Number.POSITIVE_INFINITY : this.tMs + ms
    this.#reloadAtMs = this.tMs + 0.7 * ms
  }

  /** A new roll on the same spindle, while the line stands. */
  #changeByHand(): void {
    this.#changeAtMs = undefined
    this.hasRunOut = false
    this.rolls[this.spindle] = this.#newRoll(this.spindle, this.rollNumber + 1)
    this.#truth.changedByHand(this)
    this.rollNumber++
    this.splicer.reset(this.tMs)
    if (this.#event('no_new_roll')) this.#readyAtMs = Number.POSITIVE_INFINITY
    else if (this.#readyAtMs === Number.POSITIVE_INFINITY)
      this.#readyAtMs = this.tMs + this.scenario.preparationS * 1000
  }

  #nextStartM(): number {
    const s = this.scenario
    const off = this.#triggering.normal()
    if (s.trigger === 'length') return this.#stubWebM() + LENGTH_OFF_SHARE * this.roll.data.lengthM * off
    if (s.trigger === 'end_sensor') return END_SEEN_M + END_SCATTER_M * off
    const pressedM = (s.spliceMm + PRESSED_MM * off) / 1000
    return webBetweenM(Math.max(pressedM, s.coreMm / 1000 + 0.01), s.coreMm / 1000, s.caliperUm * 1e-6)
  }

  #event(kind: SpliceEvent['kind']): boolean {
    return this.event?.kind === kind
  }

  /** Web of the roll with this number from full to the splice diameter, m. */
  #usableWebM(number: number): number {
    const s = this.scenario
    return usualWebM(s, s.rollsS[number])
  }

  #stubWebM(): number {
    const s = this.scenario
    return webBetweenM(s.spliceMm / 1000, s.coreMm / 1000, s.caliperUm * 1e-6)
  }

  #newRoll(spindle: Spindle, number: number): Roll {
    const s = this.scenario
    const caliperM = s.caliperUm * 1e-6 * (1 + s.caliperOff) * (1 + s.caliperScatter * this.#random.normal())
    return new Roll({
      id: `R${String(number + 1).padStart(4, '0')}${spindle}`,
      lengthM: this.#usableWebM(number) + this.#stubWebM(),
      coreM: s.coreMm / 1000,
      caliperM,
      ...(s.widthsM.length === 0 ? {} : { widthM: s.widthsM[number % s.widthsM.length]! }),
      drift: s.caliperDrift,
      wander: randomWalk(s.caliperWander, this.#random),
    })
  }
}
