/**
 * What is measured and known of one splice beyond the contract's columns. Units as there (m, mm, m/min, s), with m/s² for the
 * unwind's ramps and N for tension; null is not known. A record of an older version lacks what came later: `withDetails`.
 */
import type { FigureOf } from './columns.ts'

export const FORECAST_HORIZONS_S = [600, 300, 60] as const

export interface ForecastError {
  /** How long before the splice the forecast was made, s. */
  horizon_seconds: number
  /** Web off the roll that was forecast, less what it was, m. */
  metres: number
  /** Time that was forecast, less what it was, s; null where the line stood in between. */
  seconds: number | null
}

/** How long the waiting position was empty, held a roll that was not ready, and held a ready one, before the cycle. */
export const PREPARATION_STAGES = ['empty', 'preparing', 'ready'] as const
export type PreparationStage = (typeof PREPARATION_STAGES)[number]

export interface SpliceDetails {
  /** Mean of the unwind's ramps between line speed and standstill, m/s². */
  deceleration: number | null
  acceleration: number | null
  refill_seconds: number | null
  /** Diameter at which the splicer was set to start, mm, and how far above it the cycle started. */
  setting: number | null
  trigger_offset: number | null
  buffer_at_start: number | null
  /** Central 80 % interval of the column `left_on_roll`, m. */
  left_on_roll_low: number | null
  left_on_roll_high: number | null
  /** Web in the buffer beyond reserve and need: forecast just before the cycle, and what was really left at the low point, m. */
  margin_forecast: number | null
  margin: number | null
  /** Lowest line speed of the cycle as a share of that at its start. */
  speed_kept: number | null
  /** Setpoint, or the tension before where none is mapped; lowest and highest from the start on, N. */
  tension_usual: number | null
  tension_low: number | null
  tension_high: number | null
  /** From the start until it stays within 10 % of that, s; 0 where it never left. */
  tension_back_seconds: number | null
  /** Least travel that the web guide had left before either end, from the start until 30 s after the cycle, in the tag's unit. */
  guide_left: number | null
  guide_left_unit: string | null
  /** The same, of what it has when centred: 1 at the centre, 0 at an end. */
  guide_left_share: number | null
  /** From the waiting roll's appearance (where no tag shows it: from the splice before) until it was ready, s. */
  preparation_seconds: number | null
  preparation: { stage: PreparationStage; seconds: number }[]
  /** From the line's stop until it is back at 90 % of its speed, s. */
  down_seconds: number | null
  forecast_errors: ForecastError[]
  /** The roll that ended, and the one that took over. */
  roll_id: string | null
  material: string | null
  spindle: string | null
  new_roll_id: string | null
  new_material: string | null
  new_spindle: string | null
  /** Where the new roll was when the cycle began: the other one of two; null of more, and of a splice that never began. */
  waiting_spindle: string | null
  /** Of the roll that took over, as told before the splice, else as it read soon after, mm. */
  new_roll_diameter: number | null
  /** What a metre of the ended roll's web weighs and costs, where its material says so. */
  kilograms_per_metre: number | null
  price_per_metre: number | null
  currency: string | null
  /** Web between roll and knife that each splice uses up, m. */
  tail: number | null
  /** The first time of each, ISO 8601. */
  buffer_ended: string | null
  web_parted: string | null
  faulted: string | null
  line_fell: string | null
  /** The monitor or its plant ended then, before the verdict: what came after is not in the record. */
  cut_short: string | null
  /** Records of alarms raised from 60 s before the start until 60 s after the end. */
  alarms: string[]
  /** Value of each `extra.NAME` when the cycle was recognised, in its tag's unit. */
  extra: Record<string, number | string | boolean>
}

export const NO_DETAILS: SpliceDetails = {
  deceleration: null,
  acceleration: null,
  refill_seconds: null,
  setting: null,
  trigger_offset: null,
  buffer_at_start: null,
  left_on_roll_low: null,
  left_on_roll_high: null,
  margin_forecast: null,
  margin: null,
  speed_kept: null,
  tension_usual: null,
  tension_low: null,
  tension_high: null,
  tension_back_seconds: null,
  guide_left: null,
  guide_left_unit: null,
  guide_left_share: null,
  preparation_seconds: null,
  preparation: [],
  down_seconds: null,
  forecast_errors: [],
  roll_id: null,
  material: null,
  spindle: null,
  new_roll_id: null,
  new_material: null,
  new_spindle: null,
  waiting_spindle: null,
  new_roll_diameter: null,
  kilograms_per_metre: null,
  price_per_metre: null,
  currency: null,
  tail: null,
  buffer_ended: null,
  web_parted: null,
  faulted: null,
  line_fell: null,
  cut_short: null,
  alarms: [],
  extra: {},
}

/** Units of the figures; empty where the name or another column says it, and for shares. */
export const DETAIL_UNITS = {
  deceleration: 'm/s²',
  acceleration: 'm/s²',
  refill_seconds: '',
  setting: 'mm',
  trigger_offset: 'mm',
  buffer_at_start: 'm',
  left_on_roll_low: 'm',
  left_on_roll_high: 'm',
  margin_forecast: 'm',
  margin: 'm',
  speed_kept: '',
  tension_usual: 'N',
  tension_low: 'N',
  tension_high: 'N',
  tension_back_seconds: '',
  guide_left: '',
  guide_left_share: '',
  preparation_seconds: '',
  down_seconds: '',
  new_roll_diameter: 'mm',
  kilograms_per_metre: '',
  price_per_metre: '',
  tail: 'm',
} as const satisfies Record<FigureOf<SpliceDetails>, string>

/** A record as it was kept, whatever version wrote it. */
export const withDetails = <T extends { details?: Partial<SpliceDetails> }>(
  kept: T,
): Omit<T, 'details'> & { details: SpliceDetails } => ({ ...kept, details: { ...NO_DETAILS, ...kept.details } })

/**
 * The side that spliced: where the new roll was, also of a cycle that went wrong before it took over. Null where that is not
 * known; the side that the old roll ran off did not make the joint, and is never counted for it.
 */
export const sideOf = ({
  details,
}: {
  details: Pick<SpliceDetails, 'new_spindle' | 'waiting_spindle'>
}): string | null => details.new_spindle ?? details.waiting_spindle
