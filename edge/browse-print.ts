/** Rows of `browse` as text: an aligned table for people, tab-separated values for programs. */
import type { BrowseRow } from './browse.ts'

const COLUMNS = ['address', 'value_path', 'path', 'type', 'unit', 'value', 'quality'] as const
type Column = (typeof COLUMNS)[number]

const cellOf = (row: BrowseRow, column: Column): string => (column === 'value_path' ? row.valuePath : row[column]) ?? ''

/** One header line and one line a row; tabs and line breaks inside a cell become spaces. A broker's rows have no quality. */
export function browseAsTsv(rows: readonly BrowseRow[]): string {
  const hasQuality = rows.length === 0 || rows.some(({ quality }) => quality !== undefined)
  const columns = COLUMNS.filter((column) => column !== 'quality' || hasQuality)
  const lines = rows.map((row) => columns.map((column) => cellOf(row, column).replace(/[\t\r\n]+/g, ' ')).join('\t'))
  return `${[columns.join('\t'), ...lines].join('\n')}\n`
}

/** Columns that are empty throughout, or only repeat the address, are left out. A bad value stands out by its quality. */
export function browseAsTable(rows: readonly BrowseRow[]): string {
  if (rows.length === 0) return 'No variable found.\n'
  const shown = COLUMNS.filter((column) =>
    rows.some((row) => cellOf(row, column) !== '' && !(column === 'path' && row.path === row.address)),
  )
  const table = [shown.map(String), ...rows.map((row) => shown.map((column) => cellOf(row, column)))]
  const widths = shown.map((_, index) => Math.max(...table.map((cells) => [...(cells[index] ?? '')].length)))
  const line = (cells: readonly string[]): string =>
    cells
      .map((cell, index) => cell + ' '.repeat((widths[index] ?? 0) - [...cell].length))
      .join('  ')
      .trimEnd()
  return `${table.map(line).join('\n')}\n`
}
