/** One joint on its way through the line, as plain data. Times ms since 1970 UTC, lengths m. */
import type { JointEventName, JointRegister, JointSideLay, JointState } from '../joint-columns.ts'

export interface Joint {
  /** Id of its splice. */
  id: string
  madeTMs: number
  /** Web that the line had taken at the transfer, and what lay in the buffer between splicer and line then. */
  webM: number
  storedM: number
  /** Web off the roll at the transfer. */
  rollWebM: number
  /** Standard deviation from times in which nobody saw how much web passed. */
  lostSdM: number
  stations: JointPassing[]
  broke: { tMs: number; station: string | null; isAtJoint: boolean } | null
  sideLay: JointSideLay | null
  register: JointRegister | null
}

export interface JointPassing {
  name: string
  arrivedTMs: number | null
  seenTMs: number | null
  outTMs: number | null
  outBy: string | null
  isUnconfirmed: boolean
  /** At a rewinder; metres from that roll's start, null where nobody saw it begin. */
  finishedRoll: { id: string; metres: number | null } | null
}

/** Something happened to a joint at a station. */
export interface JointEvent {
  tMs: number
  joint: string
  event: JointEventName
  /** Past the station by web that passed, m. */
  pastM: number
  /** As it stood then. */
  passing: JointPassing
}

export const newPassing = (name: string): JointPassing => ({
  name,
  arrivedTMs: null,
  seenTMs: null,
  outTMs: null,
  outBy: null,
  isUnconfirmed: false,
  finishedRoll: null,
})

export function stateOf(passing: JointPassing): JointState {
  if (passing.outTMs !== null) return 'out'
  if (passing.isUnconfirmed) return 'unconfirmed'
  return passing.arrivedTMs === null ? 'due' : 'passed'
}
