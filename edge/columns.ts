/**
 * The contract's columns: what CSV files, API, history, database and screens carry.
 * Lengths m, diameters mm, caliper µm, speed m/min, durations s; times ISO 8601 UTC with milliseconds; unknown is null.
 */
export const UNWIND_STATES = ['running', 'filling', 'splicing', 'refilling', 'standing', 'no_roll', 'unknown'] as const
export type UnwindState = (typeof UNWIND_STATES)[number]

export interface ForecastRow {
  time: string
  unwind: string
  state: UnwindState
  diameter: number | null
  caliper: number | null
  metres_to_splice: number | null
  metres_low: number | null
  metres_high: number | null
  seconds_to_splice: number | null
  seconds_low: number | null
  seconds_high: number | null
  buffer_stored: number | null
  buffer_needed: number | null
  buffer_margin: number | null
  safe_speed: number | null
}

/** Numbers of the advice that are stored beside a forecast; the CSV files have only the columns above. */
export interface AdviceColumns {
  must_be_ready_seconds: number | null
  must_be_ready_low: number | null
  must_be_ready_high: number | null
  lasting_speed: number | null
  lasting_speed_low: number | null
  lasting_speed_high: number | null
  smallest_splice_diameter: number | null
  smallest_splice_diameter_deviation: number | null
  left_on_core: number | null
  left_on_core_deviation: number | null
  avoidable_on_core: number | null
  caliper_deviation: number | null
  caliper_significance: number | null
  out_of_round: number | null
  out_of_round_deviation: number | null
  flag_metres: number | null
  flag_metres_low: number | null
  flag_metres_high: number | null
  job_left_on_roll: number | null
  job_left_on_roll_deviation: number | null
  rolls_to_stage: number | null
}

/** A forecast as it is stored. */
export type StoredForecast = ForecastRow & Partial<AdviceColumns>

export const OUTCOMES = ['good', 'failed', 'missed', 'aborted'] as const
export type Outcome = (typeof OUTCOMES)[number]
export const CAUSES = [
  'no_new_roll',
  'splicer_fault',
  'ran_out',
  'cycle_too_slow',
  'buffer_empty',
  'web_break',
  'unknown',
] as const
export type Cause = (typeof CAUSES)[number]
export const FLAGS = ['early', 'late', 'manual', 'slow_cycle', 'low_buffer', 'slowed_line'] as const
export type SpliceFlag = (typeof FLAGS)[number]

export interface SpliceRow {
  unwind: string
  started: string
  /** Null until the buffer is back at its running position or the verdict fell. */
  ended: string | null
  /** Null while the verdict is open. */
  outcome: Outcome | null
  /** Null when good or open. */
  cause: Cause | null
  /** `;`-separated. */
  flags: string
  diameter: number | null
  speed: number | null
  stopped_seconds: number | null
  web_from_buffer: number | null
  buffer_low: number | null
  left_on_roll: number | null
  /** `<unwind>-<started in UTC ms>`, fixed when the cycle is first recognised. */
  id: string
}

export const PHASES = ['fill', 'decelerate', 'stopped', 'accelerate', 'refill'] as const
export type Phase = (typeof PHASES)[number]
/** A phase of one splice: start as ISO 8601 UTC, length in s (null while it lasts). */
export interface PhaseSpan {
  phase: Phase
  started: string
  seconds: number | null
}

/** What is charted of each splice, to see it get worse before it fails. */
export const TREND_METRICS = [
  'stop',
  'deceleration',
  'acceleration',
  'refill',
  'web_used',
  'low_point',
  'trigger_offset',
  'preparation',
] as const
export type TrendMetric = (typeof TREND_METRICS)[number]

export const ALARM_IDS = [
  'roll_not_ready',
  'splicer_not_auto',
  'buffer_short',
  'buffer_not_filling',
  'splice_overdue',
  'splice_missed',
  'splice_failed',
  'web_break',
  'buffer_not_recovering',
  'diameter_implausible',
  'diameter_not_reset',
  'speeds_disagree',
  'caliper_off_label',
  'roll_out_of_round',
  'source_lost',
  'cycle_slowing',
  'setting_wastes_web',
  'store_failing',
  'pipeline_fault',
  'joint_not_out',
  'side_lay_off',
  'decurler_standing',
  'wrong_roll_spliced',
  'tension_low',
] as const
export type AlarmId = (typeof ALARM_IDS)[number]
export type Priority = 'low' | 'medium' | 'high'
export const ALARM_EVENTS = [
  'raised',
  'cleared',
  'acknowledged',
  'shelved',
  'unshelved',
  'suppressed',
  'unsuppressed',
  'out_of_service',
  'returned_to_service',
] as const
export type AlarmEventName = (typeof ALARM_EVENTS)[number]

export interface AlarmRow {
  time: string
  /** Empty where site-wide. */
  unwind: string
  alarm: AlarmId
  event: AlarmEventName
  priority: Priority
  value: number | null
  limit: number | null
  text: string
}

export const FORECAST_COLUMNS = [
  'time',
  'unwind',
  'state',
  'diameter',
  'caliper',
  'metres_to_splice',
  'metres_low',
  'metres_high',
  'seconds_to_splice',
  'seconds_low',
  'seconds_high',
  'buffer_stored',
  'buffer_needed',
  'buffer_margin',
  'safe_speed',
] as const satisfies readonly (keyof ForecastRow)[]

/** Every number that is stored with a forecast, with its unit: what a chart of the past can ask for. */
export const COLUMN_UNITS = {
  diameter: 'mm',
  caliper: 'µm',
  metres_to_splice: 'm',
  metres_low: 'm',
  metres_high: 'm',
  seconds_to_splice: 's',
  seconds_low: 's',
  seconds_high: 's',
  buffer_stored: 'm',
  buffer_needed: 'm',
  buffer_margin: 'm',
  safe_speed: 'm/min',
  must_be_ready_seconds: 's',
  must_be_ready_low: 's',
  must_be_ready_high: 's',
  lasting_speed: 'm/min',
  lasting_speed_low: 'm/min',
  lasting_speed_high: 'm/min',
  smallest_splice_diameter: 'mm',
  smallest_splice_diameter_deviation: 'mm',
  left_on_core: 'm',
  left_on_core_deviation: 'm',
  avoidable_on_core: 'm',
  caliper_deviation: 'µm',
  caliper_significance: '',
  out_of_round: 'mm',
  out_of_round_deviation: 'mm',
  flag_metres: 'm',
  flag_metres_low: 'm',
  flag_metres_high: 'm',
  job_left_on_roll: 'm',
  job_left_on_roll_deviation: 'm',
  rolls_to_stage: '',
} as const satisfies Record<Exclude<keyof StoredForecast, 'time' | 'unwind' | 'state'>, string>

/** Keys of a record that hold a figure. */
export type FigureOf<T> = { [K in keyof T]: Exclude<T[K], null> extends number ? K : never }[keyof T]

export const SPLICE_COLUMNS = [
  'unwind',
  'started',
  'ended',
  'outcome',
  'cause',
  'flags',
  'diameter',
  'speed',
  'stopped_seconds',
  'web_from_buffer',
  'buffer_low',
  'left_on_roll',
  'id',
] as const satisfies readonly (keyof SpliceRow)[]

/** Of the columns of a splice that are figures; empty where the name says it. */
export const SPLICE_UNITS = {
  diameter: 'mm',
  speed: 'm/min',
  stopped_seconds: '',
  web_from_buffer: 'm',
  buffer_low: 'm',
  left_on_roll: 'm',
} as const satisfies Record<FigureOf<SpliceRow>, string>

export const ALARM_COLUMNS = [
  'time',
  'unwind',
  'alarm',
  'event',
  'priority',
  'value',
  'limit',
  'text',
] as const satisfies readonly (keyof AlarmRow)[]
