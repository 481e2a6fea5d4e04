/** What a pipeline keeps to go on from, as plain data. */

import type { AlarmBoard } from './alarms/board.ts'
import type { AlarmFacts } from './alarms/facts.ts'
import type { ConsistencyWatch } from './consistency/watch.ts'
import type { Assessment } from './estimators/assessment.ts'
import type { LearnedSplicer } from './estimators/learning/splicer.ts'
import type { RunningRoll } from './estimators/running-roll.ts'
import type { WebLength } from './estimators/web-length.ts'
import type { newFactMemory } from './pipeline-facts.ts'
import type { UnwindTrendsState } from './pipeline-trends.ts'
import type { UnwindSignals } from './signals/unwind-signals.ts'

/** A snapshot of another shape than this one's is not read. */
export const SNAPSHOT_VERSION = 6

/** What is no estimate and still holds after a fault. */
export interface Salvage {
  signals: Parameters<UnwindSignals['restore']>[0]
  alarms: Parameters<AlarmBoard<AlarmFacts>['restore']>[0]
}

export interface PipelineState {
  version: number
  signals: Parameters<UnwindSignals['restore']>[0]
  cycle: unknown
  /** Undefined in a snapshot from before there was advice. */
  advice?: unknown
  trends: UnwindTrendsState
  consistency: Parameters<ConsistencyWatch['restore']>[0]
  web: Parameters<WebLength['restore']>[0]
  roll: Parameters<RunningRoll['restore']>[0]
  book: unknown
  alarms: Parameters<AlarmBoard<AlarmFacts>['restore']>[0]
  learned: LearnedSplicer
  storedM: number | null
  assessment: Assessment | null
  memory: Parameters<typeof newFactMemory>[0]
  firstTMs: number | null
  lastTMs: number | null
}
