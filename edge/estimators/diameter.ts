/**
 * From reports of the diameter to the state of the running roll: batches, trust in the sensor, first start and new start.
 * Pure, O(1).
 *
 * Reports are averaged over up to one second before they go to the filter: what is left of a sensor's correlated noise
 * and of its steps then counts once. The noise is learned from the scatter within a batch and scaled by how well the
 * filter's forecasts come true. A reading that departs from the forecast is held back and watched: an arm in the beam
 * passes, a roll change or a wrong model stays.
 */
import { type DiameterReading, RollFilter, type RollFilterState, type RollPrior } from './roll-filter.ts'

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
/** Learning rate of the noise's scale, after a faster start. */
const SCALE_RATE = 0.03
const SCALE_MIN = 0.15
const SCALE_MAX = 60

export interface Deviation {
  sinceTMs: number
  /** Mean of the deviating readings, m. */
  meanM: number
  /** Reading less forecast, m. */
  byM: number
  count: number
}

interface Batch {
  startMs: number
  n: number
  distinct: number
  sumD: number
  sumCos: number
  sumSin: number
  sumWebM: number
  sumDiff2: number
  diffs: number
  lastD: number
}

export interface DiameterState {
  filter: RollFilterState | null
  webM: number
  batch: Batch | null
  noiseVar: number
  noiseSeen: number
  scale: number
  resolutionM: number
  lastReadingM: number | null
  lastChangeWebM: number
  lastChangeMs: number
  deviation: Deviation | null
  isStuck: boolean
}

export class DiameterEstimator {
  #filter: RollFilter | undefined
  /** Web taken off the roll at which the filter's state stands, m. */
  #webM = 0
  #batch: Batch | undefined
  #noiseVar = NOISE_START_M ** 2
  #noiseSeen = 0
  #scale = 1
  #resolutionM = RESOLUTION_START_M
  #lastReadingM: number | undefined
  #lastChangeWebM = 0
  #lastChangeMs = 0
  #deviation: Deviation | undefined
  #isStuck = false

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

  get isStuck(): boolean {
    return this.#isStuck
  }

  /** Forgets the roll, not what was learned of the sensor. The next batch starts a new one. */
  newRoll(): void {
    this.#filter = undefined
    this.#batch = undefined
    this.#deviation = undefined
    this.#isStuck = false
  }

  /**
   * One reading.
   * @param webM - web taken off the roll at the reading's own time, m.
   * @param mayUse - false where the reading is known to mislead: it is watched, not used.
   */
  reading(readingM: number, tMs: number, webM: number, mayUse: boolean): void {
    this.#watchSteps(readingM, tMs, webM)
    const filter = this.#filter
    let cos = 0
    let sin = 0
    if (filter !== undefined) {
      const aheadM = webM - this.#webM
      const theta = filter.thetaRad + (2 * aheadM) / filter.trueDiameterM
      cos = Math.cos(theta)
      sin = Math.sin(theta)
      const expected = filter.expect(cos, sin)
      const aheadD = -(2 * filter.caliperM * aheadM) / (Math.PI * filter.trueDiameterM)
      const byM = readingM - expected.diameterM - aheadD
      const gate = Math.max(GATE_FLOOR_M, GATE_SDS * Math.sqrt(this.#noiseVar + expected.varianceM2))
      if (Math.abs(byM) > gate) {
        this.#deviate(readingM, byM, tMs)
        return
      }
      this.#deviation = undefined
    }
    if (this.#isStuck || !mayUse) return
    this.#collect(readingM, tMs, webM, cos, sin)
  }

  #watchSteps(readingM: number, tMs: number, webM: number): void {
    const last = this.#lastReadingM
    if (last === undefined || readingM !== last) {
      if (last !== undefined) {
        const step = Math.abs(readingM - last)
        if (step < this.#resolutionM) this.#resolutionM = Math.max(RESOLUTION_FLOOR_M, step)
      }
      this.#lastReadingM = readingM
      this.#lastChangeWebM = webM
      this.#lastChangeMs = tMs
      this.#isStuck = false
    }
  }

  #deviate(readingM: number, byM: number, tMs: number): void {
    const before = this.#deviation
    if (before === undefined || Math.sign(before.byM) !== Math.sign(byM)) {
      this.#deviation = { sinceTMs: tMs, meanM: readingM, byM, count: 1 }
      return
    }
    const weight = 1 / Math.min(before.count + 1, 10)
    this.#deviation = {
      sinceTMs: before.sinceTMs,
      meanM: before.meanM + (readingM - before.meanM) * weight,
      byM,
      count: before.count + 1,
    }
  }

  #collect(readingM: number, tMs: number, webM: number, cos: number, sin: number): void {
    const batch = this.#batch
    if (batch === undefined) {
      this.#batch = {
        startMs: tMs,
        n: 1,
        distinct: 1,
        sumD: readingM,
        sumCos: cos,
        sumSin: sin,
        sumWebM: webM,
        sumDiff2: 0,
        diffs: 0,
        lastD: readingM,
      }
      return
    }
    batch.n += 1
    batch.sumD += readingM
    batch.sumCos += cos
    batch.sumSin += sin
    batch.sumWebM += webM
    batch.diffs += 1
    batch.sumDiff2 += (readingM - batch.lastD) ** 2
    if (readingM !== batch.lastD) batch.distinct += 1
    batch.lastD = readingM
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
      const stepM = Math.max(this.#resolutionM, this.noiseM / 4)
      if (movedM > STUCK_STEPS * stepM && turns > STUCK_TURNS) {
        this.#isStuck = true
        this.#batch = undefined
      }
    }
    const batch = this.#batch
    if (batch === undefined || tMs - batch.startMs < BATCH_MS) return false
    this.#batch = undefined
    const meanWebM = batch.sumWebM / batch.n
    this.#learnNoise(batch)
    const reading: DiameterReading = {
      diameterM: batch.sumD / batch.n,
      cos: batch.sumCos / batch.n,
      sin: batch.sumSin / batch.n,
      varianceM2: this.#batchVariance(batch),
    }
    if (filter === undefined) {
      // The phase of the wave counts from here: its whole cosine part is in this first reading.
      this.#filter = new RollFilter(prior(), { ...reading, cos: 1, sin: 0 })
      this.#webM = meanWebM
      this.#lastChangeWebM = webM
      return true
    }
    filter.take(meanWebM - this.#webM)
    this.#webM = meanWebM
    const known = filter.expect(reading.cos, reading.sin).varianceM2
    const ratio = filter.update(reading)
    // Only where the forecast is sharper than the reading does a miss speak of the reading's noise.
    if (known < reading.varianceM2) {
      const factor = 1 + SCALE_RATE * (Math.min(9, ratio) - 1)
      this.#scale = Math.min(SCALE_MAX, Math.max(SCALE_MIN, this.#scale * factor))
    }
    return false
  }

  #learnNoise(batch: Batch): void {
    if (batch.diffs < 3) return
    // Successive differences: free of the fall of the diameter within the batch (von Neumann's estimate, σ² = mean Δ²/2).
    const seen = Math.max(batch.sumDiff2 / batch.diffs / 2, this.#resolutionM ** 2 / 12)
    this.#noiseSeen = Math.min(this.#noiseSeen + 1, 60)
    this.#noiseVar += (Math.min(seen, this.#noiseVar * 25) - this.#noiseVar) / this.#noiseSeen
  }

  #batchVariance(batch: Batch): number {
    const steps = this.#resolutionM ** 2 / 12 / batch.n
    const independent = Math.max(1, batch.distinct)
    return this.#scale * (Math.max(this.#noiseVar, NOISE_FLOOR_M ** 2) / independent + steps) + NOISE_FLOOR_M ** 2
  }

  /** The web taken has an uncertainty of its own, after a gap, m. */
  blur(webSdM: number): void {
    this.#filter?.take(0, webSdM)
    this.#batch = undefined
    this.#lastChangeWebM = this.#webM
  }

  /** The roll's state at a web length near the present, without touching the estimate. */
  at(webM: number): RollFilter | undefined {
    if (this.#filter === undefined) return undefined
    const ahead = webM - this.#webM
    if (ahead === 0) return this.#filter
    const copy = RollFilter.restore(this.#filter.snapshot())
    copy.take(ahead)
    return copy
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
      deviation: this.#deviation === undefined ? null : { ...this.#deviation },
      isStuck: this.#isStuck,
    }
  }

  restore(state: DiameterState): void {
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
    this.#deviation = state.deviation === null ? undefined : { ...state.deviation }
    this.#isStuck = state.isStuck
  }
}
