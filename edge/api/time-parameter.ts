/** Times in a query, as recordings write them: ISO 8601 with a zone, or whole milliseconds since 1970 UTC. */
import { wrongParameter } from './failures.ts'
import { shown } from './sentences.ts'

const MILLISECONDS = /^-?\d{1,16}$/
const ISO_WITH_ZONE = /^(\d{4})-(\d{2})-(\d{2})T\d{2}:\d{2}(:\d{2}([.,]\d{1,9})?)?(Z|[+-]\d{2}:?\d{2})$/i
/** The range of a Date (ECMA-262 21.4.1.1). */
const LARGEST_MS = 8.64e15

/** ms since 1970 UTC; undefined where the parameter is absent. Throws a `Failure` that names the parameter. */
export const timeParameter = (name: string, text: string | undefined): number | undefined => {
  if (text === undefined) return undefined
  if (MILLISECONDS.test(text) && Math.abs(Number(text)) <= LARGEST_MS) return Number(text)
  const [, year, month, day] = ISO_WITH_ZONE.exec(text) ?? []
  const tMs = day === undefined ? Number.NaN : Date.parse(text.replace(',', '.').toUpperCase())
  // Date.parse turns 30 February into 2 March.
  const daysInMonth = new Date(Date.UTC(Number(year), Number(month), 0)).getUTCDate()
  if (Number.isNaN(tMs) || Number(day) > daysInMonth) throw wrongParameter(name, 'no_time', { value: shown(text) })
  return tMs
}
