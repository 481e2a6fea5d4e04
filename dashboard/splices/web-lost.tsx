/** Web that the splice cost, each kind apart, in m, kg and money as far as the material is known. */
import type { SpliceView } from '../../edge/api/messages.ts'
import { wasteOf } from '../../edge/splice-review.ts'
import { Link } from '../frame/link.tsx'
import { say } from '../messages.ts'
import { figureOf, formatNumber, unitOf } from '../units.ts'

export const WebLost = ({ splice }: { splice: SpliceView }) => {
  const rows = wasteOf(splice)
  if (rows.length === 0) return null
  const currency = rows.find((row) => row.currency !== null)?.currency
  const hasKg = rows.some(({ kilograms }) => kilograms !== null)
  return (
    <section aria-labelledby="web-lost">
      <h2 id="web-lost">{say('waste.title')}</h2>
      <table class="phases">
        <thead>
          <tr>
            <th scope="col">{say('waste.part')}</th>
            <th scope="col" class="number unit">
              {unitOf('length')}
            </th>
            {hasKg && (
              <th scope="col" class="number unit">
                {unitOf('mass')}
              </th>
            )}
            {currency !== undefined && (
              <th scope="col" class="number unit">
                {currency}
              </th>
            )}
          </tr>
        </thead>
        <tbody>
          {rows.map(({ part, metres, kilograms, cost, by }) => (
            <tr key={part} data-part={`waste-${part}`}>
              <th scope="row">
                {say(`waste.${part}`)}
                {by === 'person' && <span class="soft"> {say('waste.by_person')}</span>}
              </th>
              <td class="number">{figureOf(metres, 'length', 1)}</td>
              {hasKg && <td class="number">{figureOf(kilograms, 'mass', 1)}</td>}
              {currency !== undefined && <td class="number">{formatNumber(cost, 2)}</td>}
            </tr>
          ))}
        </tbody>
      </table>
      {rows.some(({ part }) => part === 'stub') && (
        <p class="no-print">
          <Link to={{ page: 'splice', id: splice.id, query: 'label' }} class="button">
            {say('label.open')}
          </Link>
        </p>
      )}
    </section>
  )
}
