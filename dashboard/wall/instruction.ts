/** The words of one lane: what to do, ready or not, the festoon, what is wrong. Pure, from what the daemon sent. */
import type { AlarmView, UnwindView } from '../../edge/api/messages.ts'
import type { AlarmId, Priority } from '../../edge/columns.ts'
import { hasMessage, say, sayName } from '../messages.ts'
import { formatLength, missingLength, spareLength, speedAtMost } from '../units.ts'
import { isTooLateToPrepare } from './deadline.ts'
import { standingTrouble } from './trouble.ts'

export interface Instruction {
  /** What to do, or that nothing is to be done. */
  verb: string
  /** `calm` is grey; the others are an alarm's priority. */
  tone: 'calm' | Priority
  /** What is wrong, in two or three words; undefined where nothing is. */
  wrong: string | undefined
  /** The alarm behind it; undefined where the daemon has raised none (yet). */
  alarm: AlarmView | undefined
  isAcknowledged: boolean
  more: number
}

/** A highest speed is said only where it is lower than the line runs: it is for slowing down, never to go faster. */
const slowDown = (view: UnwindView): string => {
  const { safe_speed: highest, line_speed: speed } = view
  if (highest === null || highest < 1 || (speed !== null && highest >= speed)) return say('alarm.slow_the_line')
  return say('alarm.buffer_short.do', { speed: speedAtMost(highest) })
}

/** Alarms whose short text carries the instruction behind its colon ("Roll not ready: slow or stop"). */
const SAYS_WHAT_TO_DO: ReadonlySet<AlarmId> = new Set(['roll_not_ready', 'splicer_not_auto', 'buffer_short'])

const upperFirst = (text: string): string => text.charAt(0).toUpperCase() + text.slice(1)

/** What is wrong in two or three words: the daemon's short text up to its colon where it sends one, else the catalogue's. */
export const shortAlarm = (alarm: AlarmView): string =>
  (alarm.short ?? sayName('alarm', alarm.alarm)).split(': ')[0] ?? ''

const responseTo = (alarm: AlarmView, view: UnwindView): string => {
  const said = SAYS_WHAT_TO_DO.has(alarm.alarm) ? alarm.short?.split(': ')[1] : undefined
  if (said !== undefined && said !== '') return upperFirst(said)
  if (alarm.alarm === 'buffer_short') return slowDown(view)
  if (alarm.alarm === 'roll_not_ready' && isTooLateToPrepare(view)) return say('verb.slow_or_stop')
  // Nobody is told to stop what stands.
  const standing = `alarm.${alarm.alarm}.do.standing`
  if (view.state === 'standing' && hasMessage(standing)) return say(standing)
  const key = `alarm.${alarm.alarm}.do`
  return hasMessage(key) ? say(key) : alarm.text
}

const calmVerb = (view: UnwindView): string => {
  if (view.state === 'unknown') return say('verb.unknown')
  if (view.state === 'splicing') return say('verb.splicing')
  if (view.state === 'no_roll') return say('verb.no_roll')
  if (view.state === 'standing') return view.new_roll_ready === true ? say('verb.standing_ready') : say('verb.standing')
  if (view.new_roll_ready === null) return say('verb.check_ready')
  if (!view.new_roll_ready) return isTooLateToPrepare(view) ? say('verb.slow_or_stop') : say('verb.prepare')
  return view.splicer_auto === false ? say('verb.splicer_auto') : say('verb.ready')
}

export const instructionFor = (view: UnwindView): Instruction => {
  const trouble = standingTrouble(view)
  const alarm = trouble[0]
  if (alarm !== undefined)
    return {
      verb: responseTo(alarm, view),
      tone: alarm.priority,
      wrong: shortAlarm(alarm),
      alarm,
      isAcknowledged: alarm.acknowledged !== null,
      more: trouble.length - 1,
    }
  const verb = calmVerb(view)
  // The screen may see that it is too late a moment before the alarm's delay has passed: the words are the same.
  const isLate = verb === say('verb.slow_or_stop')
  return {
    verb,
    tone: isLate ? 'high' : 'calm',
    wrong: isLate ? say('alarm.roll_not_ready') : view.state === 'unknown' ? say('time.none') : undefined,
    alarm: undefined,
    isAcknowledged: false,
    more: 0,
  }
}

export type Readiness = 'yes' | 'no' | 'unknown'
export const readinessOf = (view: Pick<UnwindView, 'new_roll_ready'>): Readiness =>
  view.new_roll_ready === null ? 'unknown' : view.new_roll_ready ? 'yes' : 'no'

export interface FestoonWords {
  /** "Festoon OK" */
  head: string
  /** "spare 6 m"; empty where there is nothing to say. */
  tail: string
  isShort: boolean
}

/** Undefined for a splicer without a festoon. */
export const festoonWords = (view: UnwindView): FestoonWords | undefined => {
  if (view.buffer === null) return undefined
  const calm = (head: string, tail: string): FestoonWords => ({ head, tail, isShort: false })
  const stored = view.buffer_stored === null ? '' : say('festoon.stored', { length: formatLength(view.buffer_stored) })
  if (view.state === 'unknown' || view.buffer_stored === null) return calm(say('festoon.unknown'), '')
  if (view.state === 'refilling')
    // Shorter than "stored": it stands behind the longest verbs.
    return calm(say('festoon.refilling'), say('festoon.at', { length: formatLength(view.buffer_stored) }))
  if (view.buffer_margin === null) return calm(say('festoon.standing'), stored)
  if (view.buffer_margin < 0) {
    const length = missingLength(-view.buffer_margin)
    const tail =
      view.safe_speed === null || view.safe_speed < 1
        ? say('festoon.short_by_only', { length })
        : say('festoon.short_by', { length, speed: speedAtMost(view.safe_speed) })
    return { head: say('festoon.short'), tail, isShort: true }
  }
  const spare = say('festoon.spare', { length: spareLength(view.buffer_margin) })
  return calm(view.state === 'filling' ? say('festoon.filling') : say('festoon.ok'), spare)
}
