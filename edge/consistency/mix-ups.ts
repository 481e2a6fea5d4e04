/**
 * The usual mix-ups by their factor: what a tag reads over what is true, once one knows what it really carries. Pure.
 *
 * Units: a tag that carries W and is read as U reads U/W times the truth, both in SI (ft/min read as m/min: 3.28). Beside
 * units: a radius for a diameter, and strands that were miscounted, the ratio of two small whole numbers.
 */
import { factorToSi, type Measured } from '../signals/units.ts'
import type { Suspect } from './relation.ts'

export type MixUp =
  | { kind: 'unit'; factor: number; stated: string; actual: string }
  | { kind: 'radius'; factor: number }
  | { kind: 'doubled'; factor: number }
  | { kind: 'strands'; factor: number; counted: number; real: number }

/** Within this share or 2.5 standard deviations the factor is that of a mix-up; factors of mix-ups lie farther apart. */
const NEAR_SHARE = 0.015
const NEAR_SDS = 2.5
/** … but never wider than this, however little is known. */
const FARTHEST_SHARE = 0.06
const MOST_STRANDS = 6

/** What a PLC usually carries, by what the signal measures; only these are guessed. */
const USUAL_UNITS: Readonly<Record<Suspect, readonly string[]>> = {
  line_speed: ['m/min', 'm/s', 'ft/min', 'mm/s', 'in/s', 'ft/s', 'km/h'],
  unwind_speed: ['m/min', 'm/s', 'ft/min', 'mm/s', 'in/s', 'ft/s', 'km/h'],
  spindle_speed: ['rpm', 'Hz', 'rad/s'],
  line_length: ['m', 'ft', 'mm', 'cm', 'km', 'in'],
  roll_diameter: ['mm', 'in', 'cm', 'm'],
  splice_diameter: ['mm', 'in', 'cm', 'm'],
  nominal_caliper: ['um', 'mil', 'mm', 'gauge'],
  buffer_position: ['%', '1', 'mm', 'in', 'cm', 'm'],
}
const MEASURES: Readonly<Record<Suspect, Measured>> = {
  line_speed: 'speed',
  unwind_speed: 'speed',
  spindle_speed: 'rotation',
  line_length: 'length',
  roll_diameter: 'length',
  splice_diameter: 'length',
  nominal_caliper: 'length',
  buffer_position: 'position',
}

/** Every mix-up that a signal in a unit may suffer. */
export function mixUpsOf(suspect: Suspect, unit: string | undefined): MixUp[] {
  const found: MixUp[] = []
  if (unit !== undefined) {
    const stated = factorToSi(unit, MEASURES[suspect])
    const isShare = unit === '%' || unit === '1'
    for (const actual of USUAL_UNITS[suspect]) {
      // A share is never taken for a length: no config would be valid for both.
      if (suspect === 'buffer_position' && isShare !== (actual === '%' || actual === '1')) continue
      const factor = stated / factorToSi(actual, MEASURES[suspect])
      if (Math.abs(Math.log(factor)) > 1e-6) found.push({ kind: 'unit', factor, stated: unit, actual })
    }
  }
  if (suspect === 'roll_diameter' || suspect === 'splice_diameter') {
    found.push({ kind: 'radius', factor: 0.5 }, { kind: 'doubled', factor: 2 })
  }
  if (suspect === 'buffer_position') {
    for (let counted = 1; counted <= MOST_STRANDS; counted += 1) {
      for (let real = 1; real <= MOST_STRANDS; real += 1) {
        if (counted !== real && coprime(counted, real)) {
          found.push({ kind: 'strands', factor: counted / real, counted, real })
        }
      }
    }
  }
  return found
}

function coprime(a: number, b: number): boolean {
  let [x, y] = [a, b]
  while (y !== 0) [x, y] = [y, x % y]
  return x === 1
}

/** The nearest mix-up, where one is near enough. @param sd - of the factor, as a share. */
export function recognise(mixUps: readonly MixUp[], factor: number, sd: number): MixUp | undefined {
  const near = Math.min(FARTHEST_SHARE, Math.max(NEAR_SHARE, NEAR_SDS * sd))
  let best: MixUp | undefined
  let bestOff = near
  for (const mixUp of mixUps) {
    const off = Math.abs(Math.log(factor / mixUp.factor))
    if (off <= bestOff) {
      best = mixUp
      bestOff = off
    }
  }
  return best
}
