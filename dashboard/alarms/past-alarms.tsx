/** What came when, newest first, with who saw it and what that person wrote. */
import { useState } from 'preact/hooks'
import type { AlarmView } from '../../edge/api/messages.ts'
import { alarmName } from '../alarm-name.ts'
import { say } from '../messages.ts'
import { ageInWords, clockMinutes, zoneOfList } from '../times.ts'
import { PriorityMark } from './standing-alarm.tsx'

export interface PastAlarmsProps {
  alarms: readonly AlarmView[] | undefined
  nameOf: (unwind: string) => string
  zone: string
}

const lengthOf = ({ raised, cleared }: AlarmView): string =>
  cleared === null ? say('alarms.stands') : ageInWords((Date.parse(cleared) - Date.parse(raised)) / 1000)

/** As it was called when it came, then what it came to say. */
const Said = ({ alarm, zone }: { alarm: AlarmView; zone: string }) => {
  const [first, ...later] = alarm.told ?? []
  if (first === undefined) return <>{alarmName(alarm)}</>
  return (
    <>
      {alarmName({ ...alarm, ...first })}
      {later.map((one) => (
        <div key={one.time} class="question">
          {clockMinutes(Date.parse(one.time), zone)} {alarmName({ ...alarm, ...one })}
        </div>
      ))}
    </>
  )
}

export const PastAlarms = ({ alarms, nameOf, zone }: PastAlarmsProps) => {
  const [unwind, setUnwind] = useState<string>()
  if (alarms === undefined) return null
  const unwinds = [...new Set(alarms.map((alarm) => alarm.unwind))].sort()
  const shown = alarms.filter((alarm) => unwind === undefined || alarm.unwind === unwind)
  const zones = zoneOfList(
    shown.map(({ raised }) => Date.parse(raised)),
    zone,
  )
  return (
    <section aria-labelledby="past-alarms">
      <h2 id="past-alarms">{say('alarms.past')}</h2>
      {alarms.length === 0 ? (
        <p class="question">{say('alarms.past.none')}</p>
      ) : (
        <>
          {unwinds.length > 1 && (
            <label class="filter-one">
              {say('filter.unwind')}
              <select
                value={unwind ?? '*'}
                onChange={(event) =>
                  setUnwind(event.currentTarget.value === '*' ? undefined : event.currentTarget.value)
                }
              >
                <option value="*">{say('splices.all')}</option>
                {unwinds.map((one) => (
                  <option key={one} value={one}>
                    {nameOf(one)}
                  </option>
                ))}
              </select>
            </label>
          )}
          <div class="list-box">
            <table class="list cards past-alarms">
              <thead>
                <tr>
                  <th scope="col">{say('alarms.raised', { zone: zones.head })}</th>
                  <th scope="col">{say('alarms.priority')}</th>
                  <th scope="col">{say('filter.unwind')}</th>
                  <th scope="col">{say('alarms.what')}</th>
                  <th scope="col">{say('alarms.lasted')}</th>
                  <th scope="col">{say('alarms.seen')}</th>
                </tr>
              </thead>
              <tbody>
                {shown.map((alarm) => (
                  <tr key={alarm.id}>
                    <th scope="row" class="past-time">
                      {zones.time(Date.parse(alarm.raised))}
                    </th>
                    <td>
                      <PriorityMark alarm={alarm} />
                    </td>
                    <td>{nameOf(alarm.unwind)}</td>
                    <td>
                      <Said alarm={alarm} zone={zone} />
                    </td>
                    <td data-label={say('alarms.lasted')}>{lengthOf(alarm)}</td>
                    <td data-label={say('alarms.seen')}>
                      {alarm.acknowledged === null
                        ? say('alarms.seen.nobody')
                        : `${alarm.acknowledged_by ?? ''} ${clockMinutes(Date.parse(alarm.acknowledged), zone)}`}
                      {alarm.comment !== null && (
                        <>
                          <br />
                          <q>{alarm.comment}</q>
                        </>
                      )}
                    </td>
                  </tr>
                ))}
              </tbody>
            </table>
          </div>
        </>
      )}
    </section>
  )
}
