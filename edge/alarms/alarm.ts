/**
 * One alarm as a state machine, after ISA-18.2 (state letters from memory of the standard):
 *
 *   A normal → B unacknowledged → C acknowledged → A, and B → D returned unacknowledged → A.
 *
 * It knows nothing of unwinds or texts. A judgement of the condition and the time go in, events come out; the state is
 * plain data and is its own snapshot. What the condition's deadband is, the condition itself decides.
 */
import type { AlarmState } from '../api/messages.ts'
import type { AlarmEventName, Priority } from '../columns.ts'

/** Where an alarm stands. Plain data: written to a snapshot as it is. */
export interface AlarmStanding {
  state: AlarmState
  /** The condition holds since, while the on-delay runs; ms since 1970 UTC. */
  pendingTMs: number | undefined
  /** The condition is gone since, while the off-delay runs. */
  returningTMs: number | undefined
  /** Suppressed by design while it stood (state H); the state it had is kept in `state`. */
  isSuppressed: boolean
  /** Put aside by a person until then (state G); undefined where it is not. */
  shelvedUntilTMs: number | undefined
  /** The highest priority since it was raised. */
  priority: Priority
  raisedTMs: number | undefined
  clearedTMs: number | undefined
}

export interface Delays {
  /** The condition must hold this long before the alarm is raised, s. */
  onDelayS: number
  /** The condition must be gone this long before the alarm clears, s. */
  offDelayS: number
}

/** What the condition says now: undefined is "no alarm", `suppressed` is "means nothing at present". */
export type Judgement = Priority | 'suppressed' | undefined

const NOTHING: readonly AlarmEventName[] = Object.freeze([])
const RANK: Readonly<Record<Priority, number>> = { low: 1, medium: 2, high: 3 }

export const isHigher = (one: Priority, than: Priority): boolean => RANK[one] > RANK[than]

export const normalAlarm = (): AlarmStanding => ({
  state: 'normal',
  pendingTMs: undefined,
  returningTMs: undefined,
  isSuppressed: false,
  shelvedUntilTMs: undefined,
  priority: 'low',
  raisedTMs: undefined,
  clearedTMs: undefined,
})

/** The condition was true at the last step and the alarm is raised, acknowledged or not. */
export const isRaised = (alarm: AlarmStanding): boolean =>
  alarm.state === 'unacknowledged' || alarm.state === 'acknowledged'

/** Takes the judgement at `tMs` into the alarm; returns what happened, in order. Times must not go backwards. */
export function stepAlarm(
  alarm: AlarmStanding,
  judgement: Judgement,
  delays: Delays,
  tMs: number,
): readonly AlarmEventName[] {
  if (alarm.shelvedUntilTMs !== undefined) {
    if (tMs < alarm.shelvedUntilTMs) return NOTHING
    return unshelve(alarm, judgement, tMs)
  }
  if (judgement === 'suppressed') return suppress(alarm)
  if (alarm.isSuppressed) return unsuppress(alarm, judgement, tMs)
  return isRaised(alarm) ? whileRaised(alarm, judgement, delays, tMs) : whileNotRaised(alarm, judgement, delays, tMs)
}

/** A person puts an alarm that stands aside for a while: only what is known and looked after. */
export function shelveAlarm(alarm: AlarmStanding, untilTMs: number): readonly AlarmEventName[] {
  if (!isRaised(alarm) || alarm.isSuppressed) return NOTHING
  alarm.shelvedUntilTMs = untilTMs
  return ['shelved']
}

/** Its time is over, or a person ends it: it stands or is gone as the condition now is, and asks for attention anew. */
export function unshelve(alarm: AlarmStanding, judgement: Judgement, tMs: number): readonly AlarmEventName[] {
  if (alarm.shelvedUntilTMs === undefined) return NOTHING
  alarm.shelvedUntilTMs = undefined
  const events = unsuppress(alarm, judgement === 'suppressed' ? undefined : judgement, tMs)
  return ['unshelved', ...events.filter((event) => event !== 'unsuppressed')]
}

/** A person has seen it. Nothing happens where nothing waits for that. */
export function acknowledgeAlarm(alarm: AlarmStanding): readonly AlarmEventName[] {
  if (alarm.state === 'unacknowledged') alarm.state = 'acknowledged'
  else if (alarm.state === 'returned_unacknowledged') alarm.state = 'normal'
  else return NOTHING
  return ['acknowledged']
}

function whileNotRaised(
  alarm: AlarmStanding,
  judgement: Priority | undefined,
  delays: Delays,
  tMs: number,
): readonly AlarmEventName[] {
  if (judgement === undefined) {
    alarm.pendingTMs = undefined
    return NOTHING
  }
  alarm.pendingTMs ??= tMs
  if (tMs - alarm.pendingTMs < delays.onDelayS * 1000) return NOTHING
  alarm.state = 'unacknowledged'
  alarm.priority = judgement
  alarm.raisedTMs = tMs
  alarm.clearedTMs = undefined
  alarm.pendingTMs = undefined
  return ['raised']
}

function whileRaised(
  alarm: AlarmStanding,
  judgement: Priority | undefined,
  delays: Delays,
  tMs: number,
): readonly AlarmEventName[] {
  if (judgement !== undefined) {
    alarm.returningTMs = undefined
    if (!isHigher(judgement, alarm.priority)) return NOTHING
    // More serious than what was acknowledged: it asks for attention again.
    alarm.priority = judgement
    alarm.state = 'unacknowledged'
    return ['raised']
  }
  alarm.returningTMs ??= tMs
  if (tMs - alarm.returningTMs < delays.offDelayS * 1000) return NOTHING
  alarm.state = alarm.state === 'acknowledged' ? 'normal' : 'returned_unacknowledged'
  clear(alarm, tMs)
  return ['cleared']
}

/** Only an alarm that stands is put aside; one that merely waits starts its on-delay again afterwards. */
function suppress(alarm: AlarmStanding): readonly AlarmEventName[] {
  alarm.pendingTMs = undefined
  if (alarm.isSuppressed || !isRaised(alarm)) return NOTHING
  alarm.isSuppressed = true
  return ['suppressed']
}

/** Leaving H goes to A or B as the condition now is: whoever acknowledged it did so in another situation. */
function unsuppress(alarm: AlarmStanding, judgement: Priority | undefined, tMs: number): readonly AlarmEventName[] {
  alarm.isSuppressed = false
  if (judgement === undefined) {
    alarm.state = 'normal'
    clear(alarm, tMs)
    return ['unsuppressed', 'cleared']
  }
  alarm.returningTMs = undefined
  alarm.state = 'unacknowledged'
  if (!isHigher(judgement, alarm.priority)) return ['unsuppressed']
  alarm.priority = judgement
  return ['unsuppressed', 'raised']
}

function clear(alarm: AlarmStanding, tMs: number): void {
  alarm.clearedTMs = tMs
  alarm.returningTMs = undefined
}
