/** Alarms that are not told at present: put aside by a person for a while, or without meaning while the line stands or threads. */
import type { AlarmView } from '../../edge/api/messages.ts'
import { alarmName } from '../alarm-name.ts'
import { useCommands } from '../frame/commands.tsx'
import { say } from '../messages.ts'
import { clockOf, PriorityMark } from './standing-alarm.tsx'

export interface AsideListProps {
  alarms: readonly AlarmView[]
  nameOf: (unwind: string) => string
  zone: string
  onDone: () => void
}

export const AsideList = ({ alarms, nameOf, zone, onDone }: AsideListProps) => {
  const { send } = useCommands()
  return (
    <section aria-labelledby="aside">
      <h2 id="aside">{say('alarms.aside')}</h2>
      <ul class="aside">
        {alarms.map((alarm) => (
          <li key={alarm.id} data-alarm={alarm.alarm}>
            <PriorityMark alarm={alarm} />
            <span>
              <strong>
                {nameOf(alarm.unwind)}: {alarmName(alarm)}
              </strong>{' '}
              {alarm.shelved_until === null
                ? say('alarms.suppressed')
                : say('alarms.shelved', { person: alarm.shelved_by ?? '', time: clockOf(alarm.shelved_until, zone) })}
            </span>
            {alarm.shelved_until !== null && (
              <button
                type="button"
                class="no-print"
                onClick={() =>
                  void send(`api/alarms/${encodeURIComponent(alarm.id)}/shelve`, { seconds: 0 }).then(onDone)
                }
              >
                {say('alarms.unshelve')}
              </button>
            )}
          </li>
        ))}
      </ul>
    </section>
  )
}
