/** The signals that a config can map, with what kind of value each carries. The names are the contract's. */
export type Dimension =
  | 'speed' // m/s
  | 'length' // m
  | 'rotation' // turns per second
  | 'tension' // N/m or N, as the site states it
  | 'position' // a length (m), a share (0..1) or a raw count
  | 'any'

export interface SignalKind {
  value: 'number' | 'boolean' | 'text'
  /** For numbers: what its unit has to measure. */
  dimension?: Dimension
}

const number = (dimension: Dimension): SignalKind => ({ value: 'number', dimension })
const BOOLEAN: SignalKind = { value: 'boolean' }
const TEXT: SignalKind = { value: 'text' }

export const SIGNALS = {
  line_speed: number('speed'),
  roll_diameter: number('length'),
  buffer_position: number('position'),
  line_length: number('length'),
  unwind_speed: number('speed'),
  spindle_speed: number('rotation'),
  speed_setpoint: number('speed'),
  line_state: TEXT,
  splice_diameter: number('length'),
  new_roll_ready: BOOLEAN,
  splicer_auto: BOOLEAN,
  splice_active: BOOLEAN,
  splice_step: TEXT,
  splice_fault: BOOLEAN,
  web_break: BOOLEAN,
  splice_count: number('any'),
  active_spindle: TEXT,
  tension: number('tension'),
  tension_setpoint: number('tension'),
  roll_id: TEXT,
  material: TEXT,
  nominal_caliper: number('length'),
  waiting_diameter: number('length'),
  waiting_roll_id: TEXT,
  waiting_material: TEXT,
  job_remaining: number('length'),
  edge_offset: number('length'),
  register_error: number('length'),
  decurler_position: number('any'),
  joint_seen: BOOLEAN,
  reject_confirmed: BOOLEAN,
  finished_roll: TEXT,
} as const satisfies Record<string, SignalKind>

export type SignalName = keyof typeof SIGNALS
export const SIGNAL_NAMES = Object.keys(SIGNALS) as SignalName[]
/** Phases that `splice_step` values are mapped to. */
export const STEP_PHASES = ['idle', 'filling', 'slowing', 'stopped', 'starting', 'refilling', 'fault'] as const
/** Values that `line_state` is mapped to. */
export const LINE_STATES = ['run', 'thread', 'jog', 'stopped'] as const
