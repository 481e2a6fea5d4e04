/**
 * A joint after its splice, as API, history and screens carry it. Lengths m, offsets mm, times ISO 8601 UTC; unknown is null.
 */
export interface JointView {
  /** The id of its splice. */
  id: string
  unwind: string
  /** The transfer. */
  made: string
  stations: JointAtStation[]
  /** The web broke while this joint was on its way; null where it did not. */
  broke: { time: string; at_joint: boolean; station: string | null } | null
  /** Null until the joint has passed the sensor, or where there is none. */
  side_lay: JointSideLay | null
  register: JointRegister | null
}

/** `due` coming; `passed` nothing to take out; `out` taken out; `unconfirmed` passed, and nobody said that it was taken out. */
export const JOINT_STATES = ['due', 'passed', 'out', 'unconfirmed'] as const
export type JointState = (typeof JOINT_STATES)[number]

export interface JointAtStation {
  station: string
  state: JointState
  takes_out: boolean
  /** Web until it is there by web that really passed, with its standard deviation; negative: past it. */
  metres: number
  metres_deviation: number
  /** At the present speed; null while the line stands or when it has passed. */
  seconds: number | null
  arrived: string | null
  /** By the station's own sensor. */
  seen: string | null
  /** Taken out: when, and by whom where a person said so. */
  out: string | null
  out_by: string | null
  /** At a rewinder: which finished roll it lies in, and how far from that roll's start. */
  finished_roll: string | null
  finished_roll_metres: number | null
}

/**
 * What happens to a joint at a station: `arrived` by web that really passed; `seen` by the station's own sensor, which then
 * says when it arrived; `out` taken out; `unconfirmed` so far past that it is in the product.
 */
export const JOINT_EVENTS = ['arrived', 'seen', 'out', 'unconfirmed'] as const
export type JointEventName = (typeof JOINT_EVENTS)[number]

/** One event of one joint. Each comes once; after a kill the last one may come again, and takes the place of the first. */
export interface JointEventRow {
  time: string
  unwind: string
  /** The id of its splice. */
  joint: string
  station: string
  event: JointEventName
  /** The joint has to be taken out here. */
  takes_out: boolean
  /** How far past the station it was by web that passed, m; below 0 before it. */
  metres: number
  /** Who said that it was taken out, where a person did. */
  person: string | null
  /** At a rewinder: the finished roll in which it lies, and how far from that roll's start. */
  finished_roll: string | null
  finished_roll_metres: number | null
}

/** A finished roll with the joints that are known in it. One without joints is not told of. */
export interface FinishedRollView {
  unwind: string
  /** The rewinder. */
  station: string
  roll: string
  /** From the roll's start on; `metres` null where nobody saw it begin; `out` the station that took the joint out. */
  joints: { joint: string; arrived: string; metres: number | null; out: string | null }[]
}

export const SIDE_LAY_REASONS = ['new_web', 'old_web', 'both_webs', 'drift'] as const
export type SideLayReason = (typeof SIDE_LAY_REASONS)[number]

export interface JointSideLay {
  /** Of the old and the new web at the joint, and the step between, mm. */
  before: number
  after: number
  step: number
  /** How the old web wandered over the last 100 m before, mm. */
  drift: number | null
  within: boolean
  reason: SideLayReason | null
}

export interface JointRegister {
  /** At the joint, within half a repeat, mm. */
  error: number
  /** Web and repeats until it was back in register: 0 where it was in register at the joint; null where it did not come back while it was watched. */
  metres: number | null
  repeats: number | null
}

/** The PLC's own counter and the list differ. */
export interface CountDifference {
  unwind: string
  time: string
  /** `counted`: the counter rose and no splice was seen; `seen`: a splice was seen and the counter did not rise. */
  kind: 'counted' | 'seen'
  splices: number
}
