/** A report's answer in words. */
import type { ReportView } from '../../edge/trend-views.ts'
import { say } from '../messages.ts'
import { formatLength, formatNumber, formatQuantity } from '../units.ts'
import { lengthParts } from './span.ts'

/** 95 %, two-sided: beyond it failures come faster or more seldom than by chance. */
const TREND_LIMIT = 1.96

/** Null was not measured. */
export const lostInWords = (seconds: number | null): string =>
  seconds === null ? say('report.lost.unknown') : lengthInWords(seconds)

export const lengthInWords = (total: number): string => {
  const { hours, minutes, seconds } = lengthParts(total)
  if (hours > 0) return say('length.hours', { hours, minutes })
  return minutes > 0 ? say('length.minutes', { minutes, seconds }) : say('length.seconds', { seconds })
}

const percent = (share: number): string => formatNumber(100 * share, 1)

/** One sentence each; the first answers the page's question. */
export const reportInWords = (report: ReportView): string[] => {
  const { counts, between_failures, failure_trend, waste_kilograms, waste_cost, currency } = report
  const { splices, good, success, lost_seconds, waste } = counts
  const stillOpen = report.open === 0 ? [] : [say('report.open', { open: report.open })]
  if (success === null) return [say(report.open === 0 ? 'report.none' : 'report.none.judged'), ...stillOpen]
  const sentences = [
    say('report.answer', {
      good,
      splices,
      share: percent(success.share),
      low: percent(success.low),
      high: percent(success.high),
    }),
    ...stillOpen,
    lost_seconds === null
      ? say('report.lost_unknown_and_waste', { waste: formatLength(waste) })
      : say('report.lost_and_waste', { lost: lengthInWords(lost_seconds), waste: formatLength(waste) }),
  ]
  if (waste_kilograms !== null && waste > 0) {
    const mass = formatQuantity(waste_kilograms, 'mass', 0)
    sentences.push(
      waste_cost === null
        ? say('report.mass', { mass })
        : say('report.mass_and_cost', { mass, cost: formatNumber(waste_cost, 0), currency: currency ?? '' }),
    )
  }
  if (between_failures !== null) {
    sentences.push(say('report.between', { failed: Math.round(splices / between_failures), splices }))
    if (failure_trend !== null && Math.abs(failure_trend) > TREND_LIMIT) {
      sentences.push(say(failure_trend > 0 ? 'report.faster' : 'report.seldom'))
    }
  }
  return sentences
}
