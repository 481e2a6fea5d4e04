/** A tag of the plant's PLC: where it stands, what it is, and what it says of a line. */
import type { Line } from './line.ts'
import type { Random } from './random.ts'

export type TagType = 'Boolean' | 'Int16' | 'Int32' | 'UInt16' | 'UInt32' | 'Float' | 'Double' | 'String'

/** UNECE common codes with what a screen shows, as OPC UA's EUInformation wants them. */
export const UNITS = {
  'm/min': '2X',
  m: 'MTR',
  mm: 'MMT',
  '%': 'P1',
  N: 'NEW',
  'ft/min': 'FR',
  in: 'INH',
  ft: 'FOT',
  'r/min': 'RPM',
  '°C': 'CEL',
  A: 'AMP',
  bar: 'BAR',
} as const

export interface PlantTag {
  /** Identifier in the plant's namespace, with dots: `Press.LineSpeed`. */
  path: string
  type: TagType
  description: string
  unit?: keyof typeof UNITS
  range?: readonly [number, number]
  /** Changes no faster than this, s. */
  everyS?: number
  read(line: Line, random: Random): number | boolean | string
}

/** A value that wanders about a mean, for tags that have nothing to do with unwinds. */
export const wander = (mean: number, swing: number, periodS: number, resolution: number) => (line: Line) =>
  Math.round((mean + swing * Math.sin((2 * Math.PI * line.tS) / periodS)) / resolution) * resolution
