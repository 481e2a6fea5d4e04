/**
 * The roll that runs, as its diameter's tag shows it: when it is another one, its area, and a diameter that stands still.
 * Pure, O(1); plain data is its whole state. Nothing depends on the tag's scale: a jump is a share of the reading itself.
 */
import { type AreaSlope, type AreaState, addArea, areaSlope, newArea } from './area.ts'
import { middleOf, remember } from './ratio.ts'
import { ENOUGH_WEB_M } from './relation.ts'

/** For so many seconds above the last readings by this share and so many times their noise: another roll (or an arm). */
const ABOVE_SHARE = 0.03
const ABOVE_NOISES = 6
/** Below them by this share, too: near the core a thick web falls by a few per cent a second. */
const BELOW_SHARE = 0.1
const JUMP_S = 3
/** A splice shows by a jump of this share at least. */
const SPLICE_SHARE = 0.08
/** Share of the newest second in the mean of the last readings. */
const NEWEST = 0.6
/** A preset converges and the refill bends what a PLC computes: the area waits after a roll change, ms. */
const AREA_WAITS_MS = 15_000
/** A change of the spindle shows in the diameter within so long, ms. */
const SPINDLE_SHOWS_MS = 10_000
/** A residual of this share of the fall is no straight line: two rolls, or a tag that shows another one's. */
const ROUGHEST = 0.06
/** Beyond this many times the reading's own noise it is no constant either. */
const CONSTANT_NOISES = 3
/** What the tag said so long before a roll change is not where the splicer started, ms; a turret index blinds for 30 s. */
const READ_WITHIN_MS = 60_000
/** After so many rolls that fell as they should the diameter's tag is believed again. */
const SOUND_ROLLS = 3
/** A diameter that stands is looked for once in so many samples. */
const STANDING_EVERY = 10
/** Standard deviation of one roll's caliper and of one splice's diameter as estimates, as a share. */
const ONE_ROLL_SD = 0.01
const ONE_SPLICE_SD = 0.02

export interface Standing {
  /** Web that the line took meanwhile, m. */
  metres: number
  isRising: boolean
  /** The tag of the spindle that waits falls as the running one's should. */
  otherFalls: boolean
  /** Rolls since that fell as they should. */
  soundRolls: number
}

export interface RollState {
  area: AreaState
  /** The area by the tag of the spindle that waits. */
  other: AreaState
  sinceTMs: number | null
  departedS: number
  /** Mean of the last readings and the noise of one second's, m. */
  diameterM: number | null
  noiseM: number
  lastM: number | null
  /** When it was read; a snapshot from before this was kept has none. */
  lastTMs?: number | null
  /** Sum of this second's readings. */
  readings: number
  readingsSumM: number
  /** Effective caliper over the label, one per roll, and the newest roll's web, m. */
  calipers: number[]
  caliperWebM: number
  /** Diameter before a splice over its setting. */
  settings: number[]
  spindle: string | null
  /** The spindle changed and the diameter has not shown it yet. */
  spindleTMs: number | null
  standing: Standing | null
  labelM: number
}

export const newRollState = (): RollState => ({
  area: newArea(),
  other: newArea(),
  sinceTMs: null,
  departedS: 0,
  diameterM: null,
  noiseM: 0,
  lastM: null,
  lastTMs: null,
  readings: 0,
  readingsSumM: 0,
  calipers: [],
  caliperWebM: 0,
  settings: [],
  spindle: null,
  spindleTMs: null,
  standing: null,
  labelM: 0,
})

export interface RollSecond {
  tMs: number
  /** Web by the line, and stored, m. */
  webM: number
  storedM: number
  /** What the running roll's tag holds where nothing was reported; undefined where it says nothing that can be. */
  heldM: number | undefined
  otherM: number | undefined
  labelM: number
  /** Where the splicer starts by a diameter, m. */
  settingM: number | undefined
  spindle: string | undefined
  /** The line runs as it usually does. */
  isProducing: boolean
  /** The buffer is filled or refilled: a diameter that a PLC computes from the line's speed lies. */
  isFilling: boolean
}

/** Once a second. @returns true where a splice was seen. */
export function watchRoll(state: RollState, second: RollSecond): boolean {
  const { tMs, spindle } = second
  const readingM = state.readings > 0 ? state.readingsSumM / state.readings : second.heldM
  state.readings = 0
  state.readingsSumM = 0
  state.labelM = second.labelM
  if (spindle !== undefined && spindle !== state.spindle) {
    if (state.spindle !== null) state.spindleTMs = tMs
    state.spindle = spindle
  }
  if (state.spindleTMs !== null && tMs - state.spindleTMs > SPINDLE_SHOWS_MS) {
    // Another spindle, and a roll of the same diameter.
    return changeRoll(state, second, state.diameterM ?? 0)
  }
  if (readingM === undefined) return false
  if (hasJumped(state, readingM)) {
    state.departedS += 1
    return state.departedS >= JUMP_S && changeRoll(state, second, readingM)
  }
  state.departedS = 0
  if (state.lastM !== null) {
    // The mean step of white noise is 2/√π = 1.128 times its deviation.
    state.noiseM += 0.05 * (Math.abs(readingM - state.lastM) / 1.128 - state.noiseM)
  }
  state.lastM = readingM
  state.lastTMs = tMs
  state.diameterM = state.diameterM === null ? readingM : state.diameterM + (readingM - state.diameterM) * NEWEST
  const isWaiting = state.sinceTMs !== null && tMs - state.sinceTMs < AREA_WAITS_MS
  if (isWaiting || !second.isProducing || second.isFilling) return false
  addArea(state.area, readingM, second.webM, second.storedM)
  if (second.otherM !== undefined) addArea(state.other, second.otherM, second.webM, second.storedM)
  noteStanding(state)
  return false
}

function hasJumped({ diameterM, noiseM }: RollState, readingM: number): boolean {
  if (diameterM === null) return false
  const byM = readingM - diameterM
  return byM > 0
    ? byM > Math.max(ABOVE_SHARE * diameterM, ABOVE_NOISES * noiseM)
    : -byM > Math.max(BELOW_SHARE * diameterM, ABOVE_NOISES * noiseM)
}

function changeRoll(state: RollState, { tMs, settingM, isProducing }: RollSecond, readingM: number): boolean {
  const beforeM = state.diameterM
  const wasRead = tMs - (state.lastTMs ?? tMs) <= READ_WITHIN_MS
  const slope = areaSlope(state.area)
  if (slope !== undefined && isSound(slope, state.labelM)) {
    remember(state.calipers, slope.caliperM / state.labelM)
    state.caliperWebM = slope.metres
    if (state.standing !== null) {
      state.standing.soundRolls += 1
      if (state.standing.soundRolls >= SOUND_ROLLS) state.standing = null
    }
  }
  // Where the spindles are known only their change is a splice: another jump may be a roll that is loaded.
  const isOther = state.spindle === null ? beforeM !== null && readingM > beforeM : state.spindleTMs !== null
  const isSplice = isProducing && isOther && beforeM !== null && Math.abs(readingM - beforeM) > SPLICE_SHARE * beforeM
  if (isSplice && wasRead && settingM !== undefined) remember(state.settings, beforeM / settingM)
  forgetRoll(state, tMs)
  return isSplice
}

/** Another roll, or the same after a gap. */
export function forgetRoll(state: RollState, tMs: number): void {
  state.area = newArea()
  state.other = newArea()
  state.sinceTMs = tMs
  state.departedS = 0
  state.diameterM = null
  state.lastM = null
  state.spindleTMs = null
}

function noteStanding(state: RollState): void {
  const { area, labelM } = state
  if (area.lastWebM - area.firstWebM < ENOUGH_WEB_M || area.n % STANDING_EVERY !== 0) return
  const slope = areaSlope(area)
  if (slope === undefined || !(area.diameterM > 0)) return
  const fellM = (2 * labelM * slope.metres) / (Math.PI * area.diameterM)
  // It should have fallen by far more than it scatters, and fell by no more than a tenth of that.
  if (fellM < 8 * slope.noiseM || labelM < 10 * slope.sdM || slope.caliperM > 0.1 * labelM) return
  const isRising = slope.caliperM < -0.1 * labelM
  if (!isRising && slope.noiseM > CONSTANT_NOISES * state.noiseM + 0.01 * fellM) return
  // A label in the wrong unit: it falls, but by less.
  if (slope.sdM > 0 && slope.caliperM > 5 * slope.sdM) return
  const other = areaSlope(state.other)
  const otherFalls = other !== undefined && other.caliperM > 0.5 * labelM && isSound(other, labelM)
  state.standing = { metres: slope.metres, isRising, otherFalls, soundRolls: 0 }
}

/** It falls beyond chance, along a line, and by what the label says of enough web, by the line's word or its own. */
const isSound = (slope: AreaSlope, labelM: number): boolean =>
  Math.max(slope.metres, (slope.caliperM / labelM) * slope.metres) >= ENOUGH_WEB_M &&
  slope.caliperM > 5 * slope.sdM &&
  slope.roughness < ROUGHEST

/** Effective caliper over the label, from the last rolls and this one. */
export function caliperRatio(state: RollState): { value: number; sd: number; metres: number } | undefined {
  const running = areaSlope(state.area)
  const isUsable = running !== undefined && isSound(running, state.labelM)
  const list = isUsable ? [...state.calipers.slice(-4), running.caliperM / state.labelM] : state.calipers
  const oneSd = isUsable ? Math.max(ONE_ROLL_SD, running.sdM / running.caliperM) : ONE_ROLL_SD
  const middle = middleOf(list, oneSd)
  return middle === undefined ? undefined : { ...middle, metres: isUsable ? running.metres : state.caliperWebM }
}

export const settingRatio = (state: RollState): { value: number; sd: number } | undefined =>
  middleOf(state.settings, ONE_SPLICE_SD)
