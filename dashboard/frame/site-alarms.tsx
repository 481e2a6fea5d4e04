/** Alarms that belong to no unwind (history not stored, a source lost): one line each above the footer, on every page. */
import { useState } from 'preact/hooks'
import type { AlarmView } from '../../edge/api/messages.ts'
import { alarmName } from '../alarm-name.ts'
import { alarmText } from '../daemon-words.ts'
import { say } from '../messages.ts'
import { useCommands } from './commands.tsx'
import { Icon } from './icons.tsx'
import { useLiveValue } from './live-context.ts'
import { useRequest } from './use-request.ts'

export const SiteAlarms = () => {
  const isLive = useLiveValue((store) => store.freshness === 'live')
  const events = useLiveValue((store) => store.state.siteAlarmEvents)
  const [commands, setCommands] = useState(0)
  const { acknowledge } = useCommands()
  const { data } = useRequest<AlarmView[]>(
    isLive ? 'api/alarms?standing=true' : undefined,
    `${isLive} ${events} ${commands}`,
  )
  const alarms = (data ?? []).filter(({ unwind, priority }) => unwind === '' && priority !== 'low')
  // Old alarms beside a lost connection would look live.
  if (!isLive || alarms.length === 0) return null
  return (
    <ul class="site-alarms near" aria-label={say('alarm.site')}>
      {alarms.map((alarm) => (
        <li key={alarm.id} data-tone={alarm.priority}>
          <Icon name={alarm.priority} />
          <span>{alarm.cleared === null ? alarmText(alarm) : say('alarm.was', { alarm: alarmName(alarm) })}</span>
          {alarm.acknowledged === null && (
            <button type="button" onClick={() => void acknowledge(alarm).then(() => setCommands((count) => count + 1))}>
              {say('alarm.acknowledge')}
            </button>
          )}
        </li>
      ))}
    </ul>
  )
}
