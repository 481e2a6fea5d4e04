/** What was forecast over the last hours with its interval, and what then happened: whether to trust the figure above. */
import { useState } from 'preact/hooks'
import type { SpliceView, UnwindView } from '../../edge/api/messages.ts'
import type { HistoryView } from '../../edge/api/messages-history.ts'
import { Icon } from '../frame/icons.tsx'
import { Link } from '../frame/link.tsx'
import { useLiveValue } from '../frame/live-context.ts'
import { Empty, Fault } from '../frame/parts.tsx'
import { useRequest } from '../frame/use-request.ts'
import { serverNow } from '../live/state.ts'
import { say } from '../messages.ts'
import { isAborted, isEarlyUnsaid } from '../splices/early.ts'
import { SpliceOutcome } from '../splices/outcome-badge.tsx'
import { dateAndTime, minutesWithZone, zoneName } from '../times.ts'
import { formatLength, formatNumber } from '../units.ts'
import { HistoryChart } from './history-chart.tsx'

const HOURS = [1, 3, 12, 72] as const
const POINTS = 400
/** The chart is drawn anew so often, s: it shows hours. */
const EVERY_S = 60
const COLUMNS = 'seconds_to_splice,seconds_low,seconds_high'
const SHOWN = 8

/** How far the forecast was off, at the longest horizon that is known. */
const errorText = ({ details, flags }: SpliceView): string => {
  // Nobody can forecast a button.
  if (flags.split(';').includes('early')) return say('past.not_due')
  const known = details.forecast_errors.filter(({ seconds }) => seconds !== null)
  const [first] = known.sort((a, b) => b.horizon_seconds - a.horizon_seconds)
  if (first === undefined || first.seconds === null) return say('value.unknown')
  const seconds = formatNumber(Math.abs(first.seconds), 0)
  const horizon = say('time.minutes', { minutes: first.horizon_seconds / 60 })
  if (Math.abs(first.seconds) < 0.5) return say('past.exact', { horizon })
  return say(first.seconds > 0 ? 'past.too_late' : 'past.too_early', { seconds, horizon })
}

const Happened = ({ splices, zone }: { splices: readonly SpliceView[]; zone: string }) => (
  <div class="list-box">
    <table class="list">
      <thead>
        <tr>
          <th scope="col">{say('past.splice')}</th>
          <th scope="col">{say('column.outcome')}</th>
          <th scope="col">{say('past.error')}</th>
        </tr>
      </thead>
      <tbody>
        {splices.slice(0, SHOWN).map((splice) => {
          const tMs = Date.parse(splice.started)
          return (
            <tr key={splice.id}>
              <th scope="row">
                <Link to={{ page: 'splice', id: splice.id }}>
                  {dateAndTime(tMs, zone)} {zoneName(tMs, zone)}
                </Link>
              </th>
              <td>
                <SpliceOutcome splice={splice} />
              </td>
              <td>{errorText(splice)}</td>
            </tr>
          )
        })}
      </tbody>
    </table>
  </div>
)

/** An early splice asks for its reason and for the fate of the rest, which are entered with its record. */
const Early = ({ splices, zone }: { splices: readonly SpliceView[]; zone: string }) => {
  const open = splices.find(isEarlyUnsaid)
  if (open === undefined) return null
  const tMs = Date.parse(open.started)
  return (
    <p class="past-early">
      <Icon name="low" />{' '}
      {isAborted(open)
        ? say('past.early.aborted', { time: minutesWithZone(tMs, zone) })
        : open.left_on_roll === null
          ? say('past.early.unknown', { time: minutesWithZone(tMs, zone) })
          : say('past.early', { time: minutesWithZone(tMs, zone), length: formatLength(open.left_on_roll) })}{' '}
      <Link class="tap" to={{ page: 'splice', id: open.id }}>
        {say('past.early.say')}
      </Link>
    </p>
  )
}

export const ForecastPast = ({ view }: { view: UnwindView }) => {
  const [hours, setHours] = useState<number>(3)
  const [isCancelled, setCancelled] = useState(false)
  const zone = useLiveValue((store) => store.state.health?.time_zone ?? 'UTC')
  const toTMs = useLiveValue((store) => {
    const nowMs = serverNow(store.state, store.nowMs)
    return nowMs === undefined ? undefined : Math.floor(nowMs / (1000 * EVERY_S)) * 1000 * EVERY_S
  })
  const unwind = encodeURIComponent(view.unwind)
  const fromTMs = toTMs === undefined ? undefined : toTMs - hours * 3_600_000
  const isAsked = fromTMs !== undefined && !isCancelled
  const past = useRequest<HistoryView>(
    isAsked
      ? `api/unwinds/${unwind}/history?columns=${COLUMNS}&from=${fromTMs}&to=${toTMs}&points=${POINTS}`
      : undefined,
  )
  const splices = useRequest<SpliceView[]>(
    isAsked ? `api/splices?unwind=${unwind}&from=${new Date(fromTMs).toISOString()}&limit=100` : undefined,
  )
  // What is shown meanwhile is of another time.
  const isRead = past.data !== undefined && Date.parse(past.data.from) === fromTMs && Date.parse(past.data.to) === toTMs
  const isReading = isAsked && past.error === undefined && !isRead
  const hasValues = past.data?.columns[0]?.high.some((value) => value !== null) === true
  return (
    <section aria-labelledby="past">
      <h2 id="past">{say('past.title')}</h2>
      <fieldset class="past-choice" aria-label={say('past.choose')}>
        {HOURS.map((choice) => (
          <button
            key={choice}
            type="button"
            aria-pressed={choice === hours}
            onClick={() => {
              setCancelled(false)
              setHours(choice)
            }}
          >
            {choice < 48 ? say('time.hours', { hours: choice }) : say('time.days', { days: choice / 24 })}
          </button>
        ))}
        {isReading && (
          <>
            <progress aria-label={say('past.reading')} />
            <button type="button" onClick={() => setCancelled(true)}>
              {say('past.cancel')}
            </button>
          </>
        )}
      </fieldset>
      {past.error !== undefined && <Fault reason={past.error} onRetry={past.retry} />}
      {isCancelled && past.data === undefined && <p class="question">{say('past.cancelled')}</p>}
      {past.data !== undefined && !hasValues && <Empty head={say('past.empty')}>{say('past.empty.do')}</Empty>}
      {past.data !== undefined && hasValues && (
        <HistoryChart past={past.data} splices={splices.data ?? []} zone={zone} name={view.name} />
      )}
      {splices.data !== undefined && <Early splices={splices.data} zone={zone} />}
      {splices.data !== undefined && splices.data.length > 0 && <Happened splices={splices.data} zone={zone} />}
    </section>
  )
}
