/** One splice: what happened in a sentence, its numbers and phases, and second by second. */
import type { SpliceView, TraceView } from '../../edge/api/messages.ts'
import { TraceChart } from '../charts/trace-chart.tsx'
import { Icon } from '../frame/icons.tsx'
import { Link } from '../frame/link.tsx'
import { useLiveValue } from '../frame/live-context.ts'
import { useRequest } from '../frame/use-request.ts'
import { say } from '../messages.ts'
import { clockSeconds, dateAndTime, zoneName } from '../times.ts'
import { formatNumber, SPLICE_UNITS } from '../units.ts'
import { OutcomeBadge } from './outcome-badge.tsx'
import { NUMBER_COLUMNS } from './splice-table.tsx'
import { useSite } from './splices-page.tsx'
import { causeInWords, flagsInWords, sentenceFor } from './summary.ts'

const Numbers = ({ splice, zone }: { splice: SpliceView; zone: string }) => (
  <section aria-labelledby="numbers">
    <h2 id="numbers">{say('splice.numbers')}</h2>
    <dl>
      <dt>{say('column.outcome')}</dt>
      <dd>
        <OutcomeBadge outcome={splice.outcome} />
      </dd>
      {splice.cause !== null && (
        <>
          <dt>{say('column.cause')}</dt>
          <dd>{causeInWords(splice)}</dd>
        </>
      )}
      {splice.flags !== '' && (
        <>
          <dt>{say('column.flags')}</dt>
          <dd>{flagsInWords(splice.flags)}</dd>
        </>
      )}
      {NUMBER_COLUMNS.map((column) => (
        <>
          <dt>{say(`column.${column}`)}</dt>
          <dd>
            {formatNumber(splice[column], SPLICE_UNITS[column].decimals)}
            {splice[column] !== null && <span class="unit"> {say(SPLICE_UNITS[column].unit)}</span>}
          </dd>
        </>
      ))}
      {splice.ended !== null && (
        <>
          <dt>{say('column.ended')}</dt>
          <dd>{clockSeconds(Date.parse(splice.ended), zone)}</dd>
        </>
      )}
    </dl>
  </section>
)

const Phases = ({ splice }: { splice: SpliceView }) => (
  <section aria-labelledby="phases">
    <h2 id="phases">{say('splice.phases')}</h2>
    {splice.phases.length === 0 ? (
      <p>{say('splice.no_phases')}</p>
    ) : (
      <table class="phases">
        <thead>
          <tr>
            <th scope="col">{say('splice.phase')}</th>
            <th scope="col" class="number">
              {say('splice.phase.from')} <span class="unit">{say('unit.s')}</span>
            </th>
            <th scope="col" class="number">
              {say('splice.phase.length')} <span class="unit">{say('unit.s')}</span>
            </th>
          </tr>
        </thead>
        <tbody>
          {splice.phases.map((span) => (
            <tr key={span.started}>
              <th scope="row">{say(`phase.${span.phase}`)}</th>
              <td class="number">{formatNumber((Date.parse(span.started) - Date.parse(splice.started)) / 1000, 1)}</td>
              <td class="number">{formatNumber(span.seconds, 2)}</td>
            </tr>
          ))}
        </tbody>
      </table>
    )}
  </section>
)

const Trace = ({ splice, zone }: { splice: SpliceView; zone: string }) => {
  // A trace grows until a minute after the splice: each revision of the record asks anew.
  const { data, error, isMissing } = useRequest<TraceView>(
    splice.has_trace ? `api/splices/${encodeURIComponent(splice.id)}/trace` : undefined,
    splice,
  )
  return (
    <section class="trace" aria-labelledby="trace">
      <h2 id="trace">{say('splice.trace')}</h2>
      {data !== undefined && (
        <TraceChart
          trace={data}
          zone={zone}
          startLabel={say(splice.outcome === 'missed' ? 'trace.missed' : 'trace.started')}
        />
      )}
      {(!splice.has_trace || isMissing) && (
        <div class="empty">
          <p class="empty-head">{say('splice.trace.none')}</p>
          <p>{say(splice.closed ? 'splice.trace.none.do' : 'splice.trace.wait')}</p>
        </div>
      )}
      {error !== undefined && !isMissing && (
        <p class="fault" role="alert">
          {say('splice.failed', { reason: error })}
        </p>
      )}
    </section>
  )
}

export const SplicePage = ({ id }: { id: string }) => {
  const { zone, unwinds, isLive } = useSite()
  const revised = useLiveValue((store) => store.state.splices.get(id))
  const { data, error, isMissing, retry } = useRequest<SpliceView>(`api/splices/${encodeURIComponent(id)}`, isLive)
  const splice = revised ?? data
  const back = (
    <Link to={{ page: 'splices', query: '' }} class="back">
      <Icon name="back" />
      {say('splice.back')}
    </Link>
  )
  if (splice === undefined)
    return (
      <main id="content" class="page" tabIndex={-1} aria-busy={error === undefined}>
        {back}
        {error !== undefined && (
          <div class="empty" role="alert">
            <h1 class="empty-head">{isMissing ? say('splice.missing') : say('page.splice')}</h1>
            <p>{isMissing ? say('splice.missing.do') : say('splice.failed', { reason: error })}</p>
            {!isMissing && (
              <button type="button" onClick={retry}>
                {say('splices.retry')}
              </button>
            )}
          </div>
        )}
      </main>
    )
  const startedTMs = Date.parse(splice.started)
  const name = unwinds.find((view) => view.unwind === splice.unwind)?.name ?? splice.unwind
  const time = `${dateAndTime(startedTMs, zone)} ${zoneName(startedTMs, zone)}`
  return (
    <main id="content" class="page" tabIndex={-1}>
      <header class="page-head">
        {back}
        <h1 data-part="sentence">{sentenceFor(splice, name, time)}</h1>
      </header>
      <div class="splice">
        <Trace splice={splice} zone={zone} />
        <div class="splice-side">
          <Numbers splice={splice} zone={zone} />
          <Phases splice={splice} />
        </div>
      </div>
    </main>
  )
}
