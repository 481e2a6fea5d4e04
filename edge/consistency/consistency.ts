/**
 * The self-check of one unwind's tags: relations between them, kept up as the samples come. Pure, O(1) memory and time per
 * sample; plain data is its whole state.
 *
 * It looks at the tags with eyes of its own and not at the estimates: those rest on the very tags that are in question. So
 * nothing here depends on a tag's scale: a roll change is a jump of the reading by a share of itself, a cycle is the steep
 * side of the stored web, a steady line keeps its own speed.
 */

import { copyOf } from '../plain-data.ts'
import { addWindow, type BalanceState, bufferGain, newBalance, surfaceRatio } from './balance.ts'
import { type LengthState, lengthAt, loseSpeed, newLength, reportSpeed } from './length-count.ts'
import type { Typical } from './pairs.ts'
import { addRatio, middleOf, newRatio, type RatioState, ratioOf } from './ratio.ts'
import { ENOUGH_WEB_M, type Relation, type RelationId, SOUND_SD } from './relation.ts'
import {
  caliperRatio,
  forgetRoll,
  newRollState,
  type RollState,
  type Standing,
  settingRatio,
  watchRoll,
} from './roll-watch.ts'
import { newSpindles, noteSpindle, type SpindlesState, type SpindleUnit, spindleUnit } from './spindle-units.ts'
import { forgetMotion, judgeStop, newStopSlope, noteJump, reportStored, type StopSlopeState } from './stop-slope.ts'

/** One window of the balances, and of the totaliser, which may count in whole metres, ms. */
const WINDOW_MS = 2000
const TOTALISER_MS = 20_000
const SAMPLE_MS = 1000
/** In a window the line's speed stays within this share, else it ramps. */
const STEADY_SHARE = 0.03
/** Slower than this share of what it ran before, the line is threaded or run up. */
const PRODUCING_SHARE = 0.3
/** Steps farther apart are a gap, ms. */
const GAP_MS = 2000
/** Where the buffer moves faster than this share of a cycle's fall, it is filled or refilled. */
const FILLING_SHARE = 0.05
/** A tag whose reports are refused: so many, and this share of all. */
const FEWEST_REFUSED = 20
const REFUSED_SHARE = 0.5

export type Fed = 'line_speed' | 'unwind_speed' | 'spindle_speed' | 'line_length' | 'buffer_position' | 'roll_diameter'

export interface ConsistencySecond {
  tMs: number
  /** What the running roll's tag says now, held between reports; undefined where it says nothing that can be. */
  diameterM: number | undefined
  otherDiameterM: number | undefined
  labelM: number
  /** Where the splicer starts by a diameter; undefined where by anything else. */
  spliceDiameterM: number | undefined
  /** Whatever names the running spindle. */
  spindle: string | undefined
  /** Where there is a tag per spindle: what the running one's says, as it would be read, whether or not it can be, m. */
  spindleReadsM: number | undefined
}

interface Window {
  tMs: number
  lineM: number
  unwindM: number | null
  turns: number | null
  storedM: number | null
  slowest: number
  fastest: number
}

export interface ConsistencyState {
  line: LengthState
  unwind: LengthState
  turns: LengthState
  totaliserM: number | null
  storedM: number | null
  storedTMs: number | null
  /** Last three stored values, for the noise. */
  storedBefore: number[]
  storedNoiseM: number
  usualMps: number
  lineMinMps: number
  lineMaxMps: number
  window: Window | null
  totaliserWindow: { tMs: number; lineM: number; lengthM: number } | null
  speeds: BalanceState
  spindle: BalanceState
  totaliser: RatioState
  stop: StopSlopeState
  roll: RollState
  spindles: SpindlesState
  lastTMs: number | null
  nextTMs: number | null
  refused: Record<string, { refused: number; taken: number; last: string }>
}

export class Consistency {
  #s: ConsistencyState = newState()
  readonly #stopS: number

  /** @param stopS - how long the web stands in a cycle, by the config. */
  constructor(stopS: number) {
    this.#stopS = stopS
  }

  /** A report at its own time, in SI. `buffer_position` is web stored by the calibration, m. */
  report(signal: Fed, value: number, tMs: number): void {
    const s = this.#s
    switch (signal) {
      case 'line_speed':
        reportSpeed(s.line, Math.max(0, value), tMs)
        s.lineMinMps = Math.min(s.lineMinMps, value)
        s.lineMaxMps = Math.max(s.lineMaxMps, value)
        return
      case 'unwind_speed':
        reportSpeed(s.unwind, Math.max(0, value), tMs)
        return
      case 'spindle_speed':
        reportSpeed(s.turns, Math.abs(value), tMs)
        return
      case 'line_length':
        s.totaliserM = value
        return
      case 'buffer_position':
        this.#reportStored(value, tMs)
        return
      case 'roll_diameter':
        s.roll.readings += 1
        s.roll.readingsSumM += value
    }
  }

  /** A report that could not be a value of its signal. */
  refuse(signal: string, said: string, isRefused: boolean): void {
    const counts = this.#s.refused
    counts[signal] ??= { refused: 0, taken: 0, last: '' }
    const count = counts[signal]
    if (isRefused) {
      count.refused += 1
      count.last = said
    } else count.taken += 1
  }

  #reportStored(storedM: number, tMs: number): void {
    const s = this.#s
    if (s.storedTMs !== null && tMs <= s.storedTMs) return
    const [one, two] = s.storedBefore
    if (one !== undefined && two !== undefined) {
      // Second differences are free of the carriage's own motion; of white noise they have √6 times its deviation.
      const seen = Math.abs(storedM - 2 * two + one) / Math.sqrt(6)
      s.storedNoiseM +=
        0.02 * (Math.min(seen, 4 * s.storedNoiseM + 1e-9 + (s.storedNoiseM === 0 ? seen : 0)) - s.storedNoiseM)
    }
    s.storedBefore.push(storedM)
    if (s.storedBefore.length > 2) s.storedBefore.shift()
    s.storedM = storedM
    s.storedTMs = tMs
    const { mps } = s.line
    const isSteady = mps !== null && this.#isSteady(s.lineMinMps, s.lineMaxMps) && mps > PRODUCING_SHARE * s.usualMps
    reportStored(s.stop, storedM, tMs, isSteady ? mps : undefined, this.#stopS)
  }

  #isSteady(slowest: number, fastest: number): boolean {
    return slowest > 0 && fastest - slowest <= STEADY_SHARE * fastest
  }

  /**
   * Once per step of the pipeline, after all reports up to it.
   * @param hasLine - the line's speed has a fresh value.
   * @returns true where a second is over: then `second` wants to know more.
   */
  tick(tMs: number, hasLine: boolean): boolean {
    const s = this.#s
    if (!hasLine || (s.lastTMs !== null && tMs - s.lastTMs > GAP_MS)) this.#break(tMs)
    s.lastTMs = tMs
    s.nextTMs ??= tMs + SAMPLE_MS
    if (tMs < s.nextTMs || !hasLine) return false
    s.nextTMs = tMs + SAMPLE_MS
    return true
  }

  second(step: ConsistencySecond): void {
    const s = this.#s
    const { tMs } = step
    const { mps } = s.line
    if (mps !== null) s.usualMps = Math.max(mps, s.usualMps * 0.9995)
    this.#watchRoll(step)
    if (this.#isProducing()) noteSpindle(s.spindles, tMs, step.spindle, step.spindleReadsM)
    this.#closeWindow(tMs)
    this.#closeTotaliser(tMs)
    judgeStop(s.stop, tMs, this.#stopS)
  }

  /** Nothing is known of what happened since the last step. */
  #break(tMs: number): void {
    const s = this.#s
    loseSpeed(s.line)
    loseSpeed(s.unwind)
    loseSpeed(s.turns)
    s.window = null
    s.totaliserWindow = null
    s.storedBefore = []
    forgetMotion(s.stop)
    forgetRoll(s.roll, tMs)
  }

  #watchRoll(step: ConsistencySecond): void {
    const s = this.#s
    const webM = lengthAt(s.line, step.tMs)
    if (webM === undefined) return
    const isSplice = watchRoll(s.roll, {
      tMs: step.tMs,
      webM,
      storedM: s.storedM ?? 0,
      heldM: step.diameterM,
      otherM: step.otherDiameterM,
      labelM: step.labelM,
      settingM: step.spliceDiameterM,
      spindle: step.spindle,
      isProducing: this.#isProducing(),
      isFilling: this.#isFilling(),
    })
    if (isSplice && s.storedM !== null) noteJump(s.stop, step.tMs)
  }

  #isProducing(): boolean {
    const { mps } = this.#s.line
    return mps !== null && mps > PRODUCING_SHARE * this.#s.usualMps
  }

  /** In a fill and a refill a diameter that a PLC computes from the line's speed lies. */
  #isFilling(): boolean {
    const { stop, line } = this.#s
    const gain = stop.gains[stop.gains.length - 1]
    const last = stop.tMs.length - 1
    if (gain === undefined || last < 1 || line.mps === null) return false
    const spanS = (stop.tMs[last]! - stop.tMs[0]!) / 1000
    const slope = (stop.storedM[last]! - stop.storedM[0]!) / spanS
    return Math.abs(slope) > FILLING_SHARE * Math.abs(gain) * line.mps
  }

  #closeWindow(tMs: number): void {
    const s = this.#s
    const before = s.window
    // At the time of the carriage's own report: it is the slowest of these tags as a rule.
    const atTMs = s.storedTMs !== null && tMs - s.storedTMs < WINDOW_MS ? s.storedTMs : tMs
    if (before !== null && atTMs - before.tMs < WINDOW_MS) return
    const lineM = lengthAt(s.line, atTMs)
    const { lineMinMps, lineMaxMps } = s
    const mps = s.line.mps ?? 0
    s.lineMinMps = mps
    s.lineMaxMps = mps
    s.window = null
    if (lineM === undefined) return
    const now: Window = {
      tMs: atTMs,
      lineM,
      unwindM: lengthAt(s.unwind, atTMs) ?? null,
      turns: lengthAt(s.turns, atTMs) ?? null,
      storedM: s.storedM,
      slowest: lineMinMps,
      fastest: lineMaxMps,
    }
    s.window = now
    if (before === null || !this.#isSteady(lineMinMps, lineMaxMps) || !this.#isProducing()) return
    const webM = now.lineM - before.lineM
    if (!(webM > 0)) return
    const grewM = now.storedM === null || before.storedM === null ? 0 : now.storedM - before.storedM
    if (now.unwindM !== null && before.unwindM !== null) {
      addWindow(s.speeds, now.unwindM - before.unwindM, webM, grewM, s.storedNoiseM)
    }
    const { roll } = s
    const isOneRoll = roll.departedS === 0 && (roll.sinceTMs ?? 0) <= before.tMs
    if (now.turns !== null && before.turns !== null && roll.diameterM !== null && isOneRoll) {
      addWindow(s.spindle, (now.turns - before.turns) * Math.PI * roll.diameterM, webM, grewM, s.storedNoiseM)
    }
  }

  #closeTotaliser(tMs: number): void {
    const s = this.#s
    const { totaliserM, totaliserWindow: before } = s
    if (totaliserM === null || (before !== null && tMs - before.tMs < TOTALISER_MS)) return
    const lineM = lengthAt(s.line, tMs)
    s.totaliserWindow = lineM === undefined ? null : { tMs, lineM, lengthM: totaliserM }
    if (before === null || lineM === undefined || !this.#isProducing()) return
    const webM = lineM - before.lineM
    // It wraps and is reset: then it falls.
    if (webM > 0 && totaliserM > before.lengthM) addRatio(s.totaliser, (totaliserM - before.lengthM) / webM, webM)
  }

  /** Everything that can be compared so far. */
  relations(): Relation[] {
    const s = this.#s
    const found: Relation[] = []
    const add = (id: RelationId, ratio: number, sd: number, secondM: number, firstM = ratio * secondM): void => {
      if (!Number.isFinite(ratio) || !Number.isFinite(sd) || ratio === 0) return
      const share = Math.abs(sd / ratio)
      found.push({
        id,
        ratio,
        sd: share,
        wholeSd: Math.hypot(share, SOUND_SD[id]),
        firstM,
        secondM,
        // A tag that reads sixty times too little has not run 200 m by its own word.
        isJudged: Math.max(Math.abs(firstM), Math.abs(secondM)) >= ENOUGH_WEB_M,
      })
    }
    const speeds = surfaceRatio(s.speeds)
    if (speeds !== undefined) add('speeds', speeds.value, speeds.sd, speeds.metres)
    const spindle = surfaceRatio(s.spindle)
    if (spindle !== undefined) add('spindle', spindle.value, spindle.sd, spindle.metres)
    const totaliser = ratioOf(s.totaliser)
    if (totaliser !== undefined) add('totaliser', totaliser.value, totaliser.sd, totaliser.metres)
    // A cycle says what the buffer is worth however short it was.
    const byUnwind = bufferGain(s.speeds)
    if (byUnwind !== undefined) add('festoon_unwind', byUnwind.value, byUnwind.sd, ENOUGH_WEB_M)
    const bySpindle = bufferGain(s.spindle)
    if (byUnwind === undefined && bySpindle !== undefined) {
      add('festoon_spindle', bySpindle.value, bySpindle.sd, ENOUGH_WEB_M)
    }
    const byStop = middleOf(s.stop.gains, this.#stopSd())
    if (byStop !== undefined) add('festoon_line', byStop.value, byStop.sd, ENOUGH_WEB_M)
    const caliper = caliperRatio(s.roll)
    if (caliper !== undefined) add('area', caliper.value, caliper.sd, caliper.metres)
    const setting = settingRatio(s.roll)
    if (setting !== undefined) add('setting', setting.value, setting.sd, ENOUGH_WEB_M)
    return found
  }

  /** What the tags show while the line runs, as they are read, SI. */
  typical(): Typical {
    const { usualMps, unwind, turns, roll } = this.#s
    const diameterM = roll.diameterM ?? roll.area.diameterM
    return {
      ...(usualMps > 0 && { line_speed: usualMps }),
      ...(unwind.mps !== null && unwind.mps > 0 && { unwind_speed: unwind.mps }),
      ...(turns.mps !== null && turns.mps > 0 && { spindle_speed: turns.mps }),
      ...(diameterM > 0 && { roll_diameter: diameterM }),
      ...(roll.labelM > 0 && { nominal_caliper: roll.labelM }),
    }
  }

  /** Of one cycle's slope: a carriage that is polled as slowly as it stops shows no whole stop. */
  #stopSd(): number {
    return 0.01 + 0.1 * Math.min(3, this.#s.stop.periodMs / 1000 / Math.max(0.1, this.#stopS)) ** 2
  }

  /** A diameter that does not fall while web runs, over enough of it; undefined where it falls as it should. */
  get standing(): Standing | undefined {
    return this.#s.roll.standing ?? undefined
  }

  spindleUnit(...by: [unitOf: (spindle: string) => string | undefined, coreM: number]): SpindleUnit | undefined {
    return spindleUnit(this.#s.spindles, ...by)
  }

  /** Signals whose reports are mostly no possible value, with what was said last. */
  refused(): { signal: string; count: number; last: string }[] {
    return Object.entries(this.#s.refused).flatMap(([signal, { refused, taken, last }]) =>
      refused >= FEWEST_REFUSED && refused > REFUSED_SHARE * (refused + taken)
        ? [{ signal, count: refused, last }]
        : [],
    )
  }

  snapshot(): ConsistencyState {
    return copyOf(this.#s)
  }

  restore(state: Partial<ConsistencyState>): void {
    this.#s = { ...newState(), ...copyOf(state) }
  }
}

function newState(): ConsistencyState {
  return {
    line: newLength(),
    unwind: newLength(),
    turns: newLength(),
    totaliserM: null,
    storedM: null,
    storedTMs: null,
    storedBefore: [],
    storedNoiseM: 0,
    usualMps: 0,
    lineMinMps: 0,
    lineMaxMps: 0,
    window: null,
    totaliserWindow: null,
    speeds: newBalance(),
    spindle: newBalance(),
    totaliser: newRatio(),
    stop: newStopSlope(),
    roll: newRollState(),
    spindles: newSpindles(),
    lastTMs: null,
    nextTMs: null,
    refused: {},
  }
}
