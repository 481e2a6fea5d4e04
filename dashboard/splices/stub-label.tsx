/** The label for a returned stub: what it is, how much is on it, and a barcode. Printed alone on its sheet. */
import type { SpliceView } from '../../edge/api/messages.ts'
import { wasteOf } from '../../edge/splice-review.ts'
import { say } from '../messages.ts'
import { Barcode } from '../print/barcode.tsx'
import { dateAndTime, zoneName } from '../times.ts'
import { figureOf, formatLength, formatQuantity } from '../units.ts'

export const StubLabel = ({ splice, unwind, zone }: { splice: SpliceView; unwind: string; zone: string }) => {
  const { details } = splice
  const stub = wasteOf(splice).find(({ part }) => part === 'stub')
  if (stub === undefined) return <p>{say('label.none')}</p>
  const code = details.roll_id ?? splice.id
  const takenTMs = Date.parse(splice.transfer ?? splice.started)
  // An interval belongs to what was measured; what a person measured is taken as it is.
  const { left_on_roll_low: low, left_on_roll_high: high } = details
  const hasInterval = stub.by === 'measured' && low !== null && high !== null
  return (
    <article class="label" aria-label={say('label.title')}>
      <p class="label-head">{say('label.title')}</p>
      <p class="label-material">{details.material ?? say('label.no_material')}</p>
      <p class="label-length">
        {formatLength(stub.metres)}
        {stub.kilograms !== null && <span> {formatQuantity(stub.kilograms, 'mass', 1)}</span>}
      </p>
      {hasInterval && <p>{say('label.interval', { low: figureOf(low, 'length', 0), high: formatLength(high) })}</p>}
      <Barcode text={code} />
      <p class="label-code">{code}</p>
      <p>{say('label.from', { unwind, time: `${dateAndTime(takenTMs, zone)} ${zoneName(takenTMs, zone)}` })}</p>
    </article>
  )
}
