/** Rows of a recording, what spoils them on their way, and their CSV text. */
import type { Quality } from '../../edge/sample.ts'
import { randomStream } from './random.ts'
import type { Scenario } from './scenario.ts'
import type { TagValue } from './tags.ts'

export interface RecordingRow {
  tMs: number
  source: string
  address: string
  value: TagValue | undefined
  quality: Quality
}

/** Duplicates and disorder as the scenario asks: the order of the file, times untouched. */
export function spoilOrder(rows: readonly RecordingRow[], s: Scenario): RecordingRow[] {
  if (s.disorderMs === 0 && s.duplicateShare === 0) return [...rows]
  const random = randomStream(s.seed, 'order')
  const keyed: { at: number; row: RecordingRow }[] = []
  for (const row of rows) {
    keyed.push({ at: row.tMs + random.even() * s.disorderMs, row })
    if (random.even() < s.duplicateShare) keyed.push({ at: row.tMs + random.even() * s.disorderMs, row })
  }
  keyed.sort((a, b) => a.at - b.at)
  return keyed.map(({ row }) => row)
}

/** CSV text of rows; `times` as ISO 8601 or as integer milliseconds. */
export function recordingCsv(rows: readonly RecordingRow[], times: 'iso' | 'ms' = 'iso'): string {
  const parts: string[] = ['time,tag,value,quality\n']
  let lastMs = Number.NaN
  let stamp = ''
  for (const row of rows) {
    if (row.tMs !== lastMs) {
      lastMs = row.tMs
      stamp = times === 'iso' ? new Date(lastMs).toISOString() : String(lastMs)
    }
    parts.push(`${stamp},${row.address},${row.value ?? ''},${row.quality === 'good' ? '' : row.quality}\n`)
  }
  return parts.join('')
}
