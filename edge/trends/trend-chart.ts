/**
 * One chart of one metric: what it usually is at that speed, roll, side and material is learned splice by splice, and what is
 * left is watched for slow drift (EWMA) and for a sudden step (CUSUM). Pure, O(1) a splice.
 *
 * Every splice is judged before it is learned, so its residual is independent of the earlier ones and both charts have
 * their published run lengths, the baseline's own uncertainty included. The limits below were set by simulation
 * (`npm run bench:trends`): over all charts of a splicer together less than one false call in 1000 splices.
 */
import { scatter } from '../estimators/statistics.ts'
import { copyOf } from '../plain-data.ts'
import { cusum, ewma, ewmaDeviation, normalOfStudent } from './control-charts.ts'
import { type FitState, type Innovation, type Prior, RecursiveFit } from './recursive-fit.ts'
import { countSplice, isBySetting, type SinceSetting, settingChanged } from './since-setting.ts'

/** Weight of the newest splice: a memory of 50, for drifts that take a hundred splices. */
const LAMBDA = 0.02
/** Drift is called beyond so many standard deviations of the EWMA. */
const EWMA_LIMIT = { close: 3.0, usual: 4.2 } as const
/** For a step of twice this many standard deviations; and the height at which it is called. */
const CUSUM_ALLOWANCE = 0.75
const CUSUM_LIMIT = 8
/** A trend is over when its EWMA is back within one standard deviation. */
const ENDED_AT = 1
/** Splices from which the noise is first known. */
const FIRST_NOISE = 30
/** Splices before anything is called: below it the slopes on speed and roll are not yet told from drift. */
export const FIRST_CALL = 60
/** A residual counts at most so many standard deviations: one bad reading is no trend. */
const CLIP = 3
/** Mean of min(z², CLIP²) of a standard normal (closed form, 1 − 2(CLIP·φ(CLIP) − (CLIP²−1)·Φ(−CLIP))). */
const CLIPPED_VARIANCE = 0.99497
/** A splice whose expectation is less sure than this, in variances of the noise, only teaches. */
const SURE_VARIANCE = 3
/** The noise's memory, splices. */
const LONGEST_MEMORY = 1000
/** Further materials that have a level of their own; the one not seen for longest leaves. */
const MOST_MATERIALS = 5

/**
 * In variances of the noise (5 % of the value): nothing is known of the level; sides differ by some 50 %, materials by some
 * 25 %; exponents on speed and roll lie within ± 2. The level wanders as if it had a memory of 1000 splices.
 */
const PRIOR: Prior = {
  varianceOf: (column) => {
    if (column === LEVEL) return 1e6
    if (column.startsWith('side:')) return 100
    return column.startsWith('material:') ? 25 : 1600
  },
  wander: 1e-6,
}
const LEVEL = 'level'

/** What else the metric hangs on, for one splice. */
export interface Circumstances {
  side: string
  material: string
  speedMps: number | undefined
  rollM: number | undefined
}

export interface TrendCall {
  kind: 'drift' | 'step'
  /** Which way the metric goes. */
  way: 'up' | 'down'
  /** When it was called, and when the drift began as far as can be told. */
  tMs: number
  sinceTMs: number
  /** Splices from then until the call. */
  splices: number
  /** How far from the usual, as charted (a difference of logarithms, or in the metric's unit). */
  shift: number
}

interface Watch {
  ewma: number
  cusum: number
  /** Since when the EWMA has been above 0 without a break, and how many splices. */
  sinceTMs: number
  splices: number
}

/** What would stand if nobody had seen to the splicer the last time. */
interface Unserviced {
  up: Watch
  down: Watch
  recent: number
  call: TrendCall | null
}

/** Plain data. */
export interface TrendChartState {
  fit: FitState
  seen: number
  noiseVariance: number | null
  noiseCount: number
  early: number[]
  centre: { speed: number | null; roll: number | null }
  side: string | null
  materials: string[]
  up: Watch
  down: Watch
  recent: number
  call: TrendCall | null
  /** Goes on beside, as that service may be taken back; null where there was none, or a level was learned anew since. */
  unserviced: Unserviced | null
  /** The newest change of a setting, and what came since. */
  since: SinceSetting | null
}

/** What the chart says of one splice. */
export interface Charted {
  /** At the usual speed, roll, side and material; as charted. */
  adjusted: number
  /** Standard deviations from the usual; undefined while that is not known. */
  deviation: number | undefined
  /** News only. */
  called: TrendCall | undefined
  ended: boolean
  /** A step that a setting made, in the place of a call: what was set, and the level before and since, as charted. */
  bySetting: { signals: string[]; usual: number; newest: number } | undefined
}

const idle = (): Watch => ({ ewma: 0, cusum: 0, sinceTMs: 0, splices: 0 })
const atRest = (): Unserviced => ({ up: idle(), down: idle(), recent: 0, call: null })
const recentOf = (before: number, off: number): number => ewma(before, off, 0.1)
/** A trend that goes this way is over. */
const isBack = (watch: Watch): boolean => watch.ewma <= ENDED_AT * ewmaDeviation(LAMBDA)

export class TrendChart {
  readonly #worse: 'up' | 'down' | 'both'
  readonly #ewmaLimit: number
  readonly #fit = new RecursiveFit(PRIOR)
  #s: Omit<TrendChartState, 'fit'>

  constructor(worse: 'up' | 'down' | 'both', watched: keyof typeof EWMA_LIMIT) {
    this.#worse = worse
    this.#ewmaLimit = EWMA_LIMIT[watched] * ewmaDeviation(LAMBDA)
    this.#s = {
      seen: 0,
      noiseVariance: null,
      noiseCount: 0,
      early: [],
      centre: { speed: null, roll: null },
      side: null,
      materials: [],
      up: idle(),
      down: idle(),
      recent: 0,
      call: null,
      unserviced: null,
      since: null,
    }
  }

  /** The trend that stands. */
  get call(): TrendCall | undefined {
    return this.#s.call ?? undefined
  }

  /** Splices that it has learned from. */
  get seen(): number {
    return this.#s.seen
  }

  /** True once a drift could be called. */
  get isWatching(): boolean {
    return this.#s.noiseVariance !== null && this.#s.seen >= FIRST_CALL
  }

  /** Usual level and standard deviation of one splice, as charted; undefined while not known. */
  get usual(): { level: number; deviation: number } | undefined {
    const { noiseVariance } = this.#s
    return noiseVariance === null
      ? undefined
      : { level: this.#fit.coefficient(LEVEL), deviation: Math.sqrt(noiseVariance) }
  }

  /** How far the newest splices (the last ten or so) are from the usual, as charted. */
  get recentShift(): number {
    return this.#s.recent
  }

  add(value: number, circumstances: Circumstances, tMs: number): Charted {
    const row = this.#row(circumstances)
    const innovation = this.#fit.expect(row, value)
    const level = this.#fit.coefficient(LEVEL)
    const deviation = this.#deviation(innovation)
    this.#learn(row, innovation, deviation)
    this.#s.seen += 1
    const result: Charted = {
      adjusted: level + innovation.off,
      deviation,
      called: undefined,
      ended: false,
      bySetting: undefined,
    }
    if (deviation === undefined) return result
    this.#s.recent = recentOf(this.#s.recent, innovation.off)
    this.#s.since = countSplice(this.#s.since, clip(deviation), innovation.off, tMs)
    this.#watch(clip(deviation), tMs, result)
    this.#watchUnserviced(clip(deviation), innovation.off, tMs)
    return result
  }

  /** A setting changed: a step that begins right after it will be its work. */
  settingChanged(signal: string, tMs: number): void {
    const { up, down, since } = this.#s
    this.#s.since = settingChanged(since, signal, tMs, { up: up.cusum / CUSUM_LIMIT, down: down.cusum / CUSUM_LIMIT })
  }

  /** Somebody did something about it: a trend that stands is over, and what is usual stays what it was. */
  serviced(): void {
    const { up, down, recent, call } = this.#s
    this.#s.unserviced = { up, down, recent, call }
    this.#rest()
  }

  /** Nobody did: what stood before stands again, with the splices since. What was learned of the usual meanwhile is kept. */
  serviceTakenBack(): void {
    if (this.#s.unserviced === null) return
    Object.assign(this.#s, this.#s.unserviced)
    this.#s.unserviced = null
  }

  #rest(): void {
    Object.assign(this.#s, atRest())
  }

  /** A setting made it, or people take the new level as the usual one: it is learned anew. */
  relearn(): void {
    this.#fit.relearnLevel()
    this.#s.since = null
    this.#s.unserviced = null
    this.#rest()
  }

  #row({ side, material, speedMps, rollM }: Circumstances): Map<string, number> {
    const s = this.#s
    const row = new Map([[LEVEL, 1]])
    if (speedMps !== undefined && speedMps > 0) {
      s.centre.speed ??= Math.log(speedMps)
      const speed = Math.log(speedMps) - s.centre.speed
      row.set('speed', speed)
      // What is a sum of powers (web used, low point) bends.
      row.set('speed²', speed ** 2)
    }
    if (rollM !== undefined && rollM > 0) {
      s.centre.roll ??= Math.log(rollM)
      row.set('roll', Math.log(rollM) - s.centre.roll)
    }
    s.side ??= side
    if (side !== s.side) row.set(`side:${side}`, 1)
    const known = s.materials.indexOf(material)
    if (known < 0 && s.materials.length > MOST_MATERIALS) {
      // The first one is what the level is of, and stays.
      this.#fit.drop(`material:${s.materials.splice(1, 1)[0]}`)
    }
    if (known !== 0) {
      if (known > 0) s.materials.splice(known, 1)
      s.materials.push(material)
    }
    if (material !== s.materials[0]) row.set(`material:${material}`, 1)
    return row
  }

  #deviation({ off, variance }: Innovation): number | undefined {
    const { noiseVariance, noiseCount } = this.#s
    if (noiseVariance === null || variance > SURE_VARIANCE || noiseVariance <= 0) return undefined
    return normalOfStudent(off / Math.sqrt(variance * noiseVariance), noiseCount)
  }

  #learn(row: ReadonlyMap<string, number>, { off, variance }: Innovation, deviation: number | undefined): void {
    const s = this.#s
    // What stands as a trend is not learned as the usual.
    if (s.call !== null) return
    const size = deviation === undefined ? 0 : Math.abs(deviation)
    this.#fit.learn(row, size > CLIP ? (off * CLIP) / size : off)
    if (variance > SURE_VARIANCE) return
    const residual = off / Math.sqrt(variance)
    if (s.noiseVariance === null) {
      s.early.push(residual)
      if (s.early.length < FIRST_NOISE) return
      s.noiseVariance = firstNoise(s.early)
      s.noiseCount = s.early.length
      s.early = []
      return
    }
    s.noiseCount = Math.min(LONGEST_MEMORY, s.noiseCount + 1)
    const square = Math.min(residual ** 2, CLIP ** 2 * s.noiseVariance) / CLIPPED_VARIANCE
    s.noiseVariance += (square - s.noiseVariance) / s.noiseCount
  }

  #watch(deviation: number, tMs: number, result: Charted): void {
    const s = this.#s
    step(s.up, deviation, tMs)
    step(s.down, -deviation, tMs)
    if (s.call !== null) {
      const watch = s.call.way === 'up' ? s.up : s.down
      if (!isBack(watch)) return
      this.#rest()
      result.ended = true
      return
    }
    if (s.seen < FIRST_CALL) return
    for (const way of ['up', 'down'] as const) {
      if (this.#worse !== 'both' && this.#worse !== way) continue
      const kind = kindOf(s[way], this.#ewmaLimit)
      if (kind === undefined) continue
      if (s.since !== null && isBySetting(s.since, way)) {
        const usual = this.#fit.coefficient(LEVEL)
        const { signals, offSum, splices } = s.since
        result.bySetting = { signals, usual, newest: usual + offSum / splices }
        return
      }
      const { sinceTMs, splices } = s[way]
      s.call = { kind, way, tMs, sinceTMs, splices, shift: s.recent }
      result.called = s.call
      return
    }
  }

  #watchUnserviced(deviation: number, off: number, tMs: number): void {
    const { unserviced } = this.#s
    if (unserviced === null) return
    const { up, down, call } = unserviced
    unserviced.recent = recentOf(unserviced.recent, off)
    step(up, deviation, tMs)
    step(down, -deviation, tMs)
    if (call !== null && isBack(call.way === 'up' ? up : down)) Object.assign(unserviced, atRest())
  }

  snapshot(): TrendChartState {
    return { fit: this.#fit.snapshot(), ...copyOf(this.#s) }
  }

  restore({ fit, ...rest }: TrendChartState): void {
    this.#fit.restore(fit)
    this.#s = copyOf(rest)
  }
}

const clip = (deviation: number): number => Math.max(-CLIP, Math.min(CLIP, deviation))

function step(watch: Watch, deviation: number, tMs: number): void {
  const before = watch.ewma
  watch.ewma = Math.max(0, ewma(before, deviation, LAMBDA))
  watch.cusum = cusum(watch.cusum, deviation, CUSUM_ALLOWANCE)
  if (before === 0) watch.sinceTMs = tMs
  watch.splices = watch.ewma === 0 ? 0 : watch.splices + 1
}

function kindOf(watch: Watch, ewmaLimit: number): TrendCall['kind'] | undefined {
  if (watch.cusum > CUSUM_LIMIT) return 'step'
  return watch.ewma > ewmaLimit ? 'drift' : undefined
}

/** Variance of the first residuals, without those that stand far out. */
function firstNoise(residuals: readonly number[]): number {
  const rough = Math.max(scatter(residuals)!, Number.MIN_VALUE)
  const sum = residuals.reduce((total, one) => total + Math.min(one ** 2, (CLIP * rough) ** 2), 0)
  return sum / residuals.length / CLIPPED_VARIANCE
}
