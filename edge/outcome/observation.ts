/**
 * What is noted of one splice beside its cycle: around it before, through it, and until line and tension are themselves
 * again. Plain data, filled in as time passes; `detailsOf` gives it in the record's units. Pure.
 */
import type { Cycle } from '../cycle/cycle.ts'
import type { GuideReading } from '../signals/guide.ts'
import { type ForecastError, NO_DETAILS, type SpliceDetails } from '../splice-details.ts'
import { type GuideState, newGuide, noteGuide } from './guide-watch.ts'
import { isoTime } from './record.ts'
import { newTension, noteTension, type TensionState, tensionBackS } from './tension-watch.ts'
import { LINE_FELL_SHARE } from './watch.ts'

const MM_PER_M = 1000
/** The line is back at this share of its speed (the record's down time). */
const BACK_SHARE = 0.9
/** A line that is not back after so long began another order: its down time says nothing of the splice, ms. */
const LONGEST_DOWN_MS = 12 * 3_600_000
/** Alarms so long before and after belong to a splice, as its trace does, ms. */
export const AROUND_MS = 60_000
/** A diameter that was preset at the roll change has converged near enough to say how large the roll is, ms. */
const PRESET_MS = 5000
/** More alarms than this are one trouble. */
const MOST_ALARMS = 40

/** Who and what ran, from tags. */
export interface RollNames {
  rollId: string | null
  material: string | null
  spindle: string | null
}

export interface SpliceStart {
  tMs: number
  rolls: RollNames
  settingM: number | null
  tensionUsual: number | undefined
  /** Web forecast to be left beyond reserve and need, m. */
  marginForecastM: number | undefined
  reserveM: number | undefined
  tailM: number
  forecastErrors: ForecastError[]
  preparation: Pick<SpliceDetails, 'preparation' | 'preparation_seconds'>
  kgPerM: number | null
  pricePerM: number | null
  currency: string | null
  alarms: string[]
  extra: SpliceDetails['extra']
  /** Diameter of the roll that waits, m. */
  newRollM: number | null
  /** Where it waits. */
  waitingSpindle: string | null
}

export interface Observation extends Omit<SpliceStart, 'tensionUsual' | 'marginForecastM' | 'reserveM'> {
  marginForecastM: number | null
  reserveM: number | null
  tension: TensionState
  guide: GuideState
  newRolls: RollNames | null
  lineAtBackMps: number | null
  fellTMs: number | null
  backAtSpeedTMs: number | null
  /** Raised whenever something came that is worth a revision of its own. */
  version: number
}

export const newObservation = (start: SpliceStart): Observation => {
  const { tensionUsual, marginForecastM, reserveM, ...rest } = start
  return {
    ...rest,
    marginForecastM: marginForecastM ?? null,
    reserveM: reserveM ?? null,
    tension: newTension(tensionUsual),
    guide: newGuide(),
    newRolls: null,
    lineAtBackMps: null,
    fellTMs: null,
    backAtSpeedTMs: null,
    version: 0,
  }
}

export interface ObservationInput {
  tMs: number
  lineMps: number
  tension: number | undefined
  guide: GuideReading | undefined
  rolls: RollNames
  /** Diameter of the running roll by the estimate, m. */
  rollM: number | undefined
}

/** @param mayFall - a line that stops now stops for this splice: not once it is known to have been good. */
export function observe(cycle: Cycle, seen: Observation, input: ObservationInput, mayFall: boolean): void {
  const { tMs, lineMps } = input
  if (cycle.backTMs !== null) seen.lineAtBackMps ??= lineMps
  if (noteTension(seen.tension, tMs, input.tension, cycle.backTMs !== null)) seen.version += 1
  if (noteGuide(seen.guide, tMs, input.guide, cycle.backTMs ?? cycle.lineFellTMs)) seen.version += 1
  if (seen.newRolls === null && cycle.transferTMs !== null && isNamed(seen.rolls, input.rolls)) {
    seen.newRolls = input.rolls
    seen.version += 1
  }
  if (cycle.transferTMs !== null && tMs - cycle.transferTMs >= PRESET_MS) seen.newRollM ??= input.rollM ?? null
  if (mayFall && lineMps < LINE_FELL_SHARE * cycle.lineMps) seen.fellTMs ??= cycle.lineFellTMs ?? tMs
  else if (seen.fellTMs !== null && seen.backAtSpeedTMs === null && lineMps >= BACK_SHARE * cycle.lineMps) {
    seen.backAtSpeedTMs = tMs
    seen.version += 1
  }
}

/** The tags speak of the new roll once any name differs. */
const isNamed = (old: RollNames, now: RollNames): boolean =>
  (now.rollId !== null && now.rollId !== old.rollId) || (now.spindle !== null && now.spindle !== old.spindle)

export function noteAlarm(seen: Observation, id: string): void {
  if (seen.alarms.includes(id) || seen.alarms.length >= MOST_ALARMS) return
  seen.alarms.push(id)
  seen.version += 1
}

/** Nothing more is to be expected of a splice whose verdict fell. */
export function isOver(seen: Observation, closedTMs: number, tMs: number): boolean {
  if (tMs - closedTMs < AROUND_MS) return false
  if (seen.fellTMs === null || seen.backAtSpeedTMs !== null) return true
  return tMs - seen.fellTMs > LONGEST_DOWN_MS
}

const time = (tMs: number | null): string | null => (tMs === null ? null : isoTime(tMs))
const lengthS = (fromTMs: number | null, toTMs: number | null): number | null =>
  fromTMs === null || toTMs === null ? null : (toTMs - fromTMs) / 1000

/** Mean of a ramp, m/s²; null where its length is not known or it took none. */
const ramp = (speedMps: number, seconds: number | null): number | null =>
  seconds === null || !(seconds > 0) ? null : speedMps / seconds

/** Half of the central 80 % of a normal distribution, in standard deviations. */
const HALF_80 = 1.2816

function leftInterval({ leftOnRollM, leftOnRollSdM }: Cycle) {
  if (leftOnRollM === null || leftOnRollSdM === undefined) return {}
  const half = HALF_80 * leftOnRollSdM
  return { left_on_roll_low: Math.max(0, leftOnRollM - half), left_on_roll_high: leftOnRollM + half }
}

export function detailsOf(cycle: Cycle, seen: Observation): SpliceDetails {
  const isWhole = cycle.hasGap !== true && cycle.isLineStopped !== true
  const lowM = cycle.hasGap === true ? null : cycle.lowStoredM
  const downS = isWhole ? lengthS(cycle.startedTMs, cycle.stopStartTMs) : null
  const upS = isWhole ? lengthS(cycle.stopEndTMs, cycle.backTMs) : null
  const isCounted = cycle.isLineStopped !== true && cycle.backTMs !== null
  return {
    ...NO_DETAILS,
    deceleration: ramp(cycle.lineMps, downS),
    acceleration: ramp(seen.lineAtBackMps ?? cycle.lineMps, upS),
    refill_seconds: lengthS(cycle.backTMs, cycle.isLineStopped === true ? null : cycle.recoveredTMs),
    setting: seen.settingM === null ? null : seen.settingM * MM_PER_M,
    trigger_offset:
      seen.settingM === null || cycle.diameterM === null ? null : (cycle.diameterM - seen.settingM) * MM_PER_M,
    buffer_at_start: cycle.storedM,
    ...leftInterval(cycle),
    margin_forecast: seen.marginForecastM,
    margin: lowM === null || seen.reserveM === null ? null : lowM - seen.reserveM,
    speed_kept: isCounted && cycle.lineMps > 0 ? cycle.minLineMps / cycle.lineMps : null,
    tension_usual: seen.tension.usual,
    tension_low: seen.tension.low,
    tension_high: seen.tension.high,
    tension_back_seconds: tensionBackS(seen.tension, cycle.startedTMs),
    guide_left: seen.guide.least?.left ?? null,
    guide_left_unit: seen.guide.least?.unit ?? null,
    guide_left_share: seen.guide.least?.share ?? null,
    ...seen.preparation,
    down_seconds: lengthS(seen.fellTMs, seen.backAtSpeedTMs),
    forecast_errors: seen.forecastErrors,
    roll_id: seen.rolls.rollId,
    material: seen.rolls.material,
    spindle: seen.rolls.spindle,
    new_roll_id: seen.newRolls?.rollId ?? null,
    new_material: seen.newRolls?.material ?? null,
    new_spindle: seen.newRolls?.spindle ?? null,
    waiting_spindle: seen.waitingSpindle,
    new_roll_diameter: seen.newRollM === null ? null : seen.newRollM * MM_PER_M,
    kilograms_per_metre: seen.kgPerM,
    price_per_metre: seen.pricePerM,
    currency: seen.currency,
    tail: cycle.transferTMs === null ? null : seen.tailM,
    buffer_ended: time(cycle.bufferEndTMs),
    web_parted: time(cycle.breakTMs),
    faulted: time(cycle.faultTMs),
    line_fell: time(cycle.lineFellTMs ?? seen.fellTMs),
    alarms: [...seen.alarms],
    extra: { ...seen.extra },
  }
}
