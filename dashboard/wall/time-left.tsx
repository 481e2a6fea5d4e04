/** The countdown of one lane, in a fixed place; where there is nothing to count, words instead of figures. */
import type { UnwindView } from '../../edge/api/messages.ts'
import type { Shown } from '../live/countdown.ts'
import { say } from '../messages.ts'
import { clockMinutes, formatSpread, formatTimeLeft, zoneName } from '../times.ts'
import { formatLength } from '../units.ts'
import { Fit } from './fit.tsx'

export interface TimeLeftProps {
  view: UnwindView
  shown: Shown | undefined
  /** Set while the connection is gone: words that say since when. */
  lostSince: string | undefined
  serverTMs: number | undefined
  zone: string
}

const Words = ({ head, tail, struck }: { head: string; tail: string; struck?: string | undefined }) => (
  <div class="time time-words" data-part="time-words">
    <Fit class="time-head">{head}</Fit>
    <div class="near">
      {tail}
      {struck !== undefined && <s>{struck}</s>}
    </div>
  </div>
)

export const TimeLeft = ({ view, shown, lostSince, serverTMs, zone }: TimeLeftProps) => {
  if (lostSince !== undefined) return <Words head={say('time.no_data')} tail={lostSince} />
  if (view.state === 'splicing') return <Words head={say('time.now')} tail={say('verb.splicing')} />
  if (shown === undefined) {
    const metres = view.metres_to_splice
    const tail = metres === null ? '' : say('time.left_metres', { length: formatLength(metres) })
    return <Words head={view.state === 'standing' ? say('time.stopped') : say('time.none')} tail={tail} />
  }
  const { figures, unit } = formatTimeLeft(shown.seconds)
  const { seconds_low: low, seconds_high: high } = view
  const at = (seconds: number) => clockMinutes((serverTMs ?? 0) + seconds * 1000, zone)
  const isFar = shown.seconds >= 600 && serverTMs !== undefined
  return (
    <div class="time" role="timer" aria-label={`${say('time.label')} ${figures} ${unit}`}>
      <div class="time-figures" data-part="time">
        {figures}
        {unit !== '' && <small>{unit}</small>}
      </div>
      <div class="near time-near">
        {low !== null && high !== null && (
          <div data-part="spread">{say('time.uncertain', { time: formatSpread((high - low) / 2) })}</div>
        )}
        {isFar && (
          <div data-part="time-of-day">
            {say('time.at', { time: `${at(shown.seconds)} ${zoneName(serverTMs ?? 0, zone)}` })}
          </div>
        )}
        {isFar && view.new_roll_ready !== true && low !== null && (
          <div>{say('ready.by', { time: at(low - view.fill_lead_seconds) })}</div>
        )}
        {shown.note !== undefined && <div class="time-note">{say(`time.${shown.note}`)}</div>}
      </div>
    </div>
  )
}
