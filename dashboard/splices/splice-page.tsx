/** One splice: what happened in a sentence, its numbers and phases, and second by second. */
import type { SpliceView, TraceView, WhyView } from '../../edge/api/messages.ts'
import type { LogEntry } from '../../edge/trend-views.ts'
import { routeAddress, toAddress } from '../api.ts'
import { TraceChart } from '../charts/trace-chart.tsx'
import { Icon } from '../frame/icons.tsx'
import { Link } from '../frame/link.tsx'
import { useLiveValue } from '../frame/live-context.ts'
import type { PageProps } from '../frame/pages.ts'
import { type Requested, useRequest } from '../frame/use-request.ts'
import { SpliceJoint } from '../joints/splice-joint.tsx'
import { say } from '../messages.ts'
import { DemoOnPaper } from '../print/demo-on-paper.tsx'
import { clockWithZone, dateAndTime, zoneName } from '../times.ts'
import { formatNumber } from '../units.ts'
import { BesideChoice, type BesideSplice, BesideTable, useBeside } from './beside.tsx'
import { FigureList, figure, named } from './figure-list.tsx'
import { NUMBER_COLUMNS, SPLICE_MEASURES } from './measures.ts'
import { SpliceCause, SpliceOutcome } from './outcome-badge.tsx'
import { Early, People } from './people.tsx'
import { RecordFigures } from './record-figures.tsx'
import { SetBefore, useSetBefore } from './set-before.tsx'
import { useSite } from './splices-page.tsx'
import { StubLabel } from './stub-label.tsx'
import { causeInWords, flagsInWords, machineVerdict, sentenceFor } from './summary.ts'
import { WebLost } from './web-lost.tsx'
import { WhyPanel } from './why-panel.tsx'

/** The verdict that counts; the monitor's own beside it where people said otherwise. */
const Numbers = ({ splice, zone }: { splice: SpliceView; zone: string }) => (
  <FigureList
    id="numbers"
    title={say('splice.numbers')}
    figures={[
      {
        name: 'column.outcome',
        value: <SpliceOutcome splice={splice} />,
      },
      causeInWords(splice) === '' ? undefined : { name: 'column.cause', value: <SpliceCause splice={splice} /> },
      named('figure.monitor_said', machineVerdict(splice) ?? null),
      named('column.flags', flagsInWords(splice.flags)),
      ...NUMBER_COLUMNS.map((column) =>
        figure(`column.${column}`, splice[column], SPLICE_MEASURES[column].measure, SPLICE_MEASURES[column].decimals),
      ),
      named('column.ended', splice.ended === null ? null : clockWithZone(Date.parse(splice.ended), zone)),
    ]}
  />
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

interface TraceProps {
  trace: Requested<TraceView>
  beside: BesideSplice
  splice: SpliceView
  why: WhyView | undefined
  log: readonly LogEntry[]
  zone: string
}

const Trace = ({ splice, trace: { data, error, isMissing }, beside, why, log, zone }: TraceProps) => {
  return (
    <section class="trace" aria-labelledby="trace">
      <h2 id="trace">{say('splice.trace')}</h2>
      {data !== undefined && <BesideChoice splice={splice} beside={beside} zone={zone} />}
      {data !== undefined && (
        <TraceChart
          trace={data}
          zone={zone}
          isMissed={splice.outcome === 'missed'}
          band={why?.band ?? null}
          settingMm={splice.details.setting}
          cutShort={splice.details.cut_short}
          beside={beside.trace}
          done={log}
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

const PrintButton = () => (
  <button type="button" onClick={() => window.print()}>
    {say('splice.print')}
  </button>
)

export const SplicePage = ({ id, query }: PageProps) => {
  const { zone, unwinds, isLive } = useSite()
  const revised = useLiveValue((store) => store.state.splices.get(id))
  const { data, error, isMissing, retry } = useRequest<SpliceView>(`api/splices/${encodeURIComponent(id)}`, isLive)
  const splice = revised ?? data
  // Later evidence may change what departs.
  const path = `api/splices/${encodeURIComponent(id)}/why`
  const why = useRequest<WhyView>(splice === undefined ? undefined : path, splice?.closed)
  // A trace grows until a minute after the splice: each revision of the record asks anew.
  const trace = useRequest<TraceView>(
    splice?.has_trace === true ? `api/splices/${encodeURIComponent(id)}/trace` : undefined,
    splice,
  )
  const log = useSetBefore(splice)
  const beside = useBeside(query)
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
  const nameOf = (unwind: string) => unwinds.find((view) => view.unwind === unwind)?.name ?? unwind
  const name = nameOf(splice.unwind)
  const time = `${dateAndTime(startedTMs, zone)} ${zoneName(startedTMs, zone)}`
  if (new URLSearchParams(query).has('label')) {
    return (
      <main id="content" class="page" tabIndex={-1}>
        <div class="actions no-print">
          <Link to={{ page: 'splice', id }} class="back">
            <Icon name="back" />
            {say('label.back')}
          </Link>
          <PrintButton />
        </div>
        <StubLabel splice={splice} unwind={name} zone={zone} />
      </main>
    )
  }
  return (
    <main id="content" class="page" tabIndex={-1}>
      <header class="page-head">
        {back}
        <DemoOnPaper />
        <h1 data-part="sentence">{sentenceFor(splice, name, time)}</h1>
        {splice.details.cut_short !== null && (
          <p data-part="cut-short">
            {say('splice.cut_short', { time: clockWithZone(Date.parse(splice.details.cut_short), zone) })}
          </p>
        )}
        <div class="actions no-print">
          <PrintButton />
          {splice.has_trace && (
            <a class="button" href={toAddress(`api/splices/${encodeURIComponent(id)}/trace.csv`)} download>
              {say('splice.trace.csv')}
            </a>
          )}
        </div>
      </header>
      <Early key={splice.id} splice={splice} asks />
      <WhyPanel why={why.data} error={why.error} thing={splice.review?.thing ?? null} />
      <div class="splice">
        <div class="splice-main">
          <Trace splice={splice} trace={trace} beside={beside} why={why.data} log={log} zone={zone} />
          <BesideTable splice={splice} beside={beside} zone={zone} nameOf={nameOf} />
          <People splice={splice} zone={zone} />
        </div>
        <div class="splice-side">
          <Numbers splice={splice} zone={zone} />
          <Phases splice={splice} />
          <SpliceJoint splice={splice} />
          <SetBefore log={log} zone={zone} />
          <RecordFigures splice={splice} columns={trace.data?.columns ?? []} zone={zone} />
          <WebLost splice={splice} />
        </div>
      </div>
      <div class="cautions">
        <p>{say('splice.cautions')}</p>
        <p class="print-only">
          {say('splice.printed', {
            time: `${dateAndTime(Date.now(), zone)} ${zoneName(Date.now(), zone)}`,
            address: routeAddress({ page: 'splice', id, query }),
          })}
        </p>
      </div>
    </main>
  )
}
