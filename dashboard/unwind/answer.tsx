/** The answer before anything else: time left, ready or the first missing link, festoon enough or not. */

import type { UnwindView } from '../../edge/api/messages.ts'
import { reasonText } from '../daemon-words.ts'
import { Icon } from '../frame/icons.tsx'
import { Link } from '../frame/link.tsx'
import { useLiveValue, useStore, useTicks } from '../frame/live-context.ts'
import { Age } from '../frame/parts.tsx'
import { estimateAtMs, serverNow } from '../live/state.ts'
import { say } from '../messages.ts'
import { clockMinutes, formatSpread, formatTimeLeft, zoneName } from '../times.ts'
import { formatLength, missingLength, spareLength } from '../units.ts'
import { abortedUnwinds } from '../wall/aborted.ts'
import { type Instruction, instructionFor, shortAlarm, textOf } from '../wall/instruction.ts'
import { READY_ICON } from '../wall/lane-items.ts'
import { readinessShown, readyWords } from '../wall/lane-words.ts'
import { timeWord } from '../wall/time-left.tsx'

const Figures = ({ seconds }: { seconds: number }) => {
  const { figures, unit } = formatTimeLeft(seconds)
  return (
    <strong data-part="time">
      {figures}
      <small> {unit}</small>
    </strong>
  )
}

const TimeLeft = ({ view, isLost }: { view: UnwindView; isLost: boolean }) => {
  const { state, nowMs } = useTicks()
  const { seconds_to_splice: seconds, seconds_low: low, seconds_high: high } = view
  const shown = useStore().countdowns.show(state, view, nowMs)
  if (!isLost && shown?.isToCore === true && view.left_to_core !== null) {
    return (
      <p class="answer-time">
        <Figures seconds={shown.seconds} />
        <strong data-part="to-core">{say('time.to_core')}</strong>
        <span>{say('time.metres_to_core', { length: formatLength(view.left_to_core.metres) })}</span>
      </p>
    )
  }
  if (isLost || seconds === null || shown === undefined)
    return (
      <p class="answer-time">
        <strong>{timeWord(view, isLost)}</strong>
        {!isLost && view.state === 'standing' && view.metres_to_splice !== null && (
          <span>{say('unwind.metres_to_splice', { length: formatLength(view.metres_to_splice) })}</span>
        )}
      </p>
    )
  const leftS = Math.max(0, seconds - Math.max(0, nowMs - estimateAtMs(state, view)) / 1000)
  const serverTMs = serverNow(state, nowMs)
  const zone = state.health?.time_zone ?? 'UTC'
  const spread = low === null || high === null ? undefined : (high - low) / 2
  return (
    <p class="answer-time">
      <Figures seconds={shown.seconds} />
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
        <span>{say('unwind.metres_to_splice', { length: formatLength(view.metres_to_splice) })}</span>
      )}
    </p>
  )
}

/** What is wrong, in a few words behind what to do about it; not where the facts below say the same. */
const Wrong = ({ instruction: { wrong, others }, view }: { instruction: Instruction; view: UnwindView }) => {
  const known = [readyWords(view), timeWord(view, false), say('alarm.roll_not_ready')]
  const over = others.filter(({ cleared }) => cleared !== null)
  const words = [
    ...(wrong === undefined || known.includes(wrong) ? [] : [wrong]),
    ...others
      .filter(({ cleared }) => cleared === null)
      .map((alarm) => say('alarm.also', { alarm: shortAlarm(alarm, view) })),
  ]
  return (
    <>
      {words.length > 0 && (
        <span class="answer-wrong" data-part="wrong">
          {words.join(' · ')}
        </span>
      )}
      {over.length > 0 && (
        // What is over is acknowledged where its card says what to do.
        <Link class="tap answer-over" to={{ page: 'alarms' }}>
          {over.map((alarm) => say('alarm.was', { alarm: shortAlarm(alarm, view) })).join(' · ')}: {say('unwind.over')}
        </Link>
      )}
    </>
  )
}

export const Answer = ({ view, isLost }: { view: UnwindView; isLost: boolean }) => {
  const isAborted = useLiveValue((store) => abortedUnwinds(store.state.splices).has(view.unwind))
  const instruction = instructionFor(view, isAborted)
  const margin = view.buffer_margin
  // Old data order nothing.
  const text = isLost ? null : (textOf(instruction.alarm) ?? reasonText(view))
  return (
    <section class="answer" aria-label={say('unwind.answer')} data-tone={isLost ? 'calm' : instruction.tone}>
      <TimeLeft view={view} isLost={isLost} />
      <p class="answer-do" data-part="verb">
        {!isLost && instruction.tone !== 'calm' && <Icon name={instruction.tone} />}
        {isLost ? say('verb.no_data') : instruction.verb}
        {!isLost && <Wrong instruction={instruction} view={view} />}
      </p>
      <p class="answer-facts">
        {view.state !== 'splicing' && (
          <span class="fact" data-part="missing">
            <Icon name={READY_ICON[readinessShown(view)]} />
            {readyWords(view)}
          </span>
        )}
        {(view.waiting_roll?.unchecked.length ?? 0) > 0 && (
          <span class="fact" data-part="unchecked">
            <Icon name="medium" />
            {say('waiting.unchecked')}
          </span>
        )}
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
