/**
 * From the API's units (m, mm, µm, m/min, N, kg) to text on a screen, in the units that this browser shows. The one place
 * where the choice applies: whoever shows a quantity says which it is, and never a unit.
 */
import { currentDisplay, type UnitSystem } from './display.ts'
import { numberLocale, say } from './messages.ts'

/** What a number measures; the contract's unit of each is the metric one below. */
export type Quantity = 'length' | 'diameter' | 'thickness' | 'speed' | 'acceleration' | 'force' | 'mass'

interface Shown {
  unit: Parameters<typeof say>[0]
  /** Contract unit × factor is in this unit. */
  factor: number
  /** Decimals beyond those that the metric figure has, so that as much can be read. */
  more: number
  /** Decimals that every figure has: whole millimetres are told apart by hundredths of an inch. */
  least?: number
}

/** International yard and pound (1959), exact: 1 ft = 0.3048 m, 1 in = 25.4 mm, 1 mil = 25.4 µm, 1 lb = 0.45359237 kg. */
const FT_PER_M = 1 / 0.3048
const UNITS: Record<Quantity, Record<UnitSystem, Shown>> = {
  length: { metric: { unit: 'unit.m', factor: 1, more: 0 }, us: { unit: 'unit.ft', factor: FT_PER_M, more: 0 } },
  diameter: {
    metric: { unit: 'unit.mm', factor: 1, more: 0 },
    us: { unit: 'unit.in', factor: 1 / 25.4, more: 1, least: 2 },
  },
  thickness: { metric: { unit: 'unit.um', factor: 1, more: 0 }, us: { unit: 'unit.mil', factor: 1 / 25.4, more: 2 } },
  speed: { metric: { unit: 'unit.mpm', factor: 1, more: 0 }, us: { unit: 'unit.ftpm', factor: FT_PER_M, more: 0 } },
  acceleration: {
    metric: { unit: 'unit.mps2', factor: 1, more: 0 },
    us: { unit: 'unit.ftps2', factor: FT_PER_M, more: 0 },
  },
  // Standard gravity 9.80665 m/s²: 1 lbf = 4.4482216152605 N.
  force: {
    metric: { unit: 'unit.n', factor: 1, more: 0 },
    us: { unit: 'unit.lbf', factor: 1 / 4.448_221_615_260_5, more: 1 },
  },
  mass: { metric: { unit: 'unit.kg', factor: 1, more: 0 }, us: { unit: 'unit.lb', factor: 1 / 0.453_592_37, more: 0 } },
}

const BY_UNIT: Readonly<Record<string, Quantity>> = {
  m: 'length',
  mm: 'diameter',
  µm: 'thickness',
  'm/min': 'speed',
  'm/s²': 'acceleration',
  N: 'force',
  kg: 'mass',
}

/** Of what a unit of the API is; undefined where no other unit of it is shown (s, %, a site's own). */
export const quantityOf = (unit: string): Quantity | undefined =>
  Object.hasOwn(BY_UNIT, unit) ? BY_UNIT[unit] : undefined

const shownAs = (quantity: Quantity): Shown => UNITS[quantity][currentDisplay().units]

/** The unit in which this browser shows a quantity, as it stands behind a number. */
export const unitOf = (quantity: Quantity): string => say(shownAs(quantity).unit)
/** From the contract's unit to the shown one, and back. */
export const toShown = (value: number, quantity: Quantity): number => value * shownAs(quantity).factor
export const fromShown = (value: number, quantity: Quantity): number => value / shownAs(quantity).factor
/** Decimals of a shown figure whose metric one has so many. */
export const shownDecimals = (decimals: number, quantity: Quantity): number => {
  const { more, least = 0 } = shownAs(quantity)
  return Math.max(least, decimals + more)
}

/** Anything that has no number shows a dash, never 0. */
const NOTHING = () => say('value.unknown')

const formats = new Map<string, Intl.NumberFormat>()

export const formatNumber = (value: number | null | undefined, decimals: number): string => {
  if (value === null || value === undefined || !Number.isFinite(value)) return NOTHING()
  const key = `${numberLocale()} ${decimals}`
  let format = formats.get(key)
  if (format === undefined) {
    const digits = { minimumFractionDigits: decimals, maximumFractionDigits: decimals, useGrouping: false }
    // A rounded-away minus ("-0") would be read as a sign that means something.
    format = new Intl.NumberFormat(numberLocale(), { ...digits, signDisplay: 'negative' })
    formats.set(key, format)
  }
  return format.format(value).replace('-', '−')
}

/** The bare figure in the shown unit: for a column whose head has the unit. @param decimals - of the metric figure. */
export const figureOf = (value: number | null | undefined, quantity: Quantity, decimals: number): string =>
  value === null || value === undefined
    ? NOTHING()
    : formatNumber(toShown(value, quantity), shownDecimals(decimals, quantity))

/** Figure and unit. */
export const formatQuantity = (value: number | null | undefined, quantity: Quantity, decimals: number): string =>
  value === null || value === undefined ? NOTHING() : `${figureOf(value, quantity, decimals)} ${unitOf(quantity)}`

/** From m, whole. */
export const formatLength = (metres: number | null | undefined): string => formatQuantity(metres, 'length', 0)
/** From mm, whole; in inches with the decimals that every diameter has, so that one beside another reads as well measured. */
export const formatDiameter = (mm: number | null | undefined): string =>
  formatQuantity(mm, 'diameter', currentDisplay().units === 'us' ? 1 : 0)
/** From mm, whole: how wide a roll is, also for reading from far off. */
export const formatWidth = (mm: number | null | undefined): string =>
  mm === null || mm === undefined
    ? NOTHING()
    : `${formatNumber(toShown(mm, 'diameter'), currentDisplay().units === 'us' ? 1 : 0)} ${unitOf('diameter')}`
/** From m/min, whole. */
export const formatSpeed = (metresPerMinute: number | null | undefined): string =>
  formatQuantity(metresPerMinute, 'speed', 0)

const whole = (shown: number, quantity: Quantity): string => `${formatNumber(shown, 0)} ${unitOf(quantity)}`
/** Spare web is rounded down and missing web up, so that a rounded figure never promises more than there is. */
export const spareLength = (metres: number): string => whole(Math.floor(toShown(metres, 'length')), 'length')
export const missingLength = (metres: number): string => whole(Math.ceil(toShown(metres, 'length')), 'length')

/** A highest speed as an instruction: rounded down to 5 m/min or 10 ft/min, which people can set and read. */
export const speedAtMost = (metresPerMinute: number): string => {
  const shown = toShown(metresPerMinute, 'speed')
  const coarse = currentDisplay().units === 'us' ? 10 : 5
  const step = metresPerMinute >= 50 ? coarse : 1
  return whole(Math.max(0, Math.floor(shown / step) * step), 'speed')
}

/** A count that is a forecast: its third figure is not known. */
export const aboutCount = (count: number): number => Number(count.toPrecision(2))
