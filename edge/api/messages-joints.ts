/** What the API says of joints and asks the daemon about them. */
import type { CountDifference, JointEventRow, JointView } from '../joint-columns.ts'

/** Newest first, by time in ms since 1970 UTC. */
export interface SpanFilter {
  unwind?: string | undefined
  fromTMs?: number | undefined
  toTMs?: number | undefined
  limit: number
}

export interface JointsPort {
  joints(filter: SpanFilter): JointView[]
  jointEvents(filter: SpanFilter): JointEventRow[]
  countDifferences(filter: SpanFilter): CountDifference[]
}

/** A person says that a joint was taken out at a station. */
export type JointCommand = { kind: 'joint_out'; unwind: string; joint: string; station: string; person: string }
