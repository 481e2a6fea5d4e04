/** What `round-writer.ts` writes in one round: a known amount of everything, told apart by the round. */
import type { SpliceView } from '../../edge/api/messages.ts'
import type { ForecastRow } from '../../edge/columns.ts'
import type { SignalPoint } from '../../edge/history/store.ts'
import type { Point } from '../../edge/outputs/output.ts'
import { forecastRow, START_MS, spliceView } from './samples.ts'

export const POINTS_PER_ROUND = 20
export const SPOOLED_PER_ROUND = 5
/** Every so manieth round has no splice of its own. */
export const SPLICE_ROUNDS = 3

/** Rounds are 10 s apart, so that minutes get over and are packed while the process writes. */
export const timeOf = (round: number): number => START_MS + round * 10_000
export const roundOf = (tMs: number): number => Math.floor((tMs - START_MS) / 10_000)

export const pointsOf = (round: number): SignalPoint[] =>
  Array.from({ length: POINTS_PER_ROUND }, (_, i) => ({
    unwind: 'label_press',
    signal: i % 2 === 0 ? 'line_speed' : 'roll_diameter',
    tMs: timeOf(round) + i,
    value: round + i / 100,
  }))
export const forecastOf = (round: number): ForecastRow => forecastRow(timeOf(round), { diameter: round })
export const spliceOf = (round: number): SpliceView => spliceView(timeOf(round))
export const spooledOf = (round: number): Point[] =>
  Array.from({ length: SPOOLED_PER_ROUND }, (_, i) => ({
    measurement: 'signal',
    tags: { site: 'Alder Quay Works' },
    fields: { round },
    tMs: timeOf(round) + i,
  }))
