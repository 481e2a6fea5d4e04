/** How each metric of a trend is shown: what it measures and its decimals; and a trend in one sentence. */
import type { TrendMetric } from '../../edge/columns.ts'
import type { TrendsView, TrendView } from '../../edge/trend-views.ts'
import { say } from '../messages.ts'
import { figureOf, formatNumber, formatQuantity, type Quantity, unitOf } from '../units.ts'

/** Without a quantity it is a time in s. */
const SHOWN: Record<TrendMetric, { quantity?: Quantity; decimals: number }> = {
  stop: { decimals: 2 },
  deceleration: { quantity: 'acceleration', decimals: 2 },
  acceleration: { quantity: 'acceleration', decimals: 2 },
  refill: { decimals: 1 },
  web_used: { quantity: 'length', decimals: 1 },
  low_point: { quantity: 'length', decimals: 1 },
  trigger_offset: { quantity: 'diameter', decimals: 1 },
  preparation: { decimals: 0 },
}

export const metricUnit = (metric: TrendMetric): string => {
  const { quantity } = SHOWN[metric]
  return quantity === undefined ? say('unit.s') : unitOf(quantity)
}

/** The bare figure, for where the unit stands beside. */
export const metricFigure = (metric: TrendMetric, value: number | null): string => {
  const { quantity, decimals } = SHOWN[metric]
  return quantity === undefined ? formatNumber(value, decimals) : figureOf(value, quantity, decimals)
}

/** A chart of a spread as small as a figure's last decimal still has a scale that reads. */
const MOST_MORE = 6

/** A scale's figures, with so many decimals that no two of them read the same. */
export const tickFigures = (metric: TrendMetric, ticks: readonly number[]): string[] => {
  const { quantity, decimals } = SHOWN[metric]
  const figures = (more: number): string[] =>
    ticks.map((tick) =>
      quantity === undefined ? formatNumber(tick, decimals + more) : figureOf(tick, quantity, decimals + more),
    )
  let more = 0
  while (more < MOST_MORE && new Set(figures(more)).size < ticks.length) more++
  return figures(more)
}

export const metricInWords = (metric: TrendMetric, value: number | null): string => {
  const { quantity, decimals } = SHOWN[metric]
  if (quantity !== undefined) return formatQuantity(value, quantity, decimals)
  return value === null ? formatNumber(null, 0) : `${formatNumber(value, decimals)} ${say('unit.s')}`
}

/** `Stop length grew from 1.10 s to 1.24 s over 84 splices.` */
export const trendInWords = ({ metric, side, usual, newest, splices, kind }: TrendView): string =>
  say(kind === 'step' ? 'trends.step' : newest >= usual ? 'trends.grew' : 'trends.fell', {
    metric: say(`trend.${metric}`),
    side: side === null ? '' : say('trends.of_side', { side }),
    usual: metricInWords(metric, usual),
    newest: metricInWords(metric, newest),
    splices,
  })

/** The page's answer to its question. */
export const answerOf = ({ standing, splices, needed }: TrendsView, name: string): string => {
  if (standing.length > 0) return say('trends.answer.yes', { name })
  if (splices < needed) return say('trends.answer.unknown', { name, splices, needed })
  return say('trends.answer.no', { name, splices })
}
