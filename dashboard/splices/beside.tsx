/** One splice beside another: which one, from the address; the lengths of both; what is drawn of it is the chart's. */
import { useContext, useMemo } from 'preact/hooks'
import type { SpliceView, TraceView } from '../../edge/api/messages.ts'
import { PHASES, type Phase } from '../../edge/columns.ts'
import { sideOf } from '../../edge/splice-details.ts'
import { Link, NavigateContext } from '../frame/link.tsx'
import { useRequest } from '../frame/use-request.ts'
import { say } from '../messages.ts'
import { dateAndTime, dateMinutesZone } from '../times.ts'
import { formatNumber, formatSpeed } from '../units.ts'
import { type Measure, measureFigure, measureUnit, shownDifference } from './measures.ts'
import { outcomeName } from './outcome-badge.tsx'

/** So many good ones before are offered. */
const OFFERED = 30
const PARAMETER = 'beside'

export interface BesideSplice {
  /** In the address; undefined where none is asked for. */
  id: string | undefined
  splice: SpliceView | undefined
  trace: TraceView | undefined
  isMissing: boolean
}

export const useBeside = (query: string): BesideSplice => {
  const id = new URLSearchParams(query).get(PARAMETER) ?? undefined
  const path = id === undefined ? undefined : `api/splices/${encodeURIComponent(id)}`
  const record = useRequest<SpliceView>(path)
  const trace = useRequest<TraceView>(path && `${path}/trace`)
  return useMemo(() => {
    // What was asked for before stays until the new one has come.
    const ofId = <T extends { id: string }>(found: T | undefined) => (found?.id === id ? found : undefined)
    return {
      id,
      splice: ofId(record.data),
      trace: ofId(trace.data),
      isMissing: id !== undefined && (record.isMissing || trace.isMissing),
    }
  }, [id, record.data, trace.data, record.isMissing, trace.isMissing])
}

const optionOf = (splice: SpliceView, zone: string): string =>
  [dateAndTime(Date.parse(splice.started), zone), sideOf(splice), formatSpeed(splice.speed)]
    .filter((part) => part !== null && part !== '')
    .join(' · ')

interface ChoiceProps {
  splice: SpliceView
  beside: BesideSplice
  zone: string
}

/** The last good one of this splicer first, of the same side where there is one. */
export const BesideChoice = ({ splice, beside, zone }: ChoiceProps) => {
  const navigate = useContext(NavigateContext)
  const asked = new URLSearchParams({
    unwind: splice.unwind,
    outcome: 'good',
    to: new Date(Date.parse(splice.started) - 1).toISOString(),
    limit: String(OFFERED),
  })
  const { data } = useRequest<SpliceView[]>(`api/splices?${asked}`)
  const good = (data ?? []).filter(({ has_trace }) => has_trace)
  const last = good.find((other) => sideOf(other) === sideOf(splice)) ?? good[0]
  const others = good.filter((other) => other !== last)
  const isOffered = beside.id === undefined || good.some(({ id }) => id === beside.id)
  const choose = (id: string) =>
    navigate(
      { page: 'splice', id: splice.id, query: id === '' ? '' : new URLSearchParams({ [PARAMETER]: id }).toString() },
      { isReplacing: true },
    )
  const option = (one: SpliceView) => (
    <option key={one.id} value={one.id}>
      {optionOf(one, zone)}
    </option>
  )
  if (data !== undefined && last === undefined && beside.id === undefined) {
    return <p class="question no-print">{say('beside.nothing')}</p>
  }
  return (
    <label class="beside-choice no-print">
      {say('beside.choose')}
      <select name="beside" value={beside.id ?? ''} onChange={(event) => choose(event.currentTarget.value)}>
        <option value="">{say('beside.none')}</option>
        {!isOffered && beside.id !== undefined && (
          <option value={beside.id}>{beside.splice === undefined ? beside.id : optionOf(beside.splice, zone)}</option>
        )}
        {last !== undefined && <optgroup label={say('beside.last')}>{option(last)}</optgroup>}
        {others.length > 0 && <optgroup label={say('beside.others')}>{others.map(option)}</optgroup>}
      </select>
    </label>
  )
}

interface Row {
  name: string
  measure: Measure
  decimals: number
  own: number | null
  other: number | null
}

const lengthOf = ({ phases }: SpliceView, phase: Phase): number | null =>
  phases.find((span) => span.phase === phase)?.seconds ?? null

const rowsOf = (splice: SpliceView, other: SpliceView): Row[] => {
  const figure = (column: 'speed' | 'web_from_buffer' | 'buffer_low', measure: Measure, decimals: number): Row => ({
    name: say(`column.${column}`),
    measure,
    decimals,
    own: splice[column],
    other: other[column],
  })
  const rows: Row[] = [
    ...PHASES.map(
      (phase): Row => ({
        name: say(`phase.${phase}`),
        measure: 'seconds',
        decimals: 2,
        own: lengthOf(splice, phase),
        other: lengthOf(other, phase),
      }),
    ),
    figure('speed', 'speed', 0),
    figure('web_from_buffer', 'length', 1),
    figure('buffer_low', 'length', 1),
  ]
  return rows.filter(({ own, other: theirs }) => own !== null || theirs !== null)
}

const difference = ({ own, other, measure, decimals }: Row): string => {
  if (own === null || other === null) return formatNumber(null, 0)
  return shownDifference(own, other, measure, decimals)
}

interface TableProps extends ChoiceProps {
  nameOf: (unwind: string) => string
}

export const BesideTable = ({ splice, beside, zone, nameOf }: TableProps) => {
  const { splice: other } = beside
  if (beside.isMissing) {
    return (
      <p class="fault" role="alert">
        {say('beside.missing')}
      </p>
    )
  }
  if (other === undefined) return null
  const isByTransfer = splice.transfer !== null && other.transfer !== null
  return (
    <section class="beside" aria-labelledby="beside">
      <h2 id="beside">{say('beside.title')}</h2>
      <p>
        {say(isByTransfer ? 'beside.by_transfer' : 'beside.by_start')}{' '}
        <Link to={{ page: 'splice', id: other.id }}>
          {nameOf(other.unwind)}, {dateMinutesZone(Date.parse(other.started), zone)}
        </Link>{' '}
        · {say(`outcome.${outcomeName(other)}`)}
        {sideOf(other) !== null && ` · ${say('figure.side')} ${sideOf(other)}`}
      </p>
      <table class="phases">
        <thead>
          <tr>
            <th scope="col">{say('splice.phase')}</th>
            <th scope="col" class="number">
              {say('beside.own')}
            </th>
            <th scope="col" class="number">
              {say('beside.other')}
            </th>
            <th scope="col" class="number">
              {say('beside.difference')}
            </th>
          </tr>
        </thead>
        <tbody>
          {rowsOf(splice, other).map((row) => (
            <tr key={row.name}>
              <th scope="row">
                {row.name} <span class="unit">{measureUnit(row.measure)}</span>
              </th>
              <td class="number">{measureFigure(row.own, row.measure, row.decimals)}</td>
              <td class="number">{measureFigure(row.other, row.measure, row.decimals)}</td>
              <td class="number">{difference(row)}</td>
            </tr>
          ))}
        </tbody>
      </table>
    </section>
  )
}
