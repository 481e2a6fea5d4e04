/** What people do about alarms, as samples of the source `operator`: taken to the board that they speak of. Pure. */
import { ALARM_IDS, type AlarmRow } from '../columns.ts'
import type { Sample } from '../sample.ts'
import type { AlarmBoard, BoardFacts } from './board.ts'

/** Nobody puts an alarm aside for longer than a shift, s. */
export const LONGEST_SHELF_S = 8 * 3600

/** @returns what happened; undefined where the sample is nothing about an alarm of `unwind` (empty: of the site). */
export function enterAlarm<Facts extends BoardFacts>(
  board: AlarmBoard<Facts>,
  unwind: string,
  sample: Sample,
): readonly AlarmRow[] | undefined {
  const [verb, of, id] = sample.address.split('/')
  const alarm = ALARM_IDS.find((one) => one === id)
  if (of !== unwind || alarm === undefined) return undefined
  const { value, tMs, person = '' } = sample
  if (verb === 'acknowledge') return board.acknowledge(alarm, person, typeof value === 'string' ? value : '', tMs)
  if (verb !== 'shelve') return undefined
  const seconds = typeof value === 'number' ? value : Number.parseFloat(String(value))
  return Number.isFinite(seconds) && seconds >= 0
    ? board.shelve(alarm, Math.min(seconds, LONGEST_SHELF_S), person, tMs)
    : []
}
