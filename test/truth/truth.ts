/**
 * What really happened: one record per splice, and one row a second whose countdown is filled in once the cycle that it
 * counts down to has begun. Lengths m of true web unless said; diameters mm; speed m/min.
 */
import type { Cause, Outcome, UnwindState } from '../../edge/columns.ts'
import type { Plant } from './plant.ts'
import { cycleSpeedMps, mps, netWebM, type Scenario } from './scenario.ts'

export interface SpliceTruth {
  roll: number
  startedTMs: number
  transferTMs: number | undefined
  /** The unwind is back at line speed. */
  backTMs: number | undefined
  endedTMs: number | undefined
  outcome: Outcome | undefined
  cause: Cause | undefined
  /** True, and as the sensor reads it without noise. */
  diameterMm: number
  readingMm: number
  speedMpm: number
  stoppedSeconds: number
  webFromBufferM: number | undefined
  bufferLowM: number
  leftOnRollM: number | undefined
  isEarly: boolean
}

export interface TruthRow {
  tMs: number
  state: UnwindState
  speedMpm: number
  diameterMm: number
  readingMm: number
  caliperUm: number
  rollNumber: number
  /** Off the rolls since the start, in metres as the `line_speed` tag integrates them. */
  takenTagM: number
  storedM: number
  /** Usual need of one cycle at this speed (or at the splice speed if lower). */
  neededM: number
  /** Share of the running roll that has run since the recording's start. */
  shareRun: number
  /** Undefined where no cycle follows on this roll that anyone could foresee. */
  metresToSplice: number | undefined
  secondsToSplice: number | undefined
  /** The line kept this speed within 1 % until the cycle. */
  isSteady: boolean
  /** Content at the cycle's start less reserve less need. */
  marginM: number | undefined
}

const SURFACE_STANDS_MPS = 1 / 60
const STANDING_AFTER_MS = 2000

export class TruthRecorder {
  readonly splices: SpliceTruth[] = []
  readonly rows: TruthRow[] = []
  readonly handChangesTMs: number[] = []
  /** Each joint at each station: when it was really there, and what had passed the line then, m. */
  readonly arrivals: { roll: number; stationM: number; tMs: number; passedM: number }[] = []
  readonly #s: Scenario
  #cycle: SpliceTruth | undefined
  #isCycleBack = true
  #fell = 0
  #slowSinceMs: number | undefined
  #waiting: TruthRow[] = []

  constructor(scenario: Scenario) {
    this.#s = scenario
  }

  cycleStarted(plant: Plant): void {
    const startedTMs = this.#s.startTMs + plant.tMs
    this.#cycle = {
      roll: plant.rollNumber,
      startedTMs,
      transferTMs: undefined,
      backTMs: undefined,
      endedTMs: undefined,
      outcome: undefined,
      cause: undefined,
      diameterMm: plant.roll.diameterM * 1000,
      readingMm: plant.sensor.expectedMm(plant.roll.diameterM),
      speedMpm: plant.line.speedMps * 60,
      stoppedSeconds: 0,
      webFromBufferM: undefined,
      bufferLowM: plant.storedM,
      leftOnRollM: undefined,
      isEarly: plant.event?.kind === 'manual_early',
    }
    this.splices.push(this.#cycle)
    this.#isCycleBack = false
    this.#fell = 0
    this.#countDown(plant, startedTMs, this.#cycle.isEarly)
  }

  transferred(plant: Plant): void {
    if (this.#cycle === undefined) return
    this.#cycle.transferTMs = this.#s.startTMs + plant.tMs
    this.#cycle.leftOnRollM = plant.roll.leftM
  }

  backAtSpeed(plant: Plant, isAtSpeed: boolean): void {
    if (this.#cycle === undefined) return
    this.#isCycleBack = true
    if (isAtSpeed) this.#cycle.backTMs = this.#s.startTMs + plant.tMs
    if (isAtSpeed && this.#cycle.cause !== 'cycle_too_slow' && this.#cycle.cause !== 'buffer_empty')
      this.#cycle.webFromBufferM = this.#fell
    if (this.#cycle.transferTMs === undefined && this.#cycle.outcome === undefined) {
      this.#cycle.outcome = 'aborted'
      this.#cycle.cause = 'splicer_fault'
    }
  }

  cycleEnded(plant: Plant): void {
    if (this.#cycle === undefined) return
    this.#cycle.endedTMs = this.#s.startTMs + plant.tMs
    this.#cycle.outcome ??= 'good'
    this.#cycle = undefined
  }

  reachedEnd(plant: Plant): void {
    this.#fail(plant.splicer.stopForS > 1.25 * this.#s.stopS ? 'cycle_too_slow' : 'buffer_empty')
  }

  /** A joint that parts inside the web path fails its splice, even where the buffer is back already. */
  webBroke(): void {
    const last = this.splices.at(-1)
    if (last === undefined || last.outcome === 'failed') return
    last.outcome = 'failed'
    last.cause = 'web_break'
  }

  missed(plant: Plant, cause: Cause): void {
    this.splices.push({
      roll: plant.rollNumber,
      startedTMs: this.#s.startTMs + plant.tMs,
      transferTMs: undefined,
      backTMs: undefined,
      endedTMs: this.#s.startTMs + plant.tMs,
      outcome: 'missed',
      cause,
      diameterMm: plant.roll.diameterM * 1000,
      readingMm: plant.sensor.expectedMm(plant.roll.diameterM),
      speedMpm: plant.line.speedMps * 60,
      stoppedSeconds: 0,
      webFromBufferM: undefined,
      bufferLowM: plant.storedM,
      leftOnRollM: undefined,
      isEarly: false,
    })
    this.#waiting = []
  }

  changedByHand(plant: Plant): void {
    this.handChangesTMs.push(this.#s.startTMs + plant.tMs)
    this.#cycle = undefined
    this.#isCycleBack = true
    this.#waiting = []
  }

  step(plant: Plant): void {
    const cycle = this.#cycle
    if (cycle !== undefined && !this.#isCycleBack) {
      if (plant.unwind.speedMps < SURFACE_STANDS_MPS) cycle.stoppedSeconds += 0.005
      cycle.bufferLowM = Math.min(cycle.bufferLowM, plant.storedM)
      this.#fell += (plant.line.speedMps - plant.unwind.speedMps) * 0.005
    }
    if (plant.line.speedMps >= 1 / 60) this.#slowSinceMs = undefined
    else this.#slowSinceMs ??= plant.tMs
    if (plant.tMs % 1000 === 0) this.#sample(plant)
  }

  #sample(plant: Plant): void {
    const s = this.#s
    const row: TruthRow = {
      tMs: s.startTMs + plant.tMs,
      state: this.#state(plant),
      speedMpm: plant.line.speedMps * 60,
      diameterMm: plant.roll.diameterM * 1000,
      readingMm: plant.sensor.expectedMm(plant.roll.diameterM),
      caliperUm: plant.roll.data.caliperM * 1e6,
      rollNumber: plant.rollNumber,
      takenTagM: plant.takenM * s.tachScale,
      storedM: plant.storedM,
      neededM: netWebM(s, Math.min(plant.line.speedMps, cycleSpeedMps(s))),
      shareRun: plant.roll.takenM / plant.roll.data.lengthM,
      metresToSplice: undefined,
      secondsToSplice: undefined,
      isSteady: false,
      marginM: undefined,
    }
    this.rows.push(row)
    this.#waiting.push(row)
  }

  #state(plant: Plant): UnwindState {
    if (!this.#isCycleBack) return 'splicing'
    if (plant.hasRunOut) return 'no_roll'
    if (this.#slowSinceMs !== undefined && plant.tMs - this.#slowSinceMs >= STANDING_AFTER_MS) return 'standing'
    const { step } = plant.splicer
    return step === 'refilling' ? 'refilling' : step === 'filling' ? 'filling' : 'running'
  }

  /** Fills in what the waiting rows were counting down to. */
  #countDown(plant: Plant, startedTMs: number, isEarly: boolean): void {
    const takenTagM = plant.takenM * this.#s.tachScale
    let isSteady = true
    for (let i = this.#waiting.length - 1; i >= 0; i--) {
      const row = this.#waiting[i]!
      if (row.rollNumber !== plant.rollNumber) break
      isSteady &&= Math.abs(row.speedMpm - this.#s.speedMpm) <= 0.01 * this.#s.speedMpm
      row.isSteady = isSteady
      if (isEarly) continue
      row.metresToSplice = takenTagM - row.takenTagM
      row.secondsToSplice = (startedTMs - row.tMs) / 1000
      row.marginM =
        plant.storedM - this.#s.reserveM - netWebM(this.#s, Math.min(mps(row.speedMpm), cycleSpeedMps(this.#s)))
    }
    this.#waiting = []
  }

  #fail(cause: Cause): void {
    if (this.#cycle === undefined || this.#cycle.outcome !== undefined) return
    this.#cycle.outcome = 'failed'
    this.#cycle.cause = cause
  }
}
