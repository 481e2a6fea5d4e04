/** What a pipeline is given when it is built, and what it gives out. */
import type { AlarmView, SpliceView } from './api/messages.ts'
import type { AlarmRow } from './columns.ts'
import type { MaterialConfig } from './config/config.ts'
import type { CountDifference, JointEventRow, JointView } from './joint-columns.ts'
import type { Messages } from './messages/message.ts'
import type { Sample } from './sample.ts'
import type { LogEntry } from './trend-views.ts'

export interface PipelineOptions {
  staleAfterS: (source: string) => number
  materials: Readonly<Record<string, MaterialConfig>>
  messages: Messages
  /** Called with every value in the contract's unit, or null where a value ended: for history and traces. */
  onSignal?: ((unwind: string, signal: string, tMs: number, value: number | null) => void) | undefined
  /** Called with every report that can't be a value of its signal. */
  onIgnored?: ((unwind: string, signal: string, sample: Sample) => void) | undefined
}

export interface PipelineResults {
  splices: SpliceView[]
  alarms: AlarmRow[]
  alarmViews: AlarmView[]
  log: LogEntry[]
  /** Joints of which something is new. */
  joints: JointView[]
  /** What happened to joints at stations, in order. */
  jointEvents: JointEventRow[]
  /** Where the PLC's own count of splices and the list differ. */
  differences: CountDifference[]
}

/** Nothing happened: as at most steps. */
export const isNothing = ({ splices, alarms, alarmViews, log }: PipelineResults): boolean =>
  splices.length === 0 && alarms.length === 0 && alarmViews.length === 0 && log.length === 0

export const noResults = (): PipelineResults => ({
  splices: [],
  alarms: [],
  alarmViews: [],
  log: [],
  joints: [],
  jointEvents: [],
  differences: [],
})

export const NOTHING: PipelineResults = noResults()
for (const none of Object.values(NOTHING)) Object.freeze(none)
