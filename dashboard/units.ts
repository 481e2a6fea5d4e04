/** From the API's units (m, mm, m/min, s) to text on a screen. The one place where a site's choice of units will apply. */
import { say, spokenLanguage } from './messages.ts'

/** Anything that has no number shows a dash, never 0. */
const NOTHING = () => say('value.unknown')

const formats = new Map<string, Intl.NumberFormat>()

export const formatNumber = (value: number | null | undefined, decimals: number): string => {
  if (value === null || value === undefined || !Number.isFinite(value)) return NOTHING()
  const key = `${spokenLanguage()} ${decimals}`
  let format = formats.get(key)
  if (format === undefined) {
    const digits = { minimumFractionDigits: decimals, maximumFractionDigits: decimals, useGrouping: false }
    // A rounded-away minus ("-0") would be read as a sign that means something.
    format = new Intl.NumberFormat(spokenLanguage(), { ...digits, signDisplay: 'negative' })
    formats.set(key, format)
  }
  return format.format(value).replace('-', '−')
}

const withUnit = (value: number | null | undefined, decimals: number, unit: string): string =>
  value === null || value === undefined ? NOTHING() : `${formatNumber(value, decimals)} ${unit}`

/** m, whole. */
export const formatLength = (metres: number | null | undefined): string => withUnit(metres, 0, say('unit.m'))
/** mm, whole: for reading from far off. */
export const formatDiameter = (mm: number | null | undefined): string => withUnit(mm, 0, say('unit.mm'))
/** mm, whole: how wide a roll is. */
export const formatWidth = formatDiameter
/** m/min, whole. */
export const formatSpeed = (metresPerMinute: number | null | undefined): string =>
  withUnit(metresPerMinute, 0, say('unit.mpm'))

/** Spare web is rounded down and missing web up, so that a rounded figure never promises more than there is. */
export const spareLength = (metres: number): string => formatLength(Math.floor(metres))
export const missingLength = (metres: number): string => formatLength(Math.ceil(metres))

/** A highest speed as an instruction: rounded down to 5 m/min, which people can set and read. */
export const speedAtMost = (metresPerMinute: number): string => {
  const step = metresPerMinute >= 50 ? 5 : 1
  return formatSpeed(Math.max(0, Math.floor(metresPerMinute / step) * step))
}

/** How each column of a splice is shown: its unit for the header and its decimals. */
export const SPLICE_UNITS = {
  diameter: { unit: 'unit.mm', decimals: 1 },
  speed: { unit: 'unit.mpm', decimals: 0 },
  stopped_seconds: { unit: 'unit.s', decimals: 2 },
  web_from_buffer: { unit: 'unit.m', decimals: 1 },
  buffer_low: { unit: 'unit.m', decimals: 1 },
  left_on_roll: { unit: 'unit.m', decimals: 1 },
} as const
