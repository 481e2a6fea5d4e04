/** The countdown of one lane, in a fixed place; where there is nothing to count, words instead of figures. */
import type { UnwindView } from '../../edge/api/messages.ts'
import type { Shown } from '../live/countdown.ts'
import { isThreading } from '../live/line-state.ts'
import { say } from '../messages.ts'
import { clockWithZone, formatTimeLeft } from '../times.ts'
import { formatLength } from '../units.ts'
import { Fit } from './fit.tsx'

export interface TimeLeftProps {
  view: UnwindView
  shown: Shown | undefined
  /** Set while the connection is gone: words that say since when. */
  lostSince: string | undefined
}

/** What stands in the place of figures; the same on every page. */
export const timeWord = (view: UnwindView, isLost: boolean): string => {
  if (isLost) return say('time.no_data')
  if (view.state === 'splicing') return say('time.now')
  if (view.state === 'no_roll') return say('time.no_roll')
  if (isThreading(view)) return say(view.line_state === 'thread' ? 'time.threading' : 'time.jogging')
  return view.state === 'standing' ? say('time.stopped') : say('time.none')
}

export const TimeLeft = (props: TimeLeftProps) => {
  const { view, shown, lostSince } = props
  const isLost = lostSince !== undefined
  // The figures count to the splice and to nothing else: the web that is left until the core is said beside the name.
  const isOverdue = shown?.isToCore === true
  if (isLost || view.state === 'splicing' || shown === undefined || isOverdue)
    return (
      <Fit class="time-words" part="time-words">
        {!isLost && view.state !== 'splicing' && isOverdue ? say('time.overdue') : timeWord(view, isLost)}
      </Fit>
    )
  const { figures, unit } = formatTimeLeft(shown.seconds)
  return (
    <div class="time" role="timer" aria-label={`${say('time.label')} ${figures} ${unit}`}>
      <Fit class="time-figures" part="time">
        {figures}
        <small>{unit}</small>
      </Fit>
    </div>
  )
}

/** Beside the figures, to be read from near: since when there are none, and what web is left while the line stands. */
export const TimeNotes = (props: TimeLeftProps & { serverTMs: number | undefined; zone: string }) => {
  const { view, shown, lostSince, serverTMs, zone } = props
  if (lostSince !== undefined) return <div data-part="no-data-since">{lostSince}</div>
  if (view.state === 'unknown' && view.stale.length > 0 && serverTMs !== undefined) {
    // The longest silence is the one that made the estimate unknown.
    const silentS = Math.max(...view.stale.map(({ seconds }) => seconds))
    const time = clockWithZone(serverTMs - silentS * 1000, zone)
    return <div data-part="no-data-since">{say('time.no_data_since', { time })}</div>
  }
  if (view.left_to_core !== null && view.state !== 'splicing')
    return <div>{say('time.metres_to_core', { length: formatLength(view.left_to_core.metres) })}</div>
  // In a cycle the web left is of the old roll, then of the new one: beside "now" it would mislead.
  if (view.state === 'splicing' || shown !== undefined || view.metres_to_splice === null) return null
  return <div>{say('time.left_metres', { length: formatLength(view.metres_to_splice) })}</div>
}
