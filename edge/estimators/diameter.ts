/**
 * From reports of the diameter to the state of the running roll: batches, trust in the sensor, first start and new start.
 * Pure, O(1).
 *
 * Reports are gathered for up to one second (batch.ts) before they go to the filter: what is left of a sensor's correlated
 * noise and of its steps then counts once. The noise is learned from the scatter within a batch and scaled by how well the
 * filter's forecasts come true. A reading that departs from the forecast is held back and watched: an arm in the beam
 * passes, a roll change or a wrong model stays.
 */
import { addToBatch, type Batch, type BatchReading, openBatch, sumUp } from './batch.ts'
import { ComputedDiameter, type SpeedShare } from './computed-diameter.ts'
import { type Deviation, deviate } from './deviation.ts'
import { FallingOnly, type FallingState } from './falling.ts'
import { RollFilter, type RollFilterState, type RollPrior } from './roll-filter.ts'

/** Length of a batch, s. */
const BATCH_MS = 1000
/** First guess of one reading's noise, m, until it was seen (trade notes: 0.3 to 5 mm). */
const NOISE_START_M = 0.8e-3
const NOISE_FLOOR_M = 0.02e-3
/** Steps of a reading are rarely coarser, m; the finest seen replaces it. */
const RESOLUTION_START_M = 1e-3
const RESOLUTION_FLOOR_M = 0.05e-3
/** A reading may depart from the forecast by so many standard deviations, and by so much in any case, m. */
const GATE_SDS = 6
const GATE_FLOOR_M = 2e-3
/** The diameter should have moved by so many steps of the reading before it counts as stuck (and by 1.5 turns: some report once a turn). */
const STUCK_STEPS = 4
const STUCK_TURNS = 1.5
/** Between two reports of a slowly polled tag nothing can change: so many of its periods have to pass, too. */
const STUCK_PERIODS = 3
/** A computed diameter that was put right by both speeds is no better than the tachs agree, share (trade notes: 1 % off). */
const CORRECTED_SD_SHARE = 0.01
/** Without readings the state follows the web at least so often, m: what a reading is held against is straight over no more. */
const FOLLOW_M = 2
/** Learning rate of the noise's scale, after a faster start. */
const SCALE_RATE = 0.03
const SCALE_MIN = 0.15
const SCALE_MAX = 60
/** A reading below this is no roll to reckon angles by, m. */
const MIN_DIAMETER_M = 1e-2

interface DiameterBatch extends Batch {
  /** Put right by the speeds that had spoilt it. */
  isCorrected: boolean
}

export interface DiameterState {
  filter: RollFilterState | null
  webM: number
  batch: DiameterBatch | null
  noiseVar: number
  noiseSeen: number
  scale: number
  resolutionM: number
  lastReadingM: number | null
  lastChangeWebM: number
  lastChangeMs: number
  lastSeenMs: number
  computed: number
  falling: FallingState
  isMisled: boolean
  isAnchored: boolean
  deviation: Deviation | null
  isStuck: boolean
}

/** Fall of the diameter with web taken, m per m. */
const fallPerM = (filter: RollFilter): number => (2 * filter.caliperM) / (Math.PI * filter.trueDiameterM)

export class DiameterEstimator {
  #filter: RollFilter | undefined
  /** Web taken off the roll at which the filter's state stands, m. */
  #webM = 0
  #batch: DiameterBatch | undefined
  #noiseVar = NOISE_START_M ** 2
  #noiseSeen = 0
  #scale = 1
  #resolutionM = RESOLUTION_START_M
  #lastReadingM: number | undefined
  #lastChangeWebM = 0
  #lastChangeMs = 0
  #lastSeenMs = 0
  readonly #computed = new ComputedDiameter()
  readonly #falling = new FallingOnly()
  /** The newest reading is the line speed's doing and was left out. */
  #isMisled = false
  /** The roll was seen while line and unwind ran alike: what it says can be held against one that they part from. */
  #isAnchored = false
  #deviation: Deviation | undefined
  #isStuck = false
  /** The state ahead of the filter's, at the web for which it was asked last: several ask for the same. */
  #ahead: { webM: number; filter: RollFilter } | undefined

  get filter(): RollFilter | undefined {
    return this.#filter
  }

  /** Standard deviation of one reading, m. */
  get noiseM(): number {
    return Math.max(NOISE_FLOOR_M, Math.sqrt(this.#noiseVar))
  }

  get resolutionM(): number {
    return this.#resolutionM
  }

  get deviation(): Deviation | undefined {
    return this.#deviation
  }

  /** When the reading last changed, ms. */
  get lastChangeTMs(): number {
    return this.#lastChangeMs
  }

  get isMisled(): boolean {
    return this.#isMisled
  }

  get isStuck(): boolean {
    return this.#isStuck
  }

  /** Forgets the roll, not what was learned of the sensor. The next batch starts a new one. */
  newRoll(): void {
    this.#filter = undefined
    this.#ahead = undefined
    this.#isMisled = false
    this.#isAnchored = false
    this.#batch = undefined
    this.#deviation = undefined
    this.#isStuck = false
  }

  /**
   * One reading.
   * @param webM - web taken off the roll at the reading's own time, m.
   * @param mayUse - false where the reading is known to mislead: it is watched, not used.
   * @param speeds - line against unwind: where they part a computed diameter lies.
   */
  reading(readingM: number, tMs: number, webM: number, mayUse: boolean, speeds: SpeedShare): void {
    const lastSeenMs = this.#isStuck ? this.#lastChangeMs : this.#lastSeenMs
    this.#watchSteps(readingM, tMs, webM)
    this.#lastSeenMs = tMs
    if (this.#isStuck) return
    // The ratio lags what it has spoilt: as it begins to move, what was put right by it is not.
    if (this.#batch?.isCorrected === true && !speeds.isSteady) this.#batch = undefined
    const filter = this.#filter
    let theta = (2 * (webM - (this.#batch?.startWebM ?? webM))) / Math.max(MIN_DIAMETER_M, readingM)
    let levelM = readingM
    if (filter !== undefined) {
      const aheadM = webM - this.#webM
      const aheadD = -fallPerM(filter) * aheadM
      theta = filter.thetaRad + (2 * aheadM) / (filter.trueDiameterM + aheadD / 2)
      levelM = readingM - aheadD
      const expected = filter.expect(Math.cos(theta), Math.sin(theta))
      const byM = levelM - expected.diameterM
      // A wave whose phase slipped is off by twice its amplitude and has to find its way back.
      const gate =
        Math.max(GATE_FLOOR_M, GATE_SDS * Math.sqrt(this.#noiseVar + expected.varianceM2)) + 2 * filter.sureWaveM
      const isOff = !(Math.abs(byM) <= gate)
      const expectedM = readingM - byM
      if (this.#isAnchored) this.#computed.judge(readingM, expectedM, gate, speeds)
      this.#isMisled = this.#misleads(readingM, expectedM, isOff, speeds)
      if (this.#isMisled) {
        this.#deviation = undefined
        return
      }
      if (isOff) {
        this.#deviation = deviate(this.#deviation, readingM, byM, tMs, webM, lastSeenMs)
        return
      }
      this.#deviation = undefined
      if (mayUse && !speeds.isApart) this.#isAnchored = true
    }
    if (!mayUse) return
    const one: BatchReading = { readingM, levelM, webM, cos: Math.cos(theta), sin: Math.sin(theta) }
    this.#begin(one, tMs, speeds)
  }

  /** No roll can have the reading that came: the sensor sees nothing, or a program divides by a spindle that stands. */
  noteNothing(speeds: SpeedShare): void {
    this.#computed.noteNothing(speeds)
  }

  /** The line's speed has spoilt a computed diameter, or may have: what is known to come from a sensor is never held back. */
  #misleads(readingM: number, expectedM: number, isOff: boolean, speeds: SpeedShare): boolean {
    if (!speeds.isApart || this.#computed.isSensor) return false
    return this.#computed.explains(readingM, expectedM, speeds) && (isOff || this.#computed.isComputed)
  }

  /**
   * Of a roll that is not known yet a computed diameter is put right by the speeds that spoilt it; what may be one waits
   * until line and unwind run alike.
   */
  #begin(one: BatchReading, tMs: number, speeds: SpeedShare): void {
    if (this.#filter !== undefined || !speeds.isApart || this.#computed.isSensor) this.#collect(one, tMs, false)
    else if (this.#computed.isComputed && speeds.isSteady) {
      const rightM = one.readingM / speeds.mean
      this.#collect({ ...one, readingM: rightM, levelM: rightM }, tMs, true)
    }
  }

  #watchSteps(readingM: number, tMs: number, webM: number): void {
    const last = this.#lastReadingM
    if (last === undefined || readingM !== last) {
      if (last !== undefined) {
        this.#falling.note(readingM - last)
        const step = Math.abs(readingM - last)
        if (step < this.#resolutionM) this.#resolutionM = Math.max(RESOLUTION_FLOOR_M, step)
      }
      this.#lastReadingM = readingM
      this.#lastChangeWebM = webM
      this.#lastChangeMs = tMs
      this.#isStuck = false
    }
  }

  #collect(one: BatchReading, tMs: number, isCorrected: boolean): void {
    const batch = this.#batch
    if (batch === undefined || batch.isCorrected !== isCorrected) {
      this.#batch = { ...openBatch(tMs, one.webM, one), isCorrected }
    } else addToBatch(batch, one)
  }

  /**
   * Once per step: gives the filter a batch that is full.
   * @param periodS - usual time between two reports, s; infinite while the source is silent: that is no stuck sensor.
   * @returns true where a roll was begun.
   */
  step(tMs: number, webM: number, periodS: number, prior: () => RollPrior): boolean {
    const filter = this.#filter
    const unchangedMs = tMs - this.#lastChangeMs
    if (filter !== undefined && !this.#isStuck && unchangedMs > STUCK_PERIODS * 1000 * periodS) {
      const movedM = ((webM - this.#lastChangeWebM) * 2 * filter.caliperM) / (Math.PI * filter.trueDiameterM)
      const turns = (webM - this.#lastChangeWebM) / (Math.PI * filter.trueDiameterM)
      const stepM = Math.max(this.#resolutionM, this.noiseM / 4, this.#falling.stepM)
      if (movedM > STUCK_STEPS * stepM && turns > STUCK_TURNS) {
        this.#isStuck = true
        this.#batch = undefined
        this.#deviation = undefined
      }
    }
    const batch = this.#batch
    if (batch === undefined && filter !== undefined && webM - this.#webM > FOLLOW_M) {
      filter.take(webM - this.#webM)
      this.#webM = webM
      this.#ahead = undefined
    }
    if (batch === undefined || tMs - batch.startMs < BATCH_MS) return false
    this.#batch = undefined
    this.#ahead = undefined
    const meanWebM = batch.webM / batch.n
    const { rows, residualM2 } = sumUp(batch)
    if (!batch.isCorrected) this.#learnNoise(residualM2)
    const oneM2 = this.#readingVariance(batch)
    const [mean, ...wave] = rows.map((row) => ({ ...row, varianceM2: row.varianceM2 * oneM2 }))
    if (filter === undefined) {
      this.#filter = RollFilter.begin(prior(), mean!)
      this.#filter.thetaRad = (2 * (meanWebM - batch.startWebM)) / this.#filter.trueDiameterM
      this.#webM = meanWebM
      this.#lastChangeWebM = webM
      return true
    }
    const fallM = fallPerM(filter) * (meanWebM - this.#webM)
    filter.take(meanWebM - this.#webM)
    this.#webM = meanWebM
    mean!.diameterM -= fallM
    const known = filter.expect(mean!.cos, mean!.sin).varianceM2
    const ratio = filter.update(mean!)
    for (const row of wave) filter.update(row)
    // Only where the forecast is sharper than the reading does a miss speak of the reading's noise.
    if (known < mean!.varianceM2 && !batch.isCorrected) {
      const factor = 1 + SCALE_RATE * (Math.min(9, ratio) - 1)
      this.#scale = Math.min(SCALE_MAX, Math.max(SCALE_MIN, this.#scale * factor))
    }
    return false
  }

  #learnNoise(residualM2: number | undefined): void {
    if (residualM2 === undefined) return
    const seen = Math.max(residualM2, this.#resolutionM ** 2 / 12)
    this.#noiseSeen = Math.min(this.#noiseSeen + 1, 60)
    this.#noiseVar += (Math.min(seen, this.#noiseVar * 25) - this.#noiseVar) / this.#noiseSeen
  }

  /** Of one reading of a batch, m²: what was not independent counts once. */
  #readingVariance(batch: DiameterBatch): number {
    // What was put right errs as a whole: no number of readings makes it better.
    if (batch.isCorrected) return batch.n * (CORRECTED_SD_SHARE * batch.lastM) ** 2
    const perIndependent = batch.n / Math.max(1, batch.distinct)
    const noise = Math.max(this.#noiseVar, NOISE_FLOOR_M ** 2) * perIndependent + this.#resolutionM ** 2 / 12
    return this.#scale * noise + batch.n * NOISE_FLOOR_M ** 2
  }

  /** The web taken has an uncertainty of its own, after a gap, m. */
  blur(webSdM: number): void {
    this.#filter?.take(0, webSdM)
    this.#ahead = undefined
    this.#batch = undefined
    this.#lastChangeWebM = this.#webM
  }

  /** The roll's state at a web length near the present, without touching the estimate. */
  at(webM: number): RollFilter | undefined {
    if (this.#filter === undefined) return undefined
    const aheadM = webM - this.#webM
    if (aheadM === 0) return this.#filter
    if (this.#ahead?.webM === webM) return this.#ahead.filter
    const filter = this.#filter.copy()
    filter.take(aheadM)
    this.#ahead = { webM, filter }
    return filter
  }

  snapshot(): DiameterState {
    return {
      filter: this.#filter?.snapshot() ?? null,
      webM: this.#webM,
      batch: this.#batch === undefined ? null : { ...this.#batch },
      noiseVar: this.#noiseVar,
      noiseSeen: this.#noiseSeen,
      scale: this.#scale,
      resolutionM: this.#resolutionM,
      lastReadingM: this.#lastReadingM ?? null,
      lastChangeWebM: this.#lastChangeWebM,
      lastChangeMs: this.#lastChangeMs,
      lastSeenMs: this.#lastSeenMs,
      computed: this.#computed.snapshot(),
      falling: this.#falling.snapshot(),
      isMisled: this.#isMisled,
      isAnchored: this.#isAnchored,
      deviation: this.#deviation === undefined ? null : { ...this.#deviation },
      isStuck: this.#isStuck,
    }
  }

  restore(state: DiameterState): void {
    this.#ahead = undefined
    this.#filter = state.filter === null ? undefined : RollFilter.restore(state.filter)
    this.#webM = state.webM
    this.#batch = state.batch === null ? undefined : { ...state.batch }
    this.#noiseVar = state.noiseVar
    this.#noiseSeen = state.noiseSeen
    this.#scale = state.scale
    this.#resolutionM = state.resolutionM
    this.#lastReadingM = state.lastReadingM ?? undefined
    this.#lastChangeWebM = state.lastChangeWebM
    this.#lastChangeMs = state.lastChangeMs
    this.#lastSeenMs = state.lastSeenMs
    this.#computed.restore(state.computed)
    this.#falling.restore(state.falling)
    this.#isMisled = state.isMisled
    this.#isAnchored = state.isAnchored
    this.#deviation = state.deviation === null ? undefined : { ...state.deviation }
    this.#isStuck = state.isStuck
  }
}
