/** Alarms that stand, and those that are not told at present, one line each. */
import type { AlarmView } from '../../edge/api/messages.ts'
import { alarmName } from '../alarm-name.ts'
import { overWords } from '../alarms/over-words.ts'
import { alarmText } from '../daemon-words.ts'
import { Icon } from '../frame/icons.tsx'
import { Link } from '../frame/link.tsx'
import { say } from '../messages.ts'
import { minutesWithZone } from '../times.ts'

interface Props {
  standing: readonly AlarmView[]
  aside: readonly AlarmView[]
  nameOf: (unwind: string) => string
  zone: string
}

/** What a crew has to know of a wrong roll: from when until when it ran, and in what it was wrong. */
export const WrongRolls = ({
  alarms,
  nameOf,
  zone,
}: Pick<Props, 'nameOf' | 'zone'> & { alarms: readonly AlarmView[] }) => {
  if (alarms.length === 0) return null
  const at = (time: string): string => minutesWithZone(Date.parse(time), zone)
  return (
    <section aria-labelledby="wrong-rolls">
      <h2 id="wrong-rolls">{say('handover.wrong_rolls')}</h2>
      <ul class="lines">
        {alarms.map((alarm) => (
          <li key={alarm.id}>
            <strong>{nameOf(alarm.unwind)}</strong>,{' '}
            {alarm.cleared === null ? say('alarms.since', { time: at(alarm.raised) }) : overWords(alarm, zone)}:{' '}
            {alarmText(alarm)}
          </li>
        ))}
      </ul>
    </section>
  )
}

const seenBy = ({ acknowledged_by: person, comment, acknowledged }: AlarmView): string => {
  if (acknowledged === null) return say('handover.unseen')
  return comment === null
    ? say('handover.seen', { person: person ?? '' })
    : say('handover.seen_comment', { person: person ?? '', comment })
}

export const AlarmLines = ({ standing, aside, nameOf, zone }: Props) => {
  const at = (time: string): string => minutesWithZone(Date.parse(time), zone)
  const line = (alarm: AlarmView, how: string) => (
    <>
      <Icon name={alarm.priority} />
      <span>
        <strong>
          {nameOf(alarm.unwind)}: {alarmName(alarm)}
        </strong>{' '}
        ({say(`alarm.priority.${alarm.priority}`)}),{' '}
        {alarm.cleared === null ? say('alarms.since', { time: at(alarm.raised) }) : overWords(alarm, zone)}, {how}
      </span>
    </>
  )
  return (
    <section aria-labelledby="handover-alarms">
      <h2 id="handover-alarms">
        <Link to={{ page: 'alarms' }}>{say('page.alarms')}</Link>
      </h2>
      {standing.length + aside.length === 0 && <p class="question">{say('alarms.none')}.</p>}
      <ul class="lines">
        {standing.map((alarm) => (
          <li key={alarm.id} class="tone-line" data-tone={alarm.priority}>
            {line(alarm, seenBy(alarm))}
          </li>
        ))}
        {aside.map((alarm) => (
          <li key={alarm.id} class="tone-line">
            {line(
              alarm,
              alarm.shelved_until === null
                ? say('alarms.suppressed')
                : say('alarms.shelved', { person: alarm.shelved_by ?? '', time: at(alarm.shelved_until) }),
            )}
          </li>
        ))}
      </ul>
    </section>
  )
}
