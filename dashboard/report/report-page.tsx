/** How did the shift or week go? To read and to print: the answer first, then causes, groups, what was done, the bad ones. */
import { useContext } from 'preact/hooks'
import type { HealthView } from '../../edge/api/messages.ts'
import type { LogKind, MaintenanceLine, ReportView } from '../../edge/trend-views.ts'
import { Link, NavigateContext } from '../frame/link.tsx'
import { useLiveValue } from '../frame/live-context.ts'
import type { PageProps } from '../frame/pages.ts'
import { Fault } from '../frame/parts.tsx'
import { useSession } from '../frame/session.tsx'
import { useRequest } from '../frame/use-request.ts'
import { serverNow } from '../live/state.ts'
import { say } from '../messages.ts'
import { DemoOnPaper } from '../print/demo-on-paper.tsx'
import { ListedCause, OutcomeBadge } from '../splices/outcome-badge.tsx'
import { peopleSaidInWords } from '../splices/people-said.ts'
import { useSite } from '../splices/splices-page.tsx'
import { dateAndMinutes, dateAndTime, dateMinutesZone, fromLocalField, toLocalField, zoneName } from '../times.ts'
import { EntryWords } from '../trends/entry-words.tsx'
import { shownLog } from '../trends/log-words.ts'
import { registerInWords } from '../trends/register-words.ts'
import { axisFromOf, Causes, Shares } from './bars.tsx'
import { reportInWords } from './report-words.ts'
import { restOf } from './rest-row.ts'
import { isChosen, presetsAt, type Span, spanIn, spanOf, spanQuery } from './span.ts'

/** Of the log; what one crew leaves for the next is not for this paper. */
const REPORTED: readonly LogKind[] = ['setting', 'service', 'service_taken_back', 'trend', 'since_setting', 'usual']

const minutes = (iso: string, zone: string): string => dateAndMinutes(Date.parse(iso), zone)

interface ControlsProps {
  span: Span
  unwind: string
  unwinds: readonly { unwind: string; name: string }[]
  zone: string
  nowTMs: number
  shifts: readonly string[]
  onChange: (span: Span, unwind: string) => void
}

const Controls = ({ span, unwind, unwinds, zone, nowTMs, shifts, onChange }: ControlsProps) => {
  const field = (name: 'from' | 'to', key: 'fromTMs' | 'toTMs') => (
    <label>
      {say(`filter.${name}`)}
      <input
        type="datetime-local"
        name={name}
        value={toLocalField(span[key], zone)}
        onChange={(event) => {
          const chosen = fromLocalField(event.currentTarget.value, zone)
          if (chosen !== undefined) onChange({ ...span, [key]: chosen }, unwind)
        }}
      />
    </label>
  )
  return (
    <form class="filters no-print" onSubmit={(event) => event.preventDefault()}>
      <label>
        {say('filter.unwind')}
        <select name="unwind" value={unwind} onChange={(event) => onChange(span, event.currentTarget.value)}>
          <option value="">{say('splices.all')}</option>
          {unwinds.map((view) => (
            <option key={view.unwind} value={view.unwind}>
              {view.name}
            </option>
          ))}
        </select>
      </label>
      {presetsAt(nowTMs, shifts, zone).map(({ name, span: chosen }) => (
        <button key={name} type="button" aria-pressed={isChosen(chosen, span)} onClick={() => onChange(chosen, unwind)}>
          {say(`report.preset.${name}`)}
        </button>
      ))}
      {field('from', 'fromTMs')}
      {field('to', 'toTMs')}
      <button type="button" onClick={() => window.print()}>
        {say('report.print')}
      </button>
    </form>
  )
}

interface PaperProps {
  report: ReportView
  lines: readonly MaintenanceLine[]
  nameOf: (unwind: string) => string
  zone: string
}

/** No group is called so. */
const NOT_KNOWN = ''
const withRest = ({ counts }: ReportView, rows: ReportView['groups'][number]['rows']) => {
  const rest = restOf(counts, rows)
  return rest === undefined ? rows : [...rows, { ...rest, key: NOT_KNOWN, unit: '' }]
}

const Paper = ({ report, lines, nameOf, zone }: PaperProps) => {
  const [answer, ...more] = reportInWords(report)
  const axisFrom = axisFromOf(report.groups.flatMap(({ rows }) => rows))
  const hasNotes = report.bad.some((one) => peopleSaidInWords(one) !== '')
  const done = shownLog(report.log).filter(({ kind }) => REPORTED.includes(kind))
  return (
    <>
      <p class="answer-head" data-part="answer">
        {answer}
      </p>
      <p class="more">{more.join(' ')}</p>
      {report.register !== null && <p class="more">{registerInWords(report.register)}</p>}
      {!report.is_whole && <p class="fault">{say('report.not_whole')}</p>}
      {report.causes.length > 0 && (
        <section aria-labelledby="causes">
          <h2 id="causes">{say('report.causes')}</h2>
          <Causes causes={report.causes} />
        </section>
      )}
      {report.groups
        .filter(({ rows }) => rows.length > 0)
        .map(({ by, rows }) => (
          <section key={by} aria-label={say(`report.by.${by}`)}>
            <h2>{say(`report.by.${by}`)}</h2>
            <Shares
              rows={withRest(report, rows)}
              axisFrom={axisFrom}
              nameOf={(key) => {
                if (key === NOT_KNOWN) return say('report.not_known')
                const unit = rows.find((row) => row.key === key)?.unit ?? ''
                if (by === 'unwind') return nameOf(key)
                if (by !== 'side') return `${key} ${unit}`.trim()
                const [unwind = '', ...side] = key.split(' ')
                return `${nameOf(unwind)} ${side.join(' ')}`
              }}
            />
          </section>
        ))}
      <section aria-labelledby="waiting">
        <h2 id="waiting">{say('maintenance.title')}</h2>
        {lines.length === 0 ? (
          <p class="soft">{say('maintenance.none')}</p>
        ) : (
          <ul class="lines">
            {lines.map(({ unwind, name, text }) => (
              <li key={`${unwind} ${text}`}>
                <b>{name}</b>: {text}
              </li>
            ))}
          </ul>
        )}
      </section>
      {done.length > 0 && (
        <section aria-labelledby="done">
          <h2 id="done">{say('report.done')}</h2>
          <table class="changes">
            <tbody>
              {done.map((entry) => (
                <tr key={entry.id}>
                  <td class="time">{minutes(entry.time, zone)}</td>
                  <td>{nameOf(entry.unwind)}</td>
                  <th scope="row">
                    <EntryWords entry={entry} zone={zone} />
                  </th>
                </tr>
              ))}
            </tbody>
          </table>
        </section>
      )}
      {report.bad.length > 0 && (
        <section aria-labelledby="bad">
          <h2 id="bad">{say('report.bad')}</h2>
          <table class="changes">
            <thead>
              <tr>
                {(['started', 'unwind', 'outcome', 'cause'] as const).map((column) => (
                  <th key={column} scope="col">
                    {say(`column.${column}`)}
                  </th>
                ))}
                {hasNotes && <th scope="col">{say('report.bad.notes')}</th>}
              </tr>
            </thead>
            <tbody>
              {report.bad.map(({ id, unwind, started, outcome, cause, is_outcome_said, is_cause_said, ...said }) => (
                <tr key={id}>
                  <td class="time">
                    <Link to={{ page: 'splice', id }}>{dateAndTime(Date.parse(started), zone)}</Link>
                  </td>
                  <td>{nameOf(unwind)}</td>
                  <td>
                    <OutcomeBadge outcome={outcome} isSaid={is_outcome_said} />
                  </td>
                  <td>
                    <ListedCause cause={cause} is_cause_said={is_cause_said} />
                  </td>
                  {hasNotes && (
                    <td class="notes">{peopleSaidInWords(said) !== '' && <span>{peopleSaidInWords(said)}</span>}</td>
                  )}
                </tr>
              ))}
            </tbody>
          </table>
        </section>
      )}
      <p class="cautions">{say('report.caution')}</p>
    </>
  )
}

/** A whole hour that is not over yet is told of until now only. */
const untilNow = (span: Span, nowTMs = span.toTMs): Span => ({
  ...span,
  toTMs: Math.max(span.fromTMs, Math.min(span.toTMs, nowTMs)),
})

const heading = (health: HealthView | undefined, span: Span, zone: string): string =>
  say('report.span', {
    site: health?.site ?? '',
    from:
      zoneName(span.fromTMs, zone) === zoneName(span.toTMs, zone)
        ? dateAndMinutes(span.fromTMs, zone)
        : dateMinutesZone(span.fromTMs, zone),
    to: dateAndMinutes(span.toTMs, zone),
    zone: zoneName(span.toTMs, zone),
  })

export const ReportPage = ({ query }: PageProps) => {
  const navigate = useContext(NavigateContext)
  const { zone, unwinds, isLive } = useSite()
  const health = useLiveValue((store) => store.state.health)
  // The address holds the span once it is chosen; until then it is the last day, by the daemon's clock.
  const nowTMs = useLiveValue((store) => {
    const tMs = serverNow(store.state, store.nowMs)
    return tMs === undefined ? undefined : Math.floor(tMs / 60_000) * 60_000
  })
  const span = spanIn(query) ?? (nowTMs === undefined ? undefined : spanOf('day', nowTMs))
  const unwind = new URLSearchParams(query).get('unwind') ?? ''
  const person = useSession().session?.person ?? null
  const nameOf = (id: string) => unwinds.find((view) => view.unwind === id)?.name ?? id
  const report = useRequest<ReportView>(span && `api/report?${spanQuery(span, unwind)}`, isLive)
  const list = useRequest<MaintenanceLine[]>('api/maintenance', isLive)
  return (
    <main
      id="content"
      class="page report"
      tabIndex={-1}
      aria-busy={report.data === undefined && report.error === undefined}
    >
      <header class="page-head">
        <h1>{say('page.report')}</h1>
        {span !== undefined && (
          <>
            <p>
              {heading(health, untilNow(span, nowTMs), zone)}
              {unwind !== '' && ` · ${nameOf(unwind)}`}
            </p>
            <Controls
              span={span}
              unwind={unwind}
              unwinds={unwinds}
              zone={zone}
              nowTMs={nowTMs ?? span.toTMs}
              shifts={health?.shifts ?? []}
              onChange={(next, of) => navigate({ page: 'report', query: spanQuery(next, of) }, { isReplacing: true })}
            />
          </>
        )}
      </header>
      {report.error !== undefined && <Fault says="report.failed" reason={report.error} onRetry={report.retry} />}
      <DemoOnPaper />
      {nowTMs !== undefined && (
        <p class="print-only" data-part="printed">
          {say(person === null ? 'report.printed' : 'report.printed.by', {
            time: dateMinutesZone(nowTMs, zone),
            person: person ?? '',
          })}
        </p>
      )}
      {report.data !== undefined && report.error === undefined && (
        <Paper
          report={report.data}
          lines={(list.data ?? []).filter((line) => unwind === '' || line.unwind === unwind)}
          nameOf={nameOf}
          zone={zone}
        />
      )}
    </main>
  )
}
