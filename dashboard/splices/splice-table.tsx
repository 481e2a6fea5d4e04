/** The list: one row a splice, units in the header. On a phone each row becomes a card (styles/splices.css). */
import type { SpliceView } from '../../edge/api/messages.ts'
import { Link } from '../frame/link.tsx'
import { say } from '../messages.ts'
import { dateAndTime } from '../times.ts'
import { measureFigure, measureUnit, NUMBER_COLUMNS, SPLICE_MEASURES } from './measures.ts'
import { outcomeName, SpliceCause, SpliceOutcome } from './outcome-badge.tsx'
import { flagsInWords } from './summary.ts'

export interface SpliceTableProps {
  splices: readonly SpliceView[]
  nameOf: (unwind: string) => string
  zone: string
}

const Row = ({ splice, nameOf, zone }: Omit<SpliceTableProps, 'splices'> & { splice: SpliceView }) => {
  const time = dateAndTime(Date.parse(splice.started), zone)
  const unwind = nameOf(splice.unwind)
  return (
    <tr data-outcome={outcomeName(splice)}>
      <th scope="row">
        <Link to={{ page: 'splice', id: splice.id }} aria-label={say('splices.open', { unwind, time })}>
          {time}
        </Link>
      </th>
      <td class="cell-unwind">{unwind}</td>
      <td class="cell-outcome">
        <SpliceOutcome splice={splice} />
      </td>
      <td class="cell-cause">
        <SpliceCause splice={splice} />
        {splice.review?.thing != null && <span class="soft"> {say(`thing.${splice.review.thing}`)}</span>}
      </td>
      <td class="cell-flags">{flagsInWords(splice.flags)}</td>
      {NUMBER_COLUMNS.map((column) => (
        <td
          key={column}
          class="number"
          data-label={say(`column.${column}`)}
          data-unit={splice[column] === null ? '' : measureUnit(SPLICE_MEASURES[column].measure)}
        >
          {measureFigure(splice[column], SPLICE_MEASURES[column].measure, SPLICE_MEASURES[column].decimals)}
        </td>
      ))}
    </tr>
  )
}

export const SpliceTable = ({ splices, nameOf, zone }: SpliceTableProps) => (
  <table class="splices">
    <thead>
      <tr>
        {(['started', 'unwind', 'outcome', 'cause', 'flags'] as const).map((column) => (
          <th key={column} scope="col">
            {say(`column.${column}`)}
          </th>
        ))}
        {NUMBER_COLUMNS.map((column) => (
          <th key={column} scope="col" class="number">
            {say(`column.${column}`)} <span class="unit">{measureUnit(SPLICE_MEASURES[column].measure)}</span>
          </th>
        ))}
      </tr>
    </thead>
    <tbody>
      {splices.map((splice) => (
        <Row key={splice.id} splice={splice} nameOf={nameOf} zone={zone} />
      ))}
    </tbody>
  </table>
)
