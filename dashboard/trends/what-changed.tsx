/** What was set and done, each with the letter of its mark, and what came before and after it. */
import type { ChangeView, ServiceView } from '../../edge/trend-views.ts'
import { say } from '../messages.ts'
import { dateAndTime } from '../times.ts'
import { metricFigure, metricUnit } from './figures.ts'
import { entryInWords } from './log-words.ts'
import type { Mark } from './trend-geometry.ts'

/** How far after lies from before, in spreads: what an eye should look at first. */
const sizeOf = ({ before, after }: ChangeView): number =>
  Math.abs(after.middle - before.middle) / Math.max(before.spread, after.spread, 1e-12)

const Effect = ({ change }: { change: ChangeView | undefined }) => {
  if (change === undefined) return <td class="none">{say('changes.few')}</td>
  const { metric, before, after } = change
  const side = (one: ChangeView['before']) =>
    `${metricFigure(metric, one.middle)} ± ${metricFigure(metric, one.spread)}`
  return (
    <td>
      {say(`trend.${metric}`)}: <span class="figure">{side(before)}</span> → <span class="figure">{side(after)}</span>{' '}
      {metricUnit(metric)}
    </td>
  )
}

export interface WhatChangedProps {
  marks: readonly Mark[]
  changes: readonly ChangeView[]
  services: readonly ServiceView[]
  zone: string
}

export const WhatChanged = ({ marks, changes, services, zone }: WhatChangedProps) => (
  <section aria-labelledby="changed">
    <h2 id="changed">{say('changes.title')}</h2>
    {marks.length === 0 ? (
      <div class="empty">
        <p class="empty-head">{say('changes.none')}</p>
        <p>{say('changes.none.do')}</p>
      </div>
    ) : (
      <table class="changes lettered">
        <thead>
          <tr>
            {(['mark', 'time', 'what', 'effect', 'person'] as const).map((column) => (
              <th key={column} scope="col">
                {say(`changes.${column}`)}
              </th>
            ))}
          </tr>
        </thead>
        <tbody>
          {marks.toReversed().map(({ entry, letter }) => (
            <tr key={entry.id}>
              <td class="letter">{letter}</td>
              <td class="time">{dateAndTime(Date.parse(entry.time), zone)}</td>
              <th scope="row">{entryInWords(entry, services)}</th>
              <Effect
                change={changes.filter((one) => one.entry === entry.id).toSorted((a, b) => sizeOf(b) - sizeOf(a))[0]}
              />
              <td class="who">{entry.person ?? ''}</td>
            </tr>
          ))}
        </tbody>
      </table>
    )}
  </section>
)
