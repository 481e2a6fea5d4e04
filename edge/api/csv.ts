/** Splices and traces as CSV (RFC 4180), line by line, so that memory stays small however long the list is. */
import { SPLICE_COLUMNS, SPLICE_UNITS } from '../columns.ts'
import { DETAIL_UNITS, NO_DETAILS, type SpliceDetails } from '../splice-details.ts'
import { goodProductSeconds, notesOf, verdictOf, WASTE_PARTS, wasteOf } from '../splice-review.ts'
import type { SpliceView, TraceView } from './messages.ts'

/** A spreadsheet takes text that begins like this for a formula (OWASP, CSV injection): an apostrophe makes it text. */
const FORMULA = /^[=+\-@\t\r]/
const DECIMALS = 3

const cell = (value: unknown): string => {
  if (value === null || value === undefined) return ''
  if (typeof value === 'number') return Number.isFinite(value) ? String(Number(value.toFixed(DECIMALS))) : ''
  const text = FORMULA.test(String(value)) ? `'${value}` : String(value)
  return /[",\r\n]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text
}

const line = (cells: readonly unknown[]): string => `${cells.map(cell).join(',')}\r\n`

/** Details that are one figure or name. */
const DETAIL_COLUMNS = (Object.keys(NO_DETAILS) as (keyof SpliceDetails)[]).filter((key) => NO_DETAILS[key] === null)
const WASTE_COLUMNS = [...WASTE_PARTS, 'not_said'] as const
/** What people said; who said it stays in the record. */
const REVIEW_COLUMNS = [
  'reviewed_outcome',
  'reviewed_cause',
  'thing',
  'done',
  'early_reason',
  'rest',
  'gap',
  'seconds_to_good_product',
  'entered_by_hand',
  'notes',
] as const

const REVIEW_UNITS = { gap: 'mm' }
const UNITS: Readonly<Record<string, string>> = { ...SPLICE_UNITS, ...DETAIL_UNITS, ...REVIEW_UNITS }

/** The unit stands behind the name that API and store have too, unless that says it. */
const headed = (name: string, unit = UNITS[name] ?? ''): string => (unit === '' ? name : `${name} [${unit}]`)

const rowOf = (splice: SpliceView): unknown[] => {
  const { details, review } = splice
  const verdict = verdictOf(splice)
  const waste = new Map(wasteOf(splice).map(({ part, metres }) => [part, metres]))
  return [
    ...SPLICE_COLUMNS.map((column) => splice[column]),
    ...DETAIL_COLUMNS.map((column) => details[column]),
    ...WASTE_COLUMNS.map((part) => waste.get(part)),
    verdict.outcome,
    verdict.cause,
    review?.thing,
    review?.done.join(';'),
    review?.early_reason,
    review?.rest,
    review?.gap,
    goodProductSeconds(splice),
    review?.by_hand ?? false,
    notesOf(review).join(' | '),
  ]
}

/** @param pages - splices, newest first, so many at a time. */
export function* splicesCsv(pages: Iterable<readonly SpliceView[]>): Generator<string> {
  yield line([
    ...SPLICE_COLUMNS.map((name) => headed(name)),
    ...DETAIL_COLUMNS.map((name) => headed(name)),
    ...WASTE_COLUMNS.map((part) => `${part}_metres`),
    ...REVIEW_COLUMNS.map((name) => headed(name)),
  ])
  for (const splices of pages) yield splices.map((splice) => line(rowOf(splice))).join('')
}

const LINES_AT_ONCE = 500

const cellOf = ({ values, meanings }: TraceView['columns'][number], i: number): number | string | null | undefined =>
  meanings?.find(({ value }) => value === values[i])?.text ?? values[i]

/** One line a moment, headed as the list is. */
export function* traceCsv({ time, columns }: TraceView): Generator<string> {
  yield line(['time', ...columns.map(({ signal, unit }) => headed(signal, unit))])
  for (let from = 0; from < time.length; from += LINES_AT_ONCE) {
    const moments = time.slice(from, from + LINES_AT_ONCE)
    yield moments
      .map((tMs, i) => line([new Date(tMs).toISOString(), ...columns.map((column) => cellOf(column, from + i))]))
      .join('')
  }
}
