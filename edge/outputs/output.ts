/**
 * What an output promises. An output carries results to a system outside (a time-series database).
 *
 * - `write` never blocks and never throws; what it takes is durable in the store's spool before it returns to the caller's next turn.
 * - Sending again is harmless: same series and time overwrite.
 */
import type { SpliceRow } from '../columns.ts'

/** One point, ready for line protocol: tags few and bounded, fields numbers, booleans or text. */
export interface Point {
  measurement: 'forecast' | 'signal' | 'splice' | 'alarm' | 'joint'
  tags: { site: string; unwind?: string; station?: string }
  fields: Record<string, number | boolean | string>
  /** ms since 1970 UTC. */
  tMs: number
}

export interface OutputHealth {
  state: 'idle' | 'sending' | 'waiting'
  /** Points that wait in the spool. */
  waiting: number
  sent: number
  /** Points that the database refused for good; kept in the dead-letter table with the reason. */
  refused: number
  trouble: string | undefined
}

export interface Output {
  start(): void
  health(): OutputHealth
  stop(): Promise<void>
}

/** The fields of a splice that may be revised; time is `started`. */
export type SplicePointFields = Omit<SpliceRow, 'unwind' | 'started'>
