/**
 * Is the diameter a sensor's, or does a program compute it from the *line's* speed over the spindle's turns? Pure, O(1).
 *
 * D = v_u/(π·n) is right with the surface speed v_u of the unwind; with the line's speed v it reads D·v/v_u: a tenth low
 * while the unwind outruns the line in a fill, zero while it stands, far too high as it comes back (trade notes,
 * "What real signals do"; common practice, no source). Which of both a tag is shows whenever the speeds part.
 */

/** Line speed over the unwind's surface speed: now, and the mean, least and most of the last seconds; `isApart` beyond their noise. */
export interface SpeedShare {
  now: number
  mean: number
  least: number
  most: number
  isApart: boolean
  /** It held: what was computed from it can be put right. */
  isSteady: boolean
  /** The unwind hardly turns while the line runs. */
  isUnwindStanding: boolean
}

/** What is known of how the unwind runs against the line. */
export interface UnwindSpeeds {
  /** By its tag, or a slope of the stored web over a second, m/s. */
  unwindMps: number | undefined
  isMeasured: boolean
  /** The same over as short a time as can be, m/s. */
  newestMps: number | undefined
  /** How fast the stored web grows over three seconds, m/s, and the noise of one of its reports, m. */
  slopeMps: number | undefined
  noiseM: number
}

/** As long as a turn of a full roll at half speed, in steps of 100 ms. */
const STEPS = 30
/** Tags of both speeds that are put to the same scale agree within this (tach ripple; common practice, no source). */
const APART_SHARE = 0.025
/** By the web balance they agree within this: a position loop's trim. */
const BALANCE_SHARE = 0.01
/** Slopes over one and over three seconds have about so many times the noise of one report, per second; five of those are beyond doubt. */
const SECOND_NOISE = 1.5
const THREE_NOISE = 0.3
const SLOPE_SDS = 5
/** A tag's scale against the line's is learned in about so many steps while the stored web holds. */
const SCALE_STEPS = 100
/** An unwind slower than this share of the line stands, and the ratio says no more than that. */
const STANDS_SHARE = 0.1
const STEADY_SHARE = 0.02

export interface SpeedRatioState {
  recent: number[]
  apartShare: number
  usual: number
  usualSteps: number
  isFilling: boolean
  isUnwindStanding: boolean
}

const ALIKE: SpeedRatioState = {
  recent: [],
  apartShare: APART_SHARE,
  usual: 1,
  usualSteps: 0,
  isFilling: false,
  isUnwindStanding: false,
}

export class SpeedRatio {
  #s: SpeedRatioState = { ...ALIKE, recent: [] }
  /** Of the state as it stands: each reading asks for it, and each step. */
  #share: SpeedShare | undefined

  step(lineMps: number, speeds: UnwindSpeeds): void {
    const s = this.#s
    this.#share = undefined
    const { unwindMps, newestMps, slopeMps, noiseM, isMeasured } = speeds
    s.isUnwindStanding = lineMps > 0 && newestMps !== undefined && newestMps < STANDS_SHARE * lineMps
    if (lineMps <= 0) return
    const balance = (slopeMps ?? 0) / lineMps
    const balanceNoise = (SLOPE_SDS * THREE_NOISE * noiseM) / lineMps
    s.isFilling = Math.abs(balance) > Math.max(BALANCE_SHARE, balanceNoise)
    const ratio = unwindMps === undefined ? 1 : lineMps / Math.max(unwindMps, STANDS_SHARE * lineMps)
    if (isMeasured && !s.isFilling && ratio * STANDS_SHARE < 1) {
      s.usualSteps = Math.min(SCALE_STEPS, s.usualSteps + 1)
      s.usual += (ratio - s.usual) / s.usualSteps
    }
    s.recent.push(isMeasured ? ratio / s.usual : ratio)
    if (s.recent.length > STEPS) s.recent.shift()
    s.apartShare = isMeasured ? APART_SHARE : Math.max(BALANCE_SHARE, (SLOPE_SDS * SECOND_NOISE * noiseM) / lineMps)
  }

  get share(): SpeedShare {
    this.#share ??= this.#summed()
    return this.#share
  }

  #summed(): SpeedShare {
    const { recent, apartShare, isFilling, isUnwindStanding } = this.#s
    const now = recent[recent.length - 1] ?? 1
    let least = now
    let most = now
    let sum = 0
    for (const one of recent) {
      if (one < least) least = one
      if (one > most) most = one
      sum += one
    }
    const isApart = isFilling || least < 1 - apartShare || most > 1 + apartShare
    const mean = recent.length === 0 ? 1 : sum / recent.length
    return { now, mean, least, most, isApart, isSteady: most - least < STEADY_SHARE, isUnwindStanding }
  }

  /** After a gap the past says nothing about the present. */
  clear(): void {
    this.#s.recent = []
    this.#share = undefined
  }

  snapshot(): SpeedRatioState {
    return { ...this.#s, recent: [...this.#s.recent] }
  }

  restore(state: SpeedRatioState): void {
    this.#s = { ...state, recent: [...state.recent] }
    this.#share = undefined
  }
}

/** So many readings more on one side than on the other decide, and no more are remembered: a program may be changed. */
const DECIDED = 2
const MOST = 50
/** A sensor that a turret blinds says nothing just then, too: no more than a suspicion comes of it. */
const MOST_OF_NOTHING = 5
/** Throughout the window the ratio has to be this far from one: then even a reading that is a turn old tells. */
const CLEAR_SHARE = 0.04
const SWEPT = 1.1
/** What a program computes from the same speeds agrees within this. */
const AGREE_SHARE = 0.03

export class ComputedDiameter {
  /** Readings that only a computed diameter explains, less those that only a sensor does. */
  #score = 0

  get isComputed(): boolean {
    return this.#score >= DECIDED
  }

  get isSensor(): boolean {
    return this.#score <= -DECIDED
  }

  /** One reading beside the true roll's. @param gateM - farther from it a sensor's noise does not reach, m. */
  judge(readingM: number, expectedM: number, gateM: number, share: SpeedShare): void {
    const isAsSensor = Math.abs(readingM - expectedM) <= gateM
    if (share.isUnwindStanding && isAsSensor) this.#note(false)
    const isClear = share.least > 1 + CLEAR_SHARE || share.most < 1 - CLEAR_SHARE
    // A ratio that swept far would explain anything, a new roll among it.
    if (!isClear || share.most > SWEPT * share.least) return
    const isAsComputed =
      readingM >= expectedM * share.least * (1 - AGREE_SHARE) && readingM <= expectedM * share.most * (1 + AGREE_SHARE)
    if (isAsSensor !== isAsComputed) this.#note(isAsComputed)
  }

  /** No reading that a roll can have, while the line runs and the unwind stands: there are no turns to divide by. */
  noteNothing(share: SpeedShare): void {
    if (share.isUnwindStanding && this.#score < MOST_OF_NOTHING) this.#note(true)
  }

  /** The line's speed, now or a turn ago, explains a reading that a sensor would not give. */
  explains(readingM: number, expectedM: number, share: SpeedShare): boolean {
    if (!share.isApart) return false
    const low = expectedM * Math.min(1, share.least) * (1 - AGREE_SHARE)
    // While the unwind slows or comes back the ratio runs ahead of what is known of it.
    const isSlower = share.most > 1 + CLEAR_SHARE
    const high = isSlower ? Number.POSITIVE_INFINITY : expectedM * (1 + AGREE_SHARE)
    return readingM >= low && readingM <= high
  }

  #note(isComputed: boolean): void {
    this.#score = Math.max(-MOST, Math.min(MOST, this.#score + (isComputed ? 1 : -1)))
  }

  snapshot(): number {
    return this.#score
  }

  restore(score: number): void {
    this.#score = score
  }
}
