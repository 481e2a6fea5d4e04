/** What a lane says besides its instruction: ready or the first missing link, the festoon, times of day, the next roll. Pure. */
import type { UnwindView } from '../../edge/api/messages.ts'
import { isThreading } from '../live/line-state.ts'
import { say } from '../messages.ts'
import { clockMinutes } from '../times.ts'
import { formatWidth, speedAtMost } from '../units.ts'

export type Readiness = 'yes' | 'no' | 'unknown'
export const readinessOf = (view: Pick<UnwindView, 'new_roll_ready'>): Readiness =>
  view.new_roll_ready === null ? 'unknown' : view.new_roll_ready ? 'yes' : 'no'

/** Its label does not say all that the job asks for: nobody knows yet whether it is the right one. */
export const isUnchecked = ({ waiting_roll: roll }: Pick<UnwindView, 'waiting_roll'>): boolean =>
  roll !== null && roll.unchecked.length > 0

/** "roll ready", or what it lacks first. */
export const readyWords = (view: UnwindView): string => {
  const { missing } = view.preparation
  if (view.job_end !== null) return say(view.new_roll_ready === true ? 'ready.yes' : 'ready.not_needed')
  // Where nothing says whether it is ready, "not ready" would be a guess.
  const isGuess = missing === 'ready' && view.new_roll_ready === null
  if (missing !== null && !isGuess) return say(`missing.${missing}`)
  if (view.new_roll_ready === true && view.splicer_auto === false) return say('missing.splicer_auto')
  return say(`ready.${readinessOf(view)}`)
}

/** A roll that the splicer calls ready is none while it is the wrong one, on hold, or the splicer is not in automatic. */
export const readinessShown = (
  view: Pick<UnwindView, 'new_roll_ready' | 'splicer_auto' | 'preparation' | 'job_end' | 'waiting_roll'>,
): Readiness => {
  const readiness = readinessOf(view)
  // Nothing lacks where nothing is needed.
  if (view.job_end !== null) return 'yes'
  const isReady = view.preparation.missing === null && view.splicer_auto !== false
  if (readiness === 'yes' && !isReady) return 'no'
  return readiness === 'yes' && isUnchecked(view) ? 'unknown' : readiness
}

export interface FestoonWords {
  text: string
  isShort: boolean
  /** The highest speed that the text names, with its unit. */
  speed?: string
}

/** Web within so much of the fill level is full: the carriage's reading is no better, share of the capacity. */
const FULL_WITHIN = 0.03

const isNotFilling = ({ alarms }: UnwindView): boolean =>
  alarms.some(
    ({ alarm, cleared, priority }) => alarm === 'buffer_not_filling' && cleared === null && priority !== 'low',
  )

/** Undefined for a splicer without a festoon, and while the line stands. */
export const festoonWords = (view: UnwindView): FestoonWords | undefined => {
  const { buffer, buffer_stored: stored, buffer_margin: margin, safe_speed: highest } = view
  if (buffer === null) return undefined
  const quiet = (text: string): FestoonWords => ({ text, isShort: false })
  if (view.state === 'unknown' || stored === null) return quiet(say('festoon.unknown'))
  if (view.state === 'refilling') return quiet(say('festoon.refilling'))
  if (margin !== null && margin < 0) {
    const speed = highest === null || highest < 1 ? undefined : speedAtMost(highest)
    return speed === undefined
      ? { text: say('festoon.short'), isShort: true }
      : { text: say('festoon.short_at', { speed }), isShort: true, speed }
  }
  // The margin reckons with a fill that comes in time.
  if (isNotFilling(view)) return { text: say('alarm.buffer_not_filling'), isShort: true }
  if (view.state === 'filling')
    return quiet(say(stored >= buffer.fill - FULL_WITHIN * buffer.capacity ? 'festoon.full' : 'festoon.filling'))
  // While the line stands no need is known: there is nothing to say of it.
  return margin === null ? undefined : quiet(say('festoon.ok'))
}

/** Above this the time of day is said too, s. */
export const FAR_S = 600

/** "ready by 14:32" and "splice 14:37"; empty where the splice is near or its time not known. */
export const timesOfDay = (
  view: UnwindView,
  seconds: number | undefined,
  serverTMs: number | undefined,
  zone: string,
): { part: 'ready-by' | 'splice-at'; text: string }[] => {
  if (seconds === undefined || seconds < FAR_S || serverTMs === undefined || isThreading(view)) return []
  if (view.job_end !== null) return []
  const at = (s: number) => clockMinutes(serverTMs + s * 1000, zone)
  const splice = { part: 'splice-at', text: say('time.splice_at', { time: at(seconds) }) } as const
  if (view.new_roll_ready === true || view.seconds_low === null) return [splice]
  return [{ part: 'ready-by', text: say('ready.by', { time: at(view.seconds_low - view.fill_lead_seconds) }) }, splice]
}

/** "Film 38", "330 mm", "staged", each for itself; a roll that is ready lies there anyway. Empty where nothing says anything. */
export const nextRollWords = (
  view: UnwindView,
): { part: 'next-material' | 'next-width' | 'next-staged'; text: string }[] => {
  const { waiting_roll: roll, preparation } = view
  const isFetched = preparation.stages.some(({ stage, done_at }) => stage === 'fetch' && done_at !== null)
  const isKnown = roll !== null || isFetched || preparation.missing === 'fetch'
  return [
    ...(roll?.material == null ? [] : [{ part: 'next-material', text: roll.material } as const]),
    ...(roll?.width == null ? [] : [{ part: 'next-width', text: formatWidth(roll.width) } as const]),
    ...(isKnown && view.new_roll_ready !== true
      ? [{ part: 'next-staged', text: say(roll !== null || isFetched ? 'roll.staged' : 'roll.not_staged') } as const]
      : []),
  ]
}
