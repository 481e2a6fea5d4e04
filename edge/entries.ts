/**
 * What people enter, as tags of the built-in source `operator`: the names and meanings that sources, recordings, pipeline, API
 * and screens share. Lengths m, diameters and widths mm; an empty value takes an entry back.
 *
 * - `ready/<unwind>`: true or false
 * - `stage/<unwind>/<stage>`: true when a stage of the preparation is done, false takes it and what follows back
 * - `waiting/<unwind>/<field>`: the roll that waits
 * - `job/<unwind>/<field>`: what the running job still needs, and of what
 * - `flag/<unwind>`, `flag/<unwind>/waiting`: a joint or defect inside a roll, radial depth in mm when it was loaded; 0 takes all back
 * - `joint_out/<unwind>/<station>`: the joint with this splice's id was taken out there
 * - `acknowledge/<unwind>/<alarm>`: with the comment; `shelve/<unwind>/<alarm>`: for how many seconds, 0 ends it
 */

/** Who enters something on a machine where nobody signs in and no name is given. */
export const NOBODY_NAMED = 'local'

/** The stages of preparing a roll, in order, as the config's `preparation` has them. */
export const STAGES = ['fetch', 'load', 'splice_prep'] as const
export type Stage = (typeof STAGES)[number]

/** Which way the side that is printed or coated faces on the roll. */
export const WINDINGS = ['out', 'in'] as const
export type Winding = (typeof WINDINGS)[number]

/** What is known of a waiting roll by its label; undefined is not entered. */
export interface RollFields {
  roll_id?: string | undefined
  material?: string | undefined
  /** mm */
  diameter?: number | undefined
  /** On the label, m. */
  length?: number | undefined
  /** mm */
  width?: number | undefined
  winding?: Winding | undefined
  /** Quality has not released it. */
  hold?: boolean | undefined
}
/** What a scanned code says. */
export interface ReadLabel {
  roll: RollFields
  /** False where the code is only a text that might be a roll's number: whoever scanned it is asked. */
  isLabel: boolean
}

export const ROLL_FIELDS = ['roll_id', 'material', 'diameter', 'length', 'width', 'winding', 'hold'] as const

/** What the job asks for; undefined is not entered. */
export interface JobFields {
  material?: string | undefined
  /** mm */
  width?: number | undefined
  winding?: Winding | undefined
  /** Web that it still needs from now on, m. */
  remaining?: number | undefined
}
export const JOB_FIELDS = ['material', 'width', 'winding', 'remaining'] as const

/** What the next roll still lacks, in the order in which it is told. */
export const MISSING_LINKS = [
  'hold',
  'wrong_roll',
  'fetch',
  'load',
  'splice_prep',
  'arm',
  'ready',
  'splicer_auto',
] as const
export type MissingLink = (typeof MISSING_LINKS)[number]

/** In what a waiting roll is not the one that the job needs. */
export const ROLL_FAULTS = ['hold', 'material', 'width', 'winding'] as const
export type RollFaultKind = (typeof ROLL_FAULTS)[number]

/** What the job asks of a roll and its label may leave out. */
export const ROLL_CHECKS = ['material', 'width', 'winding'] as const
export type RollCheck = (typeof ROLL_CHECKS)[number]

export type FlaggedRoll = 'running' | 'waiting'

export const readyAddress = (unwind: string): string => `ready/${unwind}`
export const stageAddress = (unwind: string, stage: Stage): string => `stage/${unwind}/${stage}`
export const waitingAddress = (unwind: string, field: (typeof ROLL_FIELDS)[number]): string =>
  `waiting/${unwind}/${field}`
export const jobAddress = (unwind: string, field: (typeof JOB_FIELDS)[number]): string => `job/${unwind}/${field}`
export const flagAddress = (unwind: string, roll: FlaggedRoll = 'running'): string =>
  roll === 'running' ? `flag/${unwind}` : `flag/${unwind}/waiting`
/** A station's name may hold any character. */
export const jointOutAddress = (unwind: string, station: string): string =>
  `joint_out/${unwind}/${encodeURIComponent(station)}`
/** `unwind` is empty for an alarm of the whole site. */
export const acknowledgeAddress = (unwind: string, alarm: string): string => `acknowledge/${unwind}/${alarm}`
export const shelveAddress = (unwind: string, alarm: string): string => `shelve/${unwind}/${alarm}`

/** Every address of one unwind; `alarms` are all ids. */
export const entryAddresses = (unwind: string, alarms: readonly string[]): string[] => [
  ...(unwind === ''
    ? []
    : [
        readyAddress(unwind),
        ...STAGES.map((stage) => stageAddress(unwind, stage)),
        ...ROLL_FIELDS.map((field) => waitingAddress(unwind, field)),
        ...JOB_FIELDS.map((field) => jobAddress(unwind, field)),
        flagAddress(unwind),
        flagAddress(unwind, 'waiting'),
      ]),
  ...alarms.flatMap((alarm) => [acknowledgeAddress(unwind, alarm), shelveAddress(unwind, alarm)]),
]
