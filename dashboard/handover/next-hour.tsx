/** The splices of the next hour, and for each unwind how far its next roll is. */
import type { HandoverView } from '../../edge/api/messages-handover.ts'
import { inWords } from '../daemon-words.ts'
import { Icon } from '../frame/icons.tsx'
import { Link } from '../frame/link.tsx'
import { say } from '../messages.ts'
import { clockMinutes, formatSpread, zoneName } from '../times.ts'
import { aboutCount, formatLength, formatWidth } from '../units.ts'

type Unwind = HandoverView['unwinds'][number]

/** Splices by their time; of those after them a count tells what the crew has to expect. */
const TOLD = 3
const NO_BREAK = '\u00a0'

const splicesOf = ({ splices, job_end: end }: Unwind, time: string, zone: string): string => {
  const baseTMs = Date.parse(time)
  // A line that stands at its job's end still needs no roll; when it will be there nobody knows.
  if (end !== null && end.seconds !== null)
    return say('handover.job_ends', { time: clockMinutes(baseTMs + end.seconds * 1000, zone) })
  if (splices === null) return say('handover.splices_unknown')
  if (splices.length === 0) return say('handover.no_splice')
  const rest = splices.slice(TOLD)
  const told = splices
    .slice(0, TOLD)
    .map(({ seconds, seconds_low: low, seconds_high: high }) => {
      const at = clockMinutes(baseTMs + (seconds ?? 0) * 1000, zone)
      if (low === null || high === null) return at
      // Time and spread stay in one line.
      return `${at} ${say('unwind.uncertain', { time: formatSpread((high - low) / 2) })}`.replaceAll(' ', NO_BREAK)
    })
    .join(', ')
  const last = rest.at(-1)
  if (last === undefined) return told
  const until = clockMinutes(baseTMs + (last.seconds ?? 0) * 1000, zone)
  return say('handover.splices_more', { told, count: rest.length, time: until })
}

const readyText = ({ missing, ready }: Unwind['preparation']): string => {
  if (missing !== null && !(missing === 'ready' && ready === null)) return say(`missing.${missing}`)
  return say(ready === true ? 'ready.yes' : 'ready.unknown')
}

const Roll = ({ preparation, waiting_roll: roll }: Unwind) => {
  const { missing, ready } = preparation
  const parts = [
    roll?.roll_id != null && say('roll.id', { id: roll.roll_id }),
    roll?.material != null && say('roll.material', { material: roll.material }),
    roll?.width != null && say('roll.width', { width: formatWidth(roll.width) }),
  ].filter((part) => part !== false)
  return (
    <>
      <Icon name={ready === true && missing === null ? 'tick' : ready === null ? 'question' : 'ring'} />{' '}
      {readyText(preparation)}
      {parts.length > 0 && <span class="question"> {parts.join(' · ')}</span>}
      {roll?.faults.map((fault) => (
        <p key={fault.kind} class="handover-wrong">
          {inWords(fault)}
        </p>
      ))}
    </>
  )
}

const ofJob = (remaining: number): string => say('job.still', { length: formatLength(remaining) })

const aboutRolls = (count: number): string =>
  count === 0 ? say('handover.rolls', { count }) : say('handover.rolls_about', { count: aboutCount(count) })

const stageText = ({ rolls_to_stage: count, job_remaining: remaining }: Unwind): string => {
  if (count === null) return remaining === null ? say('value.unknown') : ofJob(remaining)
  if (count === 1)
    return `${say('handover.roll_one')}, ${remaining === null ? say('handover.in_eight_hours') : ofJob(remaining)}`
  return remaining === null
    ? `${aboutRolls(count)}, ${say('handover.in_eight_hours')}`
    : `${say('handover.rolls', { count })}, ${ofJob(remaining)}`
}

export const NextHour = ({ unwinds, time, zone }: { unwinds: readonly Unwind[]; time: string; zone: string }) => (
  <section aria-labelledby="next-hour">
    <h2 id="next-hour">{say('handover.next')}</h2>
    <div class="list-box">
      <table class="list cards">
        <thead>
          <tr>
            <th scope="col">{say('filter.unwind')}</th>
            <th scope="col">{say('handover.splices', { zone: zoneName(Date.parse(time), zone) })}</th>
            <th scope="col">{say('prep.title')}</th>
            <th scope="col">{say('handover.stage')}</th>
          </tr>
        </thead>
        <tbody>
          {unwinds.map((unwind) => (
            <tr key={unwind.unwind}>
              <th scope="row">
                <Link to={{ page: 'unwind', id: unwind.unwind }}>{unwind.name}</Link>
              </th>
              <td data-label={say('handover.splices', { zone: zoneName(Date.parse(time), zone) })}>
                {splicesOf(unwind, time, zone)}
              </td>
              <td data-label={say('prep.title')}>
                <Roll {...unwind} />
              </td>
              <td data-label={say('handover.stage')}>{stageText(unwind)}</td>
            </tr>
          ))}
        </tbody>
      </table>
    </div>
  </section>
)
