/** What a pipeline keeps to go on from, as plain data. */

import type { Assessment } from './estimators/assessment.ts'
import type { LearnedSplicer } from './estimators/learning/splicer.ts'
import type { newFactMemory } from './pipeline-facts.ts'

/** A snapshot of another shape than this one's is not read. */
export const SNAPSHOT_VERSION = 27

export interface PipelineState {
  version: number
  /** By the part's name. */
  parts: Record<string, unknown>
  learned: LearnedSplicer
  storedM: number | null
  assessment: Assessment | null
  memory: Parameters<typeof newFactMemory>[0]
  firstTMs: number | null
  lastTMs: number | null
}

/** What keeps its own state as plain data. */
export type Parts = Readonly<Record<string, { snapshot(): unknown; restore(state: never): void }>>

export const snapshotsOf = (parts: Parts): Record<string, unknown> =>
  Object.fromEntries(Object.entries(parts).map(([name, part]) => [name, part.snapshot()]))

/** @throws Error where a part's state is missing. */
export function restoreParts(parts: Parts, states: Record<string, unknown>): void {
  for (const [name, part] of Object.entries(parts)) {
    if (states[name] === undefined) throw new Error(`it lacks ${name}`)
    part.restore(states[name] as never)
  }
}
