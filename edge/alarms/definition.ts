/** What one alarm is made of: the form that `catalogue.ts` fills in. */
import type { AlarmId, Priority } from '../columns.ts'
import type { Parameters } from '../messages/render.ts'
import type { Delays } from './alarm.ts'
import type { SlowTo } from './slow-to.ts'

/** What a condition says while it holds. */
export interface Finding {
  priority: Priority
  /** In SI, as the definition's `measure` says; undefined where there is none. */
  value: number | undefined
  limit: number | undefined
  /** Which of the definition's texts. */
  text: string
  parameters: Parameters
}

/** What one condition remembers from step to step. Plain data, part of the snapshot; one shape for all. */
export interface Memory {
  /** The alarm stands (set by the board before each call): hysteresis looks at it. */
  isRaised: boolean
  /** How far it had gone, for conditions that rise in stages. */
  stage: number
  /** The event that the condition speaks of at present (a splice's id, a break), and since when. */
  eventId: string | undefined
  eventTMs: number
  /** The event was followed by a stop of the line. */
  hasStopped: boolean
  /** The last event that is over and raises nothing any more. */
  handledId: string | undefined
  /** The speed that people were asked to slow to, and by when the roll is to be ready then. */
  slowTo: SlowTo | undefined
}

export const emptyMemory = (): Memory => ({
  isRaised: false,
  stage: 0,
  eventId: undefined,
  eventTMs: 0,
  hasStopped: false,
  handledId: undefined,
  slowTo: undefined,
})

/** Undefined: no reason for an alarm. Only `memory` may be changed. */
export type Condition<Facts> = (facts: Facts, memory: Memory) => Finding | undefined

/** How `value` and `limit` go from SI to the contract's unit. */
export type Measure = 'm' | 'mm' | 'um' | 'm/min' | 's' | 'none'

/** Why the alarm exists (after ISA-TR18.2.2): kept beside what it guards, for whoever reviews the alarms of a site. */
export interface Rationale {
  cause: string
  consequence: string
  response: string
  /** How long there is to respond before the consequence, in words. */
  timeToRespond: string
  /** Where the limit and the delays come from. */
  basis: string
}

export interface AlarmDefinition<Facts> extends Delays {
  id: AlarmId
  condition: Condition<Facts>
  /** It means something only while the line produces; else it is suppressed by design. */
  onlyProducing: boolean
  measure: Measure
  /** In the measure's contract unit, in words: how far back the condition has to go before it ends. */
  deadband: string
  /** Its texts (`alarm.<text>.short`, `.what`, `.action`), with the parameters that the condition supplies. */
  texts: Readonly<Record<string, readonly string[]>>
  rationale: Rationale
}
