/** Is it getting worse? The answer in words, what waits for maintenance, then a small chart of each metric. */
import { useContext, useState } from 'preact/hooks'
import type { MaintenanceLine, ServiceView, TrendsView } from '../../edge/trend-views.ts'
import { inWords } from '../daemon-words.ts'
import { useCommands } from '../frame/commands.tsx'
import { Icon } from '../frame/icons.tsx'
import { Link, NavigateContext } from '../frame/link.tsx'
import type { PageProps } from '../frame/pages.ts'
import { Fault } from '../frame/parts.tsx'
import { useRequest } from '../frame/use-request.ts'
import { say } from '../messages.ts'
import { useSite } from '../splices/splices-page.tsx'
import { dateAndTime, zoneName } from '../times.ts'
import { answerOf, metricInWords, trendInWords } from './figures.ts'
import { entryInWords, serviceName } from './log-words.ts'
import { registerInWords } from './register-words.ts'
import { countInWords, Services } from './services.tsx'
import { TrendChart } from './trend-chart.tsx'
import { marksOf } from './trend-geometry.ts'
import { WhatChanged } from './what-changed.tsx'

/** Steps that a setting made: news, and no warning. */
const MOST_BY_SETTING = 3
/** Splices in the table behind the charts. */
const LISTED = 30

const lineInWords = (line: Pick<MaintenanceLine, 'trend' | 'service' | 'text' | 'words'>): string => {
  if (line.trend !== null) return trendInWords(line.trend)
  if (line.service !== null) return `${serviceName(line.service)}: ${countInWords(line.service)}`
  return inWords(line)
}

const List = ({ lines, unwind }: { lines: readonly MaintenanceLine[]; unwind: string }) => (
  <section class="maintenance" aria-labelledby="maintenance">
    <h2 id="maintenance">{say('maintenance.title')}</h2>
    {lines.length === 0 ? (
      <p class="soft">{say('maintenance.none')}</p>
    ) : (
      <ul>
        {lines.map(({ unwind: of, name, kind, ...line }) => (
          <li key={`${of} ${kind} ${line.text}`}>
            <Icon name="medium" />
            <span>
              {of === unwind ? (
                <b>{name}</b>
              ) : (
                <Link to={{ page: 'trends', query: `unwind=${encodeURIComponent(of)}` }}>{name}</Link>
              )}
              : {lineInWords(line)}
            </span>
          </li>
        ))}
      </ul>
    )}
  </section>
)

const Table = ({ data, zone }: { data: TrendsView; zone: string }) => {
  const ids = data.charts.flatMap(({ points }) => points.map(({ id, time }) => ({ id, time })))
  const newest = [...new Map(ids.map((one) => [one.id, one.time]))]
    .sort((a, b) => b[1].localeCompare(a[1]))
    .slice(0, LISTED)
  const byId = data.charts.map(({ metric, points }) => ({
    metric,
    of: new Map(points.map((one) => [one.id, one.value])),
  }))
  return (
    <details class="behind">
      <summary>{say(newest.length === 1 ? 'trends.table_one' : 'trends.table', { count: newest.length })}</summary>
      <div class="wide">
        <table>
          <thead>
            <tr>
              <th scope="col">{say('column.started')}</th>
              {byId.map(({ metric }) => (
                <th key={metric} scope="col" class="number">
                  {say(`trend.${metric}`)}
                </th>
              ))}
            </tr>
          </thead>
          <tbody>
            {newest.map(([id, time]) => (
              <tr key={id}>
                <th scope="row">
                  <Link to={{ page: 'splice', id }}>{dateAndTime(Date.parse(time), zone)}</Link>
                </th>
                {byId.map(({ metric, of }) => (
                  <td key={metric} class="number">
                    {metricInWords(metric, of.get(id) ?? null)}
                  </td>
                ))}
              </tr>
            ))}
          </tbody>
        </table>
      </div>
    </details>
  )
}

const Charts = ({ data, services, zone }: { data: TrendsView; services: readonly ServiceView[]; zone: string }) => {
  const times = data.charts[0]?.points.map(({ time }) => time) ?? []
  const marks = marksOf(data.log, times)
  const sides = [...new Set(data.charts.flatMap(({ points }) => points.map(({ side }) => side)))].filter(Boolean).sort()
  return (
    <>
      <p class="legend soft">
        {say('trends.legend')}
        {data.side === null &&
          sides.length > 1 &&
          ` ${say('trends.legend.sides', { first: sides[0] ?? '', second: sides[1] ?? '' })}`}{' '}
        {say('trends.legend.zone', { zone: zoneName(Date.parse(data.time), zone) })}
      </p>
      <div class="trends">
        {data.charts.map((chart) => (
          <TrendChart
            key={chart.metric}
            chart={chart}
            trend={data.standing.find(
              (trend) =>
                trend.metric === chart.metric && (data.side === null || (trend.side ?? data.side) === data.side),
            )}
            marks={marksOf(
              data.log,
              chart.points.map(({ time }) => time),
            )}
            zone={zone}
            isWatched={chart.points.length >= data.needed}
          />
        ))}
      </div>
      <WhatChanged marks={marks} changes={data.changes} services={services} zone={zone} />
      <Table data={data} zone={zone} />
    </>
  )
}

export const TrendsPage = ({ query }: PageProps) => {
  const navigate = useContext(NavigateContext)
  const commands = useCommands()
  const { zone, unwinds, isLive } = useSite()
  const [entered, setEntered] = useState(0)
  const asked = new URLSearchParams(query)
  const unwind = asked.get('unwind') ?? unwinds[0]?.unwind
  const side = asked.get('side') ?? ''
  const name = unwinds.find((view) => view.unwind === unwind)?.name ?? unwind ?? ''
  const again = `${isLive} ${entered}`
  const path = unwind === undefined ? undefined : `api/unwinds/${encodeURIComponent(unwind)}`
  const ofSide = side === '' ? '' : `?side=${encodeURIComponent(side)}`
  const trends = useRequest<TrendsView>(path && `${path}/trends${ofSide}`, again)
  const services = useRequest<ServiceView[]>(path && `${path}/services`, again)
  const list = useRequest<MaintenanceLine[]>('api/maintenance', again)
  const data = trends.data?.unwind === unwind ? trends.data : undefined
  // The sides stay selectable while the charts of another one are read.
  const sides = data?.sides ?? []
  const show = (of: string, ofItsSide: string) =>
    navigate(
      { page: 'trends', query: new URLSearchParams({ unwind: of, ...(ofItsSide && { side: ofItsSide }) }).toString() },
      { isReplacing: true },
    )
  const refresh = () => setEntered((count) => count + 1)
  return (
    <main id="content" class="page" tabIndex={-1} aria-busy={data === undefined && trends.error === undefined}>
      <header class="page-head">
        <h1>{say('page.trends')}</h1>
        <form class="filters no-print" onSubmit={(event) => event.preventDefault()}>
          <label>
            {say('filter.unwind')}
            <select name="unwind" value={unwind} onChange={(event) => show(event.currentTarget.value, '')}>
              {unwinds.map((view) => (
                <option key={view.unwind} value={view.unwind}>
                  {view.name}
                </option>
              ))}
            </select>
          </label>
          {(sides.length > 1 || side !== '') && (
            <label>
              {say('trends.side')}
              <select
                name="side"
                value={side}
                onChange={(event) => unwind !== undefined && show(unwind, event.currentTarget.value)}
              >
                <option value="">{say('splices.all')}</option>
                {[...new Set([...sides, ...(side === '' ? [] : [side])])].map((one) => (
                  <option key={one} value={one}>
                    {one}
                  </option>
                ))}
              </select>
            </label>
          )}
        </form>
      </header>
      {trends.error !== undefined && <Fault says="trends.failed" reason={trends.error} onRetry={trends.retry} />}
      {data !== undefined && (
        <div class="answer" data-part="answer" data-worse={data.standing.length > 0}>
          <p class="answer-head">
            {data.standing.length > 0 && <Icon name="medium" />}
            {answerOf(data, name)}
          </p>
          {data.log
            .filter(({ kind }) => kind === 'since_setting')
            .slice(0, MOST_BY_SETTING)
            .map((entry) => (
              <p key={entry.id} class="soft">
                {`${dateAndTime(Date.parse(entry.time), zone).slice(0, 16)} ${entryInWords(entry)}`}
              </p>
            ))}
          {data.standing.map((trend) => (
            <p key={`${trend.metric} ${trend.side}`} class="answer-line">
              <span>{trendInWords(trend)}</span>
              <button
                type="button"
                class="no-print"
                title={say('trends.accept.do')}
                onClick={() => void commands.send(`${path}/usual`, { metric: trend.metric }).then(refresh)}
              >
                {say('trends.accept')}
              </button>
            </p>
          ))}
        </div>
      )}
      {list.data !== undefined && (
        // Its own trends stand above already.
        <List
          lines={list.data.filter((line) => line.kind !== 'trend' || line.unwind !== unwind)}
          unwind={unwind ?? ''}
        />
      )}
      {data?.register != null && <p>{registerInWords(data.register)}</p>}
      {data !== undefined && data.charts.length === 0 && (
        <div class="empty">
          <p class="empty-head">{say('trends.empty')}</p>
          <p>{say('trends.empty.do')}</p>
        </div>
      )}
      {data !== undefined && data.charts.length > 0 && (
        <Charts data={data} services={services.data ?? []} zone={zone} />
      )}
      {unwind !== undefined && services.data !== undefined && (
        <Services
          services={services.data}
          zone={zone}
          onDone={async (item, note) => {
            const isTaken = (await commands.send(`${path}/services`, { item, note })) !== undefined
            refresh()
            return isTaken
          }}
        />
      )}
    </main>
  )
}
