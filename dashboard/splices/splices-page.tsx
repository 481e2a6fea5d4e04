/** All splices, newest first: what happened, and why? */
import { useContext } from 'preact/hooks'
import type { SpliceView } from '../../edge/api/messages.ts'
import { toAddress } from '../api.ts'
import { NavigateContext } from '../frame/link.tsx'
import { useLiveValue } from '../frame/live-context.ts'
import { Fault } from '../frame/parts.tsx'
import { useRequest } from '../frame/use-request.ts'
import { CountDifferences } from '../joints/count-differences.tsx'
import { say, sayName } from '../messages.ts'
import { Printed } from '../print/printed.tsx'
import { dateMinutesZone, zoneOfList } from '../times.ts'
import { ByHandForm } from './by-hand-form.tsx'
import { FilterForm } from './filter-form.tsx'
import { type Filters, parseFilters, toApiQuery, toQuery, withLive } from './filters.ts'
import { SpliceTable } from './splice-table.tsx'

export const useSite = () => ({
  zone: useLiveValue((store) => store.state.health?.time_zone ?? 'UTC'),
  unwinds: useLiveValue((store) => store.state.unwinds),
  isLive: useLiveValue((store) => store.freshness === 'live'),
})

/** What the list was filtered by, as words on paper; and the zone of its times. */
const filterInWords = (filters: Filters, nameOf: (unwind: string) => string, zone: string): string[] => {
  const time = (iso: string) => (Number.isNaN(Date.parse(iso)) ? iso : dateMinutesZone(Date.parse(iso), zone))
  const { unwind, outcome, cause, text, from, to } = filters
  return [
    ...(unwind === undefined ? [] : [`${say('filter.unwind')}: ${nameOf(unwind)}`]),
    ...(outcome === undefined ? [] : [`${say('filter.outcome')}: ${say(`outcome.${outcome}`)}`]),
    ...(cause === undefined ? [] : [`${say('column.cause')}: ${sayName('cause', cause)}`]),
    ...(text === undefined ? [] : [`${say('filter.text')}: ${text}`]),
    ...(from === undefined ? [] : [`${say('filter.from')}: ${time(from)}`]),
    ...(to === undefined ? [] : [`${say('filter.to')}: ${time(to)}`]),
  ]
}

const Empty = ({ filters, onClear }: { filters: Filters; onClear: () => void }) => {
  const isFiltered = toQuery(filters) !== ''
  return (
    <div class="empty">
      <p class="empty-head">{say(isFiltered ? 'splices.none_match' : 'splices.empty')}</p>
      <p>{say(isFiltered ? 'splices.none_match.do' : 'splices.empty.do')}</p>
      {isFiltered && (
        <button type="button" onClick={onClear}>
          {say('splices.clear')}
        </button>
      )}
    </div>
  )
}

export const SplicesPage = ({ query }: { query: string }) => {
  const navigate = useContext(NavigateContext)
  const filters = parseFilters(query)
  const asked = toApiQuery(filters)
  const { zone, unwinds, isLive } = useSite()
  const live = useLiveValue((store) => store.state.splices)
  // Read again when the connection is back: what came meanwhile was not sent here.
  const { data, error, retry } = useRequest<SpliceView[]>(`api/splices${asked === '' ? '' : `?${asked}`}`, isLive)
  const change = (next: Filters) => navigate({ page: 'splices', query: toQuery(next) }, { isReplacing: true })
  const splices = data === undefined ? undefined : withLive(data, live.values(), filters)
  const nameOf = (unwind: string) => unwinds.find((view) => view.unwind === unwind)?.name ?? unwind
  return (
    <main id="content" class="page" tabIndex={-1}>
      <header class="page-head">
        <h1>{say('page.splices')}</h1>
        <p class="no-print">{say('splices.question')}</p>
        <Printed
          of={[
            ...filterInWords(filters, nameOf, zone),
            say('filter.zone', {
              zone: zoneOfList(splices?.map(({ started }) => Date.parse(started)) ?? [], zone).head || zone,
            }),
          ]}
        />
        <FilterForm filters={filters} unwinds={unwinds} zone={zone} onChange={change} />
        <div class="actions no-print">
          <a class="button" href={toAddress(`api/splices.csv${asked === '' ? '' : `?${asked}`}`)} download>
            {say('splices.csv')}
          </a>
          <ByHandForm unwinds={unwinds} zone={zone} />
        </div>
      </header>
      {error !== undefined && <Fault says="splices.failed" reason={error} onRetry={retry} />}
      {splices !== undefined && splices.length === 0 && <Empty filters={filters} onClear={() => change({})} />}
      {splices !== undefined && splices.length > 0 && (
        <>
          <p class="count" aria-live="polite">
            {splices.length === 1 ? say('splices.count_one') : say('splices.count', { count: splices.length })}
          </p>
          <CountDifferences nameOf={nameOf} zone={zone} again={live} />
          <SpliceTable splices={splices} nameOf={nameOf} zone={zone} />
        </>
      )}
    </main>
  )
}
