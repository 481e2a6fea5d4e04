/** Who did what, for an engineer: newest first, older on demand, and as a file. Question: who changed this, and when? */
import { useState } from 'preact/hooks'
import type { UnwindView } from '../../edge/api/messages.ts'
import type { AuditView } from '../../edge/api/messages-access.ts'
import { readJson, reasonFor, toAddress } from '../api.ts'
import { Link } from '../frame/link.tsx'
import { useLiveValue } from '../frame/live-context.ts'
import { Empty } from '../frame/parts.tsx'
import { useSession } from '../frame/session.tsx'
import { useRequest } from '../frame/use-request.ts'
import { say } from '../messages.ts'
import { fromLocalField, zoneOfList, zoneOfYear } from '../times.ts'
import { UnwindOptions } from '../unwind-options.tsx'
import { type AuditNames, auditWords } from './audit-words.ts'
import { ForEngineers } from './for-engineers.tsx'

const AT_ONCE = 100

interface Filter {
  person: string
  about: string
  result: string
  from: string
  to: string
}

const NO_FILTER: Filter = { person: '', about: '', result: '', from: '', to: '' }

const queryOf = (filter: Filter, zone: string): string => {
  const query = new URLSearchParams()
  for (const name of ['person', 'about', 'result'] as const) if (filter[name] !== '') query.set(name, filter[name])
  for (const name of ['from', 'to'] as const) {
    const tMs = fromLocalField(filter[name], zone)
    if (tMs !== undefined) query.set(name, new Date(tMs).toISOString())
  }
  return query.toString()
}

interface FiltersProps {
  filter: Filter
  unwinds: readonly UnwindView[]
  zone: string
  onChange: (filter: Filter) => void
}

const Filters = ({ filter, unwinds, zone, onChange }: FiltersProps) => (
  <form class="filters" onSubmit={(event) => event.preventDefault()}>
    <label>
      {say('audit.person')}
      <input
        value={filter.person}
        maxLength={64}
        onChange={(event) => onChange({ ...filter, person: event.currentTarget.value })}
      />
    </label>
    <label>
      {say('audit.about')}
      <select value={filter.about} onChange={(event) => onChange({ ...filter, about: event.currentTarget.value })}>
        <option value="">{say('audit.about.all')}</option>
        <UnwindOptions unwinds={unwinds} />
      </select>
    </label>
    <label>
      {say('audit.result')}
      <select value={filter.result} onChange={(event) => onChange({ ...filter, result: event.currentTarget.value })}>
        <option value="">{say('splices.all')}</option>
        {(['done', 'refused'] as const).map((result) => (
          <option key={result} value={result}>
            {say(`audit.result.${result}`)}
          </option>
        ))}
      </select>
    </label>
    {(['from', 'to'] as const).map((name) => (
      <label key={name}>
        {say(`filter.${name}`)}
        <input
          type="datetime-local"
          value={filter[name]}
          onChange={(event) => onChange({ ...filter, [name]: event.currentTarget.value })}
        />
      </label>
    ))}
    <span class="filter-zone">{say('filter.zone', { zone: zoneOfYear(Date.now(), zone) })}</span>
    <a class="button" href={toAddress(`api/audit.csv?${queryOf(filter, zone)}`)} download>
      {say('audit.file')}
    </a>
  </form>
)

const Row = ({ entry, names, time }: { entry: AuditView; names: AuditNames; time: string }) => {
  const { what, subject, to, remark } = auditWords(entry, names)
  return (
    <tr data-result={entry.result}>
      <th scope="row">
        <time dateTime={entry.time}>{time}</time>
      </th>
      <td>{entry.person === '' ? say('audit.nobody') : entry.person}</td>
      <td>{what}</td>
      <td>{to === undefined ? subject : <Link to={to}>{subject}</Link>}</td>
      <td>{say(`audit.result.${entry.result}`)}</td>
      <td>{remark}</td>
      <td class="when" data-label={say('audit.from')}>
        {entry.from}
      </td>
    </tr>
  )
}

export const AuditPage = () => {
  const { session } = useSession()
  const zone = useLiveValue((store) => store.state.health?.time_zone ?? 'UTC')
  const unwinds = useLiveValue((store) => store.state.unwinds)
  const nameOf = (unwind: string): string =>
    unwind === '' ? say('alarms.site') : (unwinds.find((one) => one.unwind === unwind)?.name ?? unwind)
  const [filter, setFilter] = useState(NO_FILTER)
  const [attempt, setAttempt] = useState(0)
  const [older, setOlder] = useState<AuditView[]>([])
  const [failure, setFailure] = useState<string>()
  const query = queryOf(filter, zone)
  const path = session === undefined ? undefined : `api/audit?limit=${AT_ONCE}&${query}`
  const { data, error } = useRequest<AuditView[]>(path, [attempt, session?.role].join())
  const entries = data === undefined ? undefined : [...data, ...older]
  const zones = zoneOfList(
    (entries ?? []).map(({ time }) => Date.parse(time)),
    zone,
  )
  const last = entries?.at(-1)
  const hasMore = last !== undefined && last.id > 1 && entries !== undefined && entries.length % AT_ONCE === 0
  const readOlder = (before: number) =>
    readJson<AuditView[]>(`api/audit?limit=${AT_ONCE}&before=${before}&${query}`).then(
      (more) => setOlder([...older, ...more]),
      (thrown: unknown) => setFailure(reasonFor(thrown)),
    )
  return (
    <main id="content" class="page audit" tabIndex={-1}>
      <header class="page-head">
        <h1>{say('page.audit')}</h1>
        <p>{say('audit.question')}</p>
      </header>
      <ForEngineers error={error} onIn={() => setAttempt(attempt + 1)}>
        <Filters
          filter={filter}
          unwinds={unwinds}
          zone={zone}
          onChange={(changed) => {
            setFilter(changed)
            setOlder([])
          }}
        />
        {entries !== undefined && entries.length === 0 && (
          <Empty head={say('audit.none')}>{say('audit.none.do')}</Empty>
        )}
        {entries !== undefined && entries.length > 0 && (
          <table class="list cards audit-table">
            <thead>
              <tr>
                <th scope="col">
                  {say('audit.time')} <span class="unit">{zones.head}</span>
                </th>
                <th scope="col">{say('audit.person')}</th>
                <th scope="col">{say('audit.action')}</th>
                <th scope="col">{say('audit.subject')}</th>
                <th scope="col">{say('audit.result')}</th>
                <th scope="col">{say('audit.detail')}</th>
                <th scope="col">{say('audit.from')}</th>
              </tr>
            </thead>
            <tbody>
              {entries.map((entry) => (
                <Row key={entry.id} entry={entry} names={{ nameOf, zone }} time={zones.time(Date.parse(entry.time))} />
              ))}
            </tbody>
          </table>
        )}
        {failure !== undefined && <p role="alert">{failure}</p>}
        {hasMore && (
          <button type="button" onClick={() => void readOlder(last.id)}>
            {say('audit.older')}
          </button>
        )}
      </ForEngineers>
    </main>
  )
}
