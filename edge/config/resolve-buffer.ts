/**
 * The buffer of one unwind: positions of the carriage become metres of stored web.
 *
 * Stored web is linear in the position: `stored = S_e + (x − x_e)·(S_f − S_e)/(x_f − x_e)` with the two points (x_e, S_e) and
 * (x_f, S_f) of the calibration. A position in % with a tag in another unit is the share of the stored web between the points.
 */
import { LastwrapError } from '../errors.ts'
import { listed, parseQuantity, quantityOf, unitsFor } from '../signals/units.ts'
import type { BufferConfig } from './config.ts'
import type { Path } from './document.ts'
import type { Loose, Reading } from './reading.ts'
import type { BufferFile } from './schema.ts'

/** Where neither the file nor the mode says otherwise: shares of the stored web between the calibration's points. */
const RUNNING_SHARE = { fill_before: 0.25, rides_full: 0.9 } as const
const FILL_SHARE = 0.95
const TRIP_SHARE = 0.03
/** What a buffer is taken to hold where the file does not say, m: a middling festoon; told as a warning. */
const ASSUMED_STORED_M = 30

/** One position in SI of the tag's unit. */
function tagPosition(reading: Reading, path: Path, raw: string | number | undefined, unit: string): number {
  if (raw === undefined) return Number.NaN
  // A raw count has no unit to write.
  if (unit === '1' && Number.isFinite(Number(raw))) return Number(raw)
  const measured = quantityOf(unit) === 'length' ? 'length' : 'share'
  const example = unit === '1' ? '0.25' : unit === '%' ? '25 %' : `400 ${unit}`
  try {
    return parseQuantity(raw, measured, example).valueSi
  } catch (error) {
    if (!(error instanceof LastwrapError)) throw error
    const units = measured === 'length' ? listed(unitsFor('length')) : unit
    reading.fault(
      path,
      `${JSON.stringify(raw)} does not fit the tag of buffer_position, which is in ${unit}: write it in ${units}, for example "${example}"`,
    )
    return Number.NaN
  }
}

interface Point {
  position: number
  storedM: number
}

function calibrationPoint(
  reading: Reading,
  path: Path,
  raw: Loose<BufferFile['empty']>,
  unit: string,
  fallback: Point,
): Point {
  if (raw === undefined) {
    if (unit === '%' || unit === '1') return fallback
    reading.missing(
      path,
      `buffer_position is in ${unit}, so state two points of the calibration, each { position: …, stored: … }`,
    )
    return { position: Number.NaN, storedM: Number.NaN }
  }
  return {
    position: tagPosition(reading, [...path, 'position'], raw.position, unit),
    storedM: reading.quantity([...path, 'stored'], raw.stored, 'length', { min: 0, max: 2000, words: '0 m and 2 km' }),
  }
}

/** @param unit of the tag of buffer_position; undefined where that is not known (told elsewhere) */
export function resolveBuffer(
  reading: Reading,
  path: Path,
  raw: Loose<BufferFile>,
  unit: string | undefined,
): BufferConfig | undefined {
  const reserveM = reading.quantity([...path, 'reserve'], raw.reserve, 'length', {
    min: 0,
    max: 1000,
    words: '0 m and 1 km',
  })
  if (unit === undefined) return undefined
  const mode = raw.mode ?? 'fill_before'
  const empty = calibrationPoint(reading, [...path, 'empty'], raw.empty, unit, { position: 0, storedM: 0 })
  const full = calibrationPoint(reading, [...path, 'full'], raw.full, unit, { position: 1, storedM: ASSUMED_STORED_M })
  if (raw.full === undefined && (unit === '%' || unit === '1')) {
    reading.warn(
      [...path, 'full'],
      `is not stated, so ${ASSUMED_STORED_M} m of web at 100 % are assumed: state what yours holds`,
    )
  }
  if (empty.position === full.position) {
    reading.fault(
      [...path, 'full', 'position'],
      'is the same as of empty: state two different points of the calibration',
    )
  }
  if (full.storedM <= empty.storedM) {
    reading.fault([...path, 'full', 'stored'], 'is not more than at empty: the second point is the one with more web')
  }
  const capacityM = full.storedM - empty.storedM
  // To the nanometre, so that 3 % of 30 m is 0.9 m.
  const atShare = (share: number): number => Math.round((empty.storedM + share * capacityM) * 1e9) / 1e9
  const stored = (key: 'running_position' | 'fill_position' | 'trip_position', fallbackM: number): number => {
    const value = raw[key]
    if (value === undefined) return fallbackM
    const at = [...path, key]
    if (unit !== '%' && /%\s*$/.test(String(value))) return atShare(reading.quantity(at, value, 'share'))
    const position = tagPosition(reading, at, value, unit)
    return atShare((position - empty.position) / (full.position - empty.position))
  }
  // Without a calibration nothing that follows can be judged.
  if (empty.position === full.position || full.storedM <= empty.storedM) return undefined
  const runningStoredM = stored('running_position', atShare(RUNNING_SHARE[mode]))
  const fillStoredM = stored('fill_position', mode === 'rides_full' ? runningStoredM : atShare(FILL_SHARE))
  const tripStoredM = stored('trip_position', atShare(TRIP_SHARE))
  if (tripStoredM >= runningStoredM) {
    reading.fault(
      [...path, raw.trip_position === undefined ? 'running_position' : 'trip_position'],
      'the limit switch would stop the line while it runs: trip_position has to be below running_position',
    )
  }
  if (mode === 'fill_before' && fillStoredM <= runningStoredM) {
    reading.fault(
      [...path, raw.fill_position === undefined ? 'running_position' : 'fill_position'],
      'nothing would be filled before a splice: fill_position has to be above running_position, or write mode: rides_full',
    )
  }
  if (mode === 'rides_full' && fillStoredM < runningStoredM) {
    reading.fault(
      [...path, 'fill_position'],
      'is below running_position, where it rides all day: delete it, or write mode: fill_before',
    )
  }
  if (reserveM >= fillStoredM) {
    reading.fault([...path, 'reserve'], 'is more than the buffer holds when filled: write less')
  }
  return {
    mode,
    calibration: {
      emptyPosition: empty.position,
      emptyStoredM: empty.storedM,
      fullPosition: full.position,
      fullStoredM: full.storedM,
    },
    runningStoredM,
    fillStoredM,
    tripStoredM,
    reserveM,
  }
}
