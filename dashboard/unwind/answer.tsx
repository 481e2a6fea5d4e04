/** The answer before anything else: time left, ready or the first missing link, festoon enough or not. */
import type { UnwindView } from '../../edge/api/messages.ts'
import { Icon } from '../frame/icons.tsx'
import { useStore, useTicks } from '../frame/live-context.ts'
import { Age } from '../frame/parts.tsx'
import { isThreading } from '../live/line-state.ts'
import { estimateAtMs, serverNow } from '../live/state.ts'
import { say } from '../messages.ts'
import { clockMinutes, formatSpread, formatTimeLeft, zoneName } from '../times.ts'
import { formatLength, missingLength, spareLength } from '../units.ts'
import { instructionFor, textOf } from '../wall/instruction.ts'
import { readyWords } from '../wall/lane-words.ts'

/** Words where nothing is counted; the same as on the wall. */
const wordFor = (view: UnwindView): string => {
  if (view.state === 'splicing') return say('time.now')
  if (isThreading(view)) return say(view.line_state === 'thread' ? 'time.threading' : 'time.jogging')
  return say(view.state === 'standing' ? 'time.stopped' : 'time.none')
}

const TimeLeft = ({ view }: { view: UnwindView }) => {
  const { state, nowMs } = useTicks()
  const { seconds_to_splice: seconds, seconds_low: low, seconds_high: high } = view
  const shown = useStore().countdowns.show(state, view, nowMs)
  if (seconds === null || shown === undefined)
    return (
      <p class="answer-time">
        <strong>{wordFor(view)}</strong>
        {view.state === 'standing' && view.metres_to_splice !== null && (
          <span>{say('time.left_metres', { length: formatLength(view.metres_to_splice) })}</span>
        )}
      </p>
    )
  const leftS = Math.max(0, seconds - Math.max(0, nowMs - estimateAtMs(state, view)) / 1000)
  const { figures, unit } = formatTimeLeft(shown.seconds)
  const serverTMs = serverNow(state, nowMs)
  const zone = state.health?.time_zone ?? 'UTC'
  const spread = low === null || high === null ? undefined : (high - low) / 2
  return (
    <p class="answer-time">
      <strong data-part="time">
        {figures}
        <small> {unit}</small>
      </strong>
      {shown.note !== undefined && <strong data-part="time-note">{say(`time.${shown.note}`)}</strong>}
      {spread !== undefined && (
        <span title={say('unwind.interval')}>{say('unwind.uncertain', { time: formatSpread(spread) })}</span>
      )}
      {serverTMs !== undefined && (
        <span>
          {say('unwind.splice_at', {
            time: `${clockMinutes(serverTMs + leftS * 1000, zone)} ${zoneName(serverTMs, zone)}`,
          })}
        </span>
      )}
      {view.metres_to_splice !== null && (
        <span>{say('time.left_metres', { length: formatLength(view.metres_to_splice) })}</span>
      )}
    </p>
  )
}

export const Answer = ({ view, isLost }: { view: UnwindView; isLost: boolean }) => {
  const instruction = instructionFor(view)
  const { missing } = view.preparation
  const margin = view.buffer_margin
  const text = textOf(instruction.alarm) ?? view.reason
  return (
    <section class="answer" aria-label={say('unwind.answer')} data-tone={isLost ? 'calm' : instruction.tone}>
      <TimeLeft view={view} />
      <p class="answer-do" data-part="verb">
        {instruction.tone !== 'calm' && <Icon name={instruction.tone} />}
        {isLost ? say('verb.no_data') : instruction.verb}
      </p>
      <p class="answer-facts">
        <span class="fact" data-part="missing">
          <Icon name={missing === null ? (view.preparation.ready === true ? 'tick' : 'question') : 'ring'} />
          {readyWords(view)}
        </span>
        {margin !== null && (
          <span class="fact">
            {margin < 0 && <Icon name="medium" />}
            {say('whatif.festoon')}{' '}
            {margin < 0
              ? say('ahead.short', { length: missingLength(-margin) })
              : say('ahead.enough', { length: spareLength(margin) })}
          </span>
        )}
        <Age time={view.time} staleAfterS={5} />
      </p>
      {text !== null && <p class="answer-text">{text}</p>}
    </section>
  )
}
