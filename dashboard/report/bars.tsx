/** Two plots of a report: shares with their intervals, and causes by how often and how much they cost. */
import type { CountsView, ReportView, ShareView } from '../../edge/trend-views.ts'
import { say, sayName } from '../messages.ts'
import { formatLength, formatNumber } from '../units.ts'
import { lostInWords } from './report-words.ts'

export const percent = (share: number): string => formatNumber(100 * share, 1)

/** From the least low end of all tables to 100 %, so that near shares can be told apart, and compared from table to table. */
export const axisFromOf = (rows: readonly { success: ShareView | null }[]): number =>
  Math.min(0.95, ...rows.map(({ success }) => Math.floor((success?.low ?? 1) * 20) / 20))

export const Shares = ({
  rows,
  axisFrom: from,
  nameOf,
}: {
  rows: (CountsView & { key: string })[]
  axisFrom: number
  nameOf: (key: string) => string
}) => {
  const at = (share: number): string => `${((share - from) / (1 - from)) * 100}%`
  return (
    <table class="shares">
      <thead>
        <tr>
          <th scope="col">{say('report.group')}</th>
          <th scope="col" class="number good-of">
            {say('report.good_of')}
          </th>
          <th scope="col" class="number">
            {say('report.success')} <span class="unit">%</span>
          </th>
          <th scope="col" class="plot-head">
            <span>{say('report.axis', { share: percent(from) })}</span>
            <span>{say('report.axis', { share: 100 })}</span>
          </th>
          <th scope="col" class="number">
            {say('report.lost')}
          </th>
          <th scope="col" class="number">
            {say('report.waste')}
          </th>
        </tr>
      </thead>
      <tbody>
        {rows.map(({ key, splices, good, success, lost_seconds, waste }) => (
          <tr key={key}>
            <th scope="row">{nameOf(key)}</th>
            <td class="number good-of">{say('report.of', { good, splices })}</td>
            <td class="number">
              {success === null
                ? ''
                : say('report.interval', {
                    share: percent(success.share),
                    low: percent(success.low),
                    high: percent(success.high),
                  })}
            </td>
            <td class="plot">
              {success !== null && (
                <svg width="100%" height="18" aria-hidden="true">
                  <line class="reach" x1={at(success.low)} x2={at(success.high)} y1="9" y2="9" />
                  <circle cx={at(success.share)} cy="9" r="4.5" />
                </svg>
              )}
            </td>
            <td class="number">{lostInWords(lost_seconds)}</td>
            <td class="number">{formatLength(waste)}</td>
          </tr>
        ))}
      </tbody>
    </table>
  )
}

export const Causes = ({ causes }: { causes: ReportView['causes'] }) => {
  const most = Math.max(1, ...causes.map(({ splices }) => splices))
  return (
    <table class="shares">
      <thead>
        <tr>
          <th scope="col">{say('column.cause')}</th>
          <th scope="col" class="number">
            {say('report.splices')}
          </th>
          <td class="plot-head" />
          <th scope="col" class="number">
            {say('report.lost')}
          </th>
          <th scope="col" class="number">
            {say('report.waste')}
          </th>
        </tr>
      </thead>
      <tbody>
        {causes.map(({ cause, splices, lost_seconds, waste }) => (
          <tr key={cause}>
            <th scope="row">{cause === null ? say('cause.unknown') : sayName('cause', cause)}</th>
            <td class="number">{splices}</td>
            <td class="plot">
              <svg width="100%" height="18" aria-hidden="true">
                <rect class="bar-of" x="0" y="3" height="12" width={`${(splices / most) * 100}%`} />
              </svg>
            </td>
            <td class="number">{lostInWords(lost_seconds)}</td>
            <td class="number">{formatLength(waste)}</td>
          </tr>
        ))}
      </tbody>
    </table>
  )
}
