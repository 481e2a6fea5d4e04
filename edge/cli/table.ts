/** Rows as an aligned table for a terminal, or tab-separated for a pipe. */
export function table(header: readonly string[], rows: readonly (readonly string[])[], isTerminal: boolean): string {
  if (!isTerminal) return [header, ...rows].map((row) => row.map(oneLine).join('\t')).join('\n')
  const widths = header.map((name, i) => Math.max(name.length, ...rows.map((row) => (row[i] ?? '').length)))
  const line = (row: readonly string[]): string =>
    row
      .map((cell, i) => (i === row.length - 1 ? cell : cell.padEnd(widths[i] ?? 0)))
      .join('  ')
      .trimEnd()
  return [line(header), line(widths.map((width) => '─'.repeat(Math.min(width, 60)))), ...rows.map(line)].join('\n')
}

const oneLine = (cell: string): string => cell.replace(/[\t\r\n]+/g, ' ')

/** A count with its noun. */
export const plural = (count: number, noun: string): string => `${count} ${noun}${count === 1 ? '' : 's'}`
