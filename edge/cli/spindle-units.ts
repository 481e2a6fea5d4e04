/**
 * Two spindles take the same rolls, so that their diameters lie in one range; one in another unit lies far off, and puts it
 * right when read in that unit. Pure.
 */
import { type SignalConfig, tagAddress } from '../config/config.ts'
import { keyOfTag } from '../config/tags.ts'

/** In the tag's own unit. */
export interface Range {
  low: number
  high: number
}

/** The inch, exact by definition (ISO 31-1). */
const MM_PER_INCH = 25.4
/** Largest rolls of the two that differ by more may be of another unit. */
const FAR_OFF = 3
/** Rolls of one line are not all alike: read in the right unit, a range may reach beyond the other's by this. */
const ALIKE = 1.2
/** A spindle whose reading did not move by this took no roll: a core beside a full roll is no fault. */
const TOOK_A_ROLL = 1.2

/** @returns a sentence for each spindle whose unit does not fit the other's; ranges by the tag's key. */
export function spindleUnits(signals: readonly SignalConfig[], ranges: ReadonlyMap<string, Range>): string[] {
  const spindles = signals.filter(({ signal, spindle }) => signal === 'roll_diameter' && spindle !== undefined)
  return spindles.flatMap((one) =>
    spindles.flatMap((other) => {
      const [own, theirs] = [ranges.get(keyOfTag(one.tag)), ranges.get(keyOfTag(other.tag))]
      const isWrong = one.unit === 'in' ? 1 / MM_PER_INCH : one.unit === 'mm' ? MM_PER_INCH : undefined
      if (one === other || own === undefined || theirs === undefined || isWrong === undefined) return []
      const [a, b] = [inSi(own, one), inSi(theirs, other)]
      if (![own, theirs].every(({ low, high }) => high > TOOK_A_ROLL * low)) return []
      const isFarOff = a.high > FAR_OFF * b.high || FAR_OFF * a.high < b.high
      const isInside = a.low * isWrong >= b.low / ALIKE && a.high * isWrong <= b.high * ALIKE
      if (!isFarOff || !isInside) return []
      const unit = one.unit === 'in' ? 'mm' : 'in'
      const [ownText, theirText] = [said(own, one), said(theirs, other)]
      return [
        `roll_diameter of spindle ${one.spindle} (${tagAddress(one.tag)}) reads ${ownText}, that of spindle ${other.spindle} ${theirText}: its unit looks like ${unit}, the config says ${one.unit}. Put this right before anything else that is said of the diameter or the caliper.`,
      ]
    }),
  )
}

const inSi = ({ low, high }: Range, { toSi }: SignalConfig): Range => ({ low: low * toSi, high: high * toSi })
const said = ({ low, high }: Range, { unit }: SignalConfig): string =>
  `${Number(low.toPrecision(3))} to ${Number(high.toPrecision(3))} ${unit ?? ''}`.trimEnd()
