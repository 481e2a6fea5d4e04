/** The words of one lane: what to do, and what is wrong. Pure, from what the daemon sent. */
import type { AlarmView, UnwindView } from '../../edge/api/messages.ts'
import type { AlarmId, Priority } from '../../edge/columns.ts'
import { alarmName } from '../alarm-name.ts'
import { alarmShort, alarmText } from '../daemon-words.ts'
import { isThreading } from '../live/line-state.ts'
import { hasMessage, say } from '../messages.ts'
import { formatTimeLeft, toStep } from '../times.ts'
import { speedAtMost } from '../units.ts'
import { isTooLateToPrepare } from './deadline.ts'
import { isUnchecked, readinessShown } from './lane-words.ts'
import { isWrongRoll, overTrouble, standingTrouble } from './trouble.ts'

export interface Instruction {
  /** What to do, or that nothing is to be done. */
  verb: string
  /** `calm` is grey; the others are an alarm's priority. */
  tone: 'calm' | Priority
  /** What is wrong, in a few words; undefined where nothing is. */
  wrong: string | undefined
  /** The alarm behind it; undefined where the daemon has raised none (yet). */
  alarm: AlarmView | undefined
  isAcknowledged: boolean
  /** Further alarms, in order of weight, then the splice that went wrong and is over: nothing is to be done of it now. */
  others: readonly AlarmView[]
}

/** Characters of a source's name that stand behind "Source lost: ". */
const MOST_SOURCE = 14
/** Characters of what is wrong: it stands beside a name, at 16 arcmin. */
const MOST_WRONG = 22

/** A highest speed is said only where it is lower than the line runs: it is for slowing down, never to go faster. */
const slowDown = (view: UnwindView): string => {
  const { safe_speed: highest, line_speed: speed } = view
  if (highest === null || highest < 1 || (speed !== null && highest >= speed)) return say('alarm.slow_the_line')
  return say('alarm.buffer_short.do', { speed: speedAtMost(highest) })
}

/** Alarms whose short text carries the instruction behind its colon ("Roll not ready: slow or stop"). */
const SAYS_WHAT_TO_DO: ReadonlySet<AlarmId> = new Set(['roll_not_ready', 'splicer_not_auto', 'buffer_short'])

const upperFirst = (text: string): string => text.charAt(0).toUpperCase() + text.slice(1)

/** The source that lost all it had for an unwind of which nothing is known any more; undefined where single signals are silent. */
const lostSource = ({ state, stale }: Pick<UnwindView, 'state' | 'stale'>): string | undefined => {
  const sources = new Set(stale.map(({ source }) => source))
  return state === 'unknown' && stale.length > 1 && sources.size === 1 ? [...sources][0] : undefined
}

/** What is wrong in a few words: the daemon's short text up to its colon where it sends one, else the catalogue's. */
export const shortAlarm = (alarm: AlarmView, view?: Pick<UnwindView, 'state' | 'stale'>): string => {
  const source = alarm.alarm === 'source_lost' && view !== undefined ? lostSource(view) : undefined
  if (source !== undefined) return say('alarm.source_lost.name', { source: source.slice(0, MOST_SOURCE) })
  return wholeOf(alarm).split(': ')[0] ?? ''
}

/** What is to be done about an alarm at length; undefined where it is over: it would order what is done. */
export const textOf = (alarm: AlarmView | undefined): string | undefined =>
  alarm === undefined || alarm.cleared !== null ? undefined : alarmText(alarm)

const wholeOf = (alarm: AlarmView): string => alarmName(alarm)

/** With its cause, where what stands behind the colon is one and no order. */
const wrongWords = (alarm: AlarmView, view: UnwindView): string => {
  const isWhole = !SAYS_WHAT_TO_DO.has(alarm.alarm) && alarm.alarm !== 'source_lost'
  const whole = wholeOf(alarm)
  return isWhole && whole.length <= MOST_WRONG ? whole : shortAlarm(alarm, view)
}

/** With no roll ready, or the splicer out of automatic, no splice can begin. */
const canBegin = (view: UnwindView): boolean => readinessShown(view) !== 'no'

const responseTo = (alarm: AlarmView, view: UnwindView): string => {
  const said = SAYS_WHAT_TO_DO.has(alarm.alarm) ? alarmShort(alarm)?.split(': ')[1] : undefined
  if (alarm.alarm === 'roll_not_ready') return notReady(view, alarm, said)
  if (alarm.alarm === 'splice_overdue' && !canBegin(view)) return say('verb.stop')
  // A speed is for a line that runs.
  if (alarm.alarm === 'buffer_short' && view.state === 'standing') return calmVerb(view)
  if (said !== undefined && said !== '') return upperFirst(said)
  if (alarm.alarm === 'buffer_short') return slowDown(view)
  if (alarm.alarm === 'source_lost' && isOnlyFestoonLost(view)) return say('alarm.source_lost.do.festoon')
  // Nobody is told to stop what stands, or what is being threaded.
  const standing = `alarm.${alarm.alarm}.do.standing`
  if ((view.state === 'standing' || isThreading(view)) && hasMessage(standing)) return say(standing)
  const key = `alarm.${alarm.alarm}.do`
  return hasMessage(key) ? say(key) : alarmText(alarm)
}

/** The roll is seen and counted down; only how far the festoon is filled is not known. */
const isOnlyFestoonLost = ({ stale, seconds_to_splice: seconds }: UnwindView): boolean =>
  seconds !== null && stale.length > 0 && stale.every(({ signal }) => signal === 'buffer_position')

/** "Slow to 165 m/min or stop": which speed the daemon says; that slowing alone may not do is part of it. */
const notReady = (view: UnwindView, { words }: AlarmView, said: string | undefined): string => {
  if (words?.key === 'alarm.roll_not_ready.stop') return say('verb.stop')
  const speed = said === undefined ? undefined : /\d+(?:[.,]\d+)? \S+$/.exec(said)?.[0]
  if (speed !== undefined) return say('verb.slow_to_or_stop', { speed })
  if (said !== undefined && said !== '') return say('verb.slow_or_stop')
  return isTooLateToPrepare(view) ? say('verb.slow_or_stop') : prepare(view)
}

/** The first link that is missing, as an order. */
const prepare = ({ preparation: { missing } }: UnwindView): string =>
  missing === 'hold' || missing === 'wrong_roll'
    ? say(missing === 'hold' ? 'verb.change_roll' : 'verb.right_roll')
    : missing === 'splicer_auto'
      ? say('verb.splicer_auto')
      : missing === 'fetch' || missing === 'load' || missing === 'splice_prep' || missing === 'arm'
        ? say(`verb.prepare.${missing}`)
        : say('verb.prepare')

/** A line that runs to the end of its job asks for nothing: undefined where a further roll is needed. */
const jobEnds = ({ job_end: end }: UnwindView): string | undefined => {
  if (end === null || end.seconds === null) return undefined
  const { figures, unit } = formatTimeLeft(toStep(end.seconds))
  return say('verb.job_ends', { time: `${figures} ${unit}` })
}

const calmVerb = (view: UnwindView): string => {
  if (view.state === 'unknown') return say('verb.unknown')
  if (view.state === 'splicing') return say('verb.splicing')
  if (view.state === 'no_roll') return say('verb.no_roll')
  if (isThreading(view)) return say(view.line_state === 'thread' ? 'verb.threading' : 'verb.jogging')
  if (view.state === 'standing') return view.new_roll_ready === true ? say('verb.standing_ready') : say('verb.standing')
  const ending = jobEnds(view)
  if (ending !== undefined) return ending
  if (view.new_roll_ready === null) return say('verb.check_ready')
  if (!view.new_roll_ready) return isTooLateToPrepare(view) ? say('verb.slow_or_stop') : prepare(view)
  if (view.splicer_auto === false) return say('verb.splicer_auto')
  return say(isUnchecked(view) ? 'verb.check_ready' : 'verb.ready')
}

const calm = { alarm: undefined, isAcknowledged: false, others: [] } as const

/** @param isAborted - the newest cycle was aborted and the old roll runs on. */
export const instructionFor = (view: UnwindView, isAborted = false): Instruction => {
  const [alarm, ...others] = standingTrouble(view)
  // One thing at a time: what is over waits until what stands has been seen.
  const isAllSeen = [alarm, ...others].every((one) => one === undefined || one.acknowledged !== null)
  const over = isAllSeen ? overTrouble(view).slice(0, 1) : []
  if (alarm !== undefined) {
    const verb = responseTo(alarm, view)
    return {
      verb,
      tone: alarm.priority,
      wrong: wrongWords(alarm, view),
      alarm,
      isAcknowledged: alarm.acknowledged !== null,
      others: [...others, ...over],
    }
  }
  if (isWrongRoll(view) && view.state !== 'splicing' && view.job_end === null) {
    const missing = view.preparation.missing === 'hold' ? 'hold' : 'wrong_roll'
    return { ...calm, others: over, verb: prepare(view), tone: 'medium', wrong: say(`missing.${missing}`) }
  }
  if (isAborted && view.state !== 'splicing')
    return { ...calm, others: over, verb: say('verb.aborted'), tone: 'medium', wrong: say('splice.aborted') }
  const verb = calmVerb(view)
  // The screen may see that it is too late a moment before the alarm's delay has passed: the words are the same.
  const isLate = verb === say('verb.slow_or_stop')
  return {
    ...calm,
    others: over,
    verb,
    tone: isLate ? 'high' : 'calm',
    wrong: isLate ? say('alarm.roll_not_ready') : view.state === 'unknown' ? say('time.none') : undefined,
  }
}
