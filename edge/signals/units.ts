/**
 * The units in which a site states quantities, each with its factor to SI. Inside everything is SI; this file converts on the
 * way in, and `fromSi` once more for whoever shows a value in the tag's own unit.
 *
 * Factors: the inch is 0.0254 m, the foot 0.3048 m, the pound 0.45359237 kg, standard gravity 9.80665 m/s² (all exact by
 * definition); everything else follows from them.
 */
import { closest, distance } from 'fastest-levenshtein'
import { LastwrapError } from '../errors.ts'
import type { Dimension } from './catalogue.ts'

const INCH_M = 0.0254
const FOOT_M = 0.3048
const POUND_KG = 0.45359237
const POUND_FORCE_N = POUND_KG * 9.80665
const OUNCE_KG = POUND_KG / 16
const YARD_M = 0.9144

/** What each unit measures. SI unit behind each name; a share is 0..1, rotation is turns per second. */
const UNITS = {
  /** m */
  length: {
    mm: 1e-3,
    cm: 1e-2,
    m: 1,
    km: 1e3,
    um: 1e-6,
    in: INCH_M,
    ft: FOOT_M,
    mil: INCH_M / 1000,
    /** Points of board: thousandths of an inch, not the printer's point. */
    pt: INCH_M / 1000,
    /** Gauge of film: hundredths of a mil. */
    gauge: INCH_M / 100_000,
  },
  /** m/s */
  speed: {
    'm/min': 1 / 60,
    'm/s': 1,
    'ft/min': FOOT_M / 60,
    fpm: FOOT_M / 60,
    'mm/s': 1e-3,
    'km/h': 1 / 3.6,
    'in/s': INCH_M,
    'ft/s': FOOT_M,
  },
  /** s; a year is 365 days, as NIST SP 811 has it. */
  duration: { s: 1, ms: 1e-3, min: 60, h: 3600, d: 86_400, y: 365 * 86_400 },
  /** turns per second */
  rotation: { rpm: 1 / 60, '1/min': 1 / 60, Hz: 1, '1/s': 1, 'rad/s': 1 / (2 * Math.PI) },
  /** 0..1, or a raw count */
  share: { '%': 1e-2, '1': 1 },
  /** N */
  force: { N: 1, kN: 1e3, lbf: POUND_FORCE_N },
  /** N/m */
  line_force: {
    'N/m': 1,
    'kN/m': 1e3,
    'N/mm': 1e3,
    'lbf/in': POUND_FORCE_N / INCH_M,
    pli: POUND_FORCE_N / INCH_M,
    'lbf/ft': POUND_FORCE_N / FOOT_M,
  },
  /** kg/m²: basis weight. The US basis weights count pounds on 1,000 or 3,000 square feet. */
  basis_weight: {
    'g/m2': 1e-3,
    'kg/m2': 1,
    'lb/1000ft2': POUND_KG / (1000 * FOOT_M ** 2),
    'lb/3000ft2': POUND_KG / (3000 * FOOT_M ** 2),
    'oz/yd2': OUNCE_KG / YARD_M ** 2,
  },
  /** kg */
  mass: { kg: 1, g: 1e-3, t: 1e3, lb: POUND_KG },
  /** m/s² */
  acceleration: { 'm/s2': 1, 'ft/s2': FOOT_M },
  /** bytes */
  data_size: { B: 1, kB: 1e3, MB: 1e6, KiB: 1024, MiB: 1024 ** 2 },
} as const satisfies Record<string, Record<string, number>>

export type Quantity = keyof typeof UNITS
/** What a signal or a setting measures: one quantity, or the few that a signal may be stated in. */
export type Measured = Quantity | Dimension

const QUANTITIES = Object.keys(UNITS) as Quantity[]

const WORDS: Record<Quantity, string> = {
  length: 'a length',
  speed: 'a speed',
  duration: 'a duration',
  rotation: 'a speed of rotation',
  share: 'a share',
  force: 'a force',
  line_force: 'a force per width',
  basis_weight: 'a basis weight',
  mass: 'a mass',
  acceleration: 'an acceleration',
  data_size: 'a size of data',
}

const EXAMPLES: Record<Quantity, string> = {
  length: '130 mm',
  speed: '300 m/min',
  duration: '10 s',
  rotation: '450 rpm',
  share: '25 %',
  force: '200 N',
  line_force: '150 N/m',
  basis_weight: '64 g/m2',
  mass: '800 kg',
  acceleration: '2.5 m/s2',
  data_size: '256 kB',
}

function quantitiesOf(measured: Measured): readonly Quantity[] {
  if (measured === 'tension') return ['line_force', 'force']
  if (measured === 'position') return ['share', 'length']
  if (measured === 'any') return QUANTITIES
  return [measured]
}

/** "um", whichever way a keyboard wrote it: both code points of µ, superscripts, spaces inside. */
const normalised = (unit: string): string =>
  unit
    .trim()
    .replaceAll(/[\u00b5\u03bc]/g, 'u')
    .replaceAll('²', '2')
    .replaceAll(/\s+/g, '')

const tableOf = (quantity: Quantity): Readonly<Record<string, number>> => UNITS[quantity]

/** All units that would do for `measured`, commonest first, the bare count last. */
export function unitsFor(measured: Measured): string[] {
  const units = quantitiesOf(measured).flatMap((quantity) => Object.keys(tableOf(quantity)))
  return units.includes('1') ? [...units.filter((unit) => unit !== '1'), '1'] : units
}

/** What a unit measures, undefined for one that the table lacks. */
export const quantityOf = (unit: string): Quantity | undefined =>
  QUANTITIES.find((quantity) => Object.hasOwn(tableOf(quantity), normalised(unit)))

/** A text of the file as a sentence shows it: on one line, and not all of a novel. */
export function quoted(text: string): string {
  const line = text.replaceAll(/\s+/g, ' ')
  return `"${line.length > 60 ? `${line.slice(0, 57)}…` : line}"`
}

/** "mm, cm or m" */
export function listed(words: readonly string[], joint: 'or' | 'and' = 'or'): string {
  if (words.length < 2) return words.join('')
  return `${words.slice(0, -1).join(', ')} ${joint} ${words.at(-1)}`
}

const wouldDo = (measured: Measured): string =>
  measured === 'any' ? 'write one of the units that the example config lists' : `use ${listed(unitsFor(measured))}`

/** A near unit, if one is so near that it must have been meant. */
function nearUnit(unit: string, measured: Measured): string {
  const units = unitsFor(measured)
  const sameLetters = units.find((candidate) => candidate.toLowerCase() === unit.toLowerCase())
  const near = sameLetters ?? closest(unit, units)
  const isNear = near !== undefined && unit.length > 1 && distance(near.toLowerCase(), unit.toLowerCase()) <= 1
  return isNear ? `; did you mean ${near}?` : ''
}

/**
 * The factor from `unit` to SI.
 * @throws LastwrapError `wrong_input`: a sentence without its place ("… is a duration, but a length belongs here: use mm, …").
 */
export function factorToSi(unit: string, measured: Measured): number {
  const name = normalised(unit)
  const quantity = quantityOf(name)
  if (quantity === undefined) {
    const near = nearUnit(name, measured)
    const hint = near === '' ? `: ${wouldDo(measured)}` : near
    throw new LastwrapError('wrong_input', `${quoted(unit)} is no unit that Lastwrap knows${hint}`)
  }
  const wanted = quantitiesOf(measured)
  if (!wanted.includes(quantity)) {
    const belongs = listed(wanted.map((q) => WORDS[q]))
    throw new LastwrapError(
      'wrong_input',
      `${quoted(unit)} is the unit of ${WORDS[quantity]}, but ${belongs} belongs here: ${wouldDo(measured)}`,
    )
  }
  return tableOf(quantity)[name]!
}

/** `value × factor`; divides where the factor is one over a whole number, so that 80 um is 0.00008 to the last digit. */
function times(value: number, factor: number): number {
  const whole = Math.round(1 / factor)
  return factor < 1 && Math.abs(whole * factor - 1) < 1e-15 ? value / whole : value * factor
}

/** @throws as `factorToSi` */
export const toSi = (value: number, unit: string, measured: Measured): number =>
  times(value, factorToSi(unit, measured))

/** A value in SI, stated in `unit`. @throws as `factorToSi` */
export const fromSi = (valueSi: number, unit: string, measured: Measured): number =>
  valueSi / factorToSi(unit, measured)

export interface ParsedQuantity {
  /** As written. */
  value: number
  /** As written, but with `u` for µ and without superscripts. */
  unit: string
  valueSi: number
}

const NUMBER = /^([-+]?(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][-+]?\d+)?)\s*(.*)$/

/**
 * Reads "130 mm", "5.1 in", "25 %".
 * @param example shown in the error, where a better one than the dimension's own is known
 * @throws LastwrapError `wrong_input`: a sentence without its place that says which units would do
 */
export function parseQuantity(text: unknown, measured: Measured, example?: string): ParsedQuantity {
  const shown = typeof text === 'string' ? quoted(text) : String(text)
  const forExample = `for example "${example ?? EXAMPLES[quantitiesOf(measured)[0]!]}"`
  const match = NUMBER.exec(String(text).trim())
  if (match === null) {
    throw new LastwrapError('wrong_input', `${shown} is no quantity: write a number and its unit, ${forExample}`)
  }
  const value = Number(match[1])
  const unit = match[2] ?? ''
  if (/^,\d/.test(unit)) {
    throw new LastwrapError(
      'wrong_input',
      `${shown} has a comma in its number: write a decimal point, and nothing between thousands`,
    )
  }
  if (unit === '') {
    throw new LastwrapError('wrong_input', `${shown} has no unit: ${wouldDo(measured)}, ${forExample}`)
  }
  if (!Number.isFinite(value)) throw new LastwrapError('wrong_input', `${shown} is too large a number`)
  return { value, unit: normalised(unit), valueSi: toSi(value, unit, measured) }
}
