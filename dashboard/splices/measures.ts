/** What each figure of a splice measures: quantities are shown in the units of this browser, times in s, shares in %. */
import { say } from '../messages.ts'
import { figureOf, formatNumber, type Quantity, shownDecimals, toShown, unitOf } from '../units.ts'

export type Measure = Quantity | 'seconds' | 'percent'

export const measureUnit = (measure: Measure): string =>
  measure === 'seconds' ? say('unit.s') : measure === 'percent' ? say('unit.percent') : unitOf(measure)

/** The bare figure. @param decimals - of the metric figure. */
export const measureFigure = (value: number | null, measure: Measure, decimals: number): string =>
  measure === 'seconds' || measure === 'percent' ? formatNumber(value, decimals) : figureOf(value, measure, decimals)

/** What is left of one figure without another, as both stand on the screen: of 7.5 and 7.8 it is −0.3 whatever was rounded away. */
export const shownDifference = (own: number, other: number, measure: Measure, decimals: number): string => {
  const isAsIs = measure === 'seconds' || measure === 'percent'
  const digits = isAsIs ? decimals : shownDecimals(decimals, measure)
  const step = 10 ** digits
  const stepsOf = (value: number): number => Math.round((isAsIs ? value : toShown(value, measure)) * step)
  const steps = stepsOf(own) - stepsOf(other)
  return `${steps > 0 ? '+' : ''}${formatNumber(steps / step, digits)}`
}

/** The columns of a splice that are figures. */
export const SPLICE_MEASURES = {
  diameter: { measure: 'diameter', decimals: 1 },
  speed: { measure: 'speed', decimals: 0 },
  stopped_seconds: { measure: 'seconds', decimals: 2 },
  web_from_buffer: { measure: 'length', decimals: 1 },
  buffer_low: { measure: 'length', decimals: 1 },
  left_on_roll: { measure: 'length', decimals: 1 },
} as const satisfies Record<string, { measure: Measure; decimals: number }>

type NumberColumn = keyof typeof SPLICE_MEASURES
export const NUMBER_COLUMNS = Object.keys(SPLICE_MEASURES) as NumberColumn[]
