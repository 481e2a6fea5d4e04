/** One alarm that stands, or is over and nobody has seen: what is wrong, what to do, since when, and who looks after it. */
import { useState } from 'preact/hooks'
import type { AlarmView } from '../../edge/api/messages.ts'
import { alarmName } from '../alarm-name.ts'
import { alarmText, alarmWhat } from '../daemon-words.ts'
import { useCommands } from '../frame/commands.tsx'
import { Icon } from '../frame/icons.tsx'
import { Age } from '../frame/parts.tsx'
import { readPerson } from '../frame/person.ts'
import { useSession } from '../frame/session.tsx'
import { hasMessage, say } from '../messages.ts'
import { minutesWithZone } from '../times.ts'
import { overWords } from './over-words.ts'

/** For how long an alarm can be put aside, s: a look, a repair, a shift. */
const SHELVES_S = [900, 3600, 8 * 3600]
const COMMENT_MAX_LENGTH = 500
/** An alarm's own time is long ago by nature: it does not look stale for that. */
const NEVER_OLD_S = Number.POSITIVE_INFINITY

export const shelfName = (seconds: number): string =>
  seconds < 3600 ? say('time.minutes', { minutes: seconds / 60 }) : say('time.hours', { hours: seconds / 3600 })

export const PriorityMark = ({ alarm }: { alarm: Pick<AlarmView, 'priority'> }) => (
  <span class="tone" data-tone={alarm.priority}>
    <Icon name={alarm.priority} />
    {say(`alarm.priority.${alarm.priority}`)}
  </span>
)

export const clockOf = (time: string, zone: string): string => {
  const tMs = Date.parse(time)
  return minutesWithZone(tMs, zone)
}

/** What it was, and what is left to do about it now that it is over. */
const overText = (alarm: AlarmView): string => {
  const after = `alarm.${alarm.alarm}.after`
  return `${alarmWhat(alarm)} ${say(hasMessage(after) ? after : 'alarm.over.after')}`.trim()
}

export interface StandingAlarmProps {
  alarm: AlarmView
  name: string
  zone: string
  isLost: boolean
  /** It was dealt with: it stands here only until the hand has left the list. */
  isGone: boolean
  /** False right after another one was taken: a tap too many takes nothing. */
  mayTake: () => boolean
  onDone: () => void
}

export const StandingAlarm = ({ alarm, name, zone, isLost, isGone, mayTake, onDone }: StandingAlarmProps) => {
  const { send } = useCommands()
  const { session } = useSession()
  const named = session?.person ?? readPerson()
  const [first, setFirst] = useState<string>()
  const [isBusy, setBusy] = useState(false)
  /** Who acknowledged it here: what is over leaves the list with that, and is no longer read. */
  const [taken, setTaken] = useState<string>()
  const path = `api/alarms/${encodeURIComponent(alarm.id)}`
  const run = async (command: Promise<{ person: string } | undefined>): Promise<string | undefined> => {
    setBusy(true)
    const said = await command
    setBusy(false)
    onDone()
    return said?.person
  }
  const acknowledge = (form: HTMLFormElement): void => {
    if (!mayTake()) return
    const comment = String(new FormData(form).get('comment') ?? '').trim()
    // Who gives no name acts as the daemon says: then nobody can be told apart.
    const me = named === '' ? undefined : named
    const wasOpen = alarm.acknowledged === null
    void run(send<{ person: string }>(`${path}/acknowledge`, comment === '' ? {} : { comment })).then((person) => {
      form.reset()
      setTaken(person)
      // Somebody else may have been quicker by a moment.
      if (wasOpen && person !== undefined && me !== undefined && person !== me) setFirst(person)
    })
  }
  const isOver = alarm.cleared !== null
  return (
    <li
      class="standing-alarm"
      data-tone={alarm.priority}
      data-alarm={alarm.alarm}
      data-seen={alarm.acknowledged !== null || isGone}
    >
      <div class="standing-head">
        <PriorityMark alarm={alarm} />
        <strong class="standing-name">
          {name}: {alarmName(alarm)}
        </strong>
        <span>{isOver ? overWords(alarm, zone) : say('alarms.since', { time: clockOf(alarm.raised, zone) })}</span>
        <Age time={alarm.raised} staleAfterS={NEVER_OLD_S} />
      </div>
      {/* What was to be done is done: "stop the line" would be untrue of a line that runs again. */}
      <p class="standing-text">{alarm.cleared === null ? alarmText(alarm) : overText(alarm)}</p>
      {alarm.acknowledged !== null && (
        <p class="standing-seen" data-part="acknowledged">
          <Icon name="tick" />
          {say('alarm.acknowledged_by', {
            person: alarm.acknowledged_by ?? '',
            time: clockOf(alarm.acknowledged, zone),
          })}
          {alarm.comment !== null && <q>{alarm.comment}</q>}
        </p>
      )}
      {isGone && (
        <p class="standing-seen" role="status" data-part="gone">
          <Icon name="tick" />
          {taken === undefined ? say('alarms.gone') : say('alarms.gone_by', { person: taken })}
        </p>
      )}
      {first !== undefined && <p class="question">{say('alarms.first', { person: first })}</p>}
      <form
        class="standing-do gloves"
        onSubmit={(event) => {
          event.preventDefault()
          acknowledge(event.currentTarget)
        }}
      >
        <label>
          {say('alarms.comment')}
          <input name="comment" maxLength={COMMENT_MAX_LENGTH} autocomplete="off" />
        </label>
        <button type="submit" disabled={isBusy || isLost || isGone}>
          {say(alarm.acknowledged === null ? 'alarm.acknowledge' : 'alarms.add_comment')}
        </button>
        {!isOver && (
          <label class="shelve">
            {say('alarms.shelve')}
            <select
              disabled={isBusy || isLost}
              value=""
              onChange={(event) => {
                const seconds = Number(event.currentTarget.value)
                if (seconds > 0) void run(send<{ person: string }>(`${path}/shelve`, { seconds }))
              }}
            >
              <option value="">{say('alarms.shelve.choose')}</option>
              {SHELVES_S.map((seconds) => (
                <option key={seconds} value={seconds}>
                  {shelfName(seconds)}
                </option>
              ))}
            </select>
          </label>
        )}
      </form>
    </li>
  )
}
