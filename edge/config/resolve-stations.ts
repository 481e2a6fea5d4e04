/** The stations of a splicer along its web, and what is judged of a joint there. */
import { listed } from '../signals/units.ts'
import type { SignalConfig, SplicerConfig, StationConfig } from './config.ts'
import type { Path } from './document.ts'
import type { Limits, Loose, Reading } from './reading.ts'
import type { SplicerFile } from './schema.ts'
import { nearest, shown } from './validate.ts'

/** Wide limits that catch a wrong unit, not an unusual machine. */
const WEB: Limits = { min: 0, max: 20_000, words: '0 m and 20 km' }
const OFFSET: Limits = { min: 1e-5, max: 1, words: '0.01 mm and 1 m' }
const REPEAT: Limits = { min: 0.005, max: 20, words: '5 mm and 20 m', example: '305 mm' }

export function resolveStations(
  reading: Reading,
  path: Path,
  raw: Loose<SplicerFile>,
  pathLengthM: number,
): Pick<SplicerConfig, 'stations' | 'sideLay' | 'register'> {
  const stations = (raw.stations ?? []).flatMap((station, index): StationConfig[] => {
    const at = [...path, 'stations', index]
    const distanceM = reading.quantity([...at, 'distance'], station?.distance, 'length', WEB)
    if (distanceM > pathLengthM) {
      reading.fault([...at, 'distance'], 'is beyond path_length, the end of the process: correct one of the two')
    }
    const withinM = reading.quantity([...at, 'confirm_within'], station?.confirm_within, 'length', WEB)
    if (station?.name === undefined) return []
    const isSecond = (raw.stations ?? []).findIndex((other) => other?.name === station.name) < index
    if (isSecond) reading.fault([...at, 'name'], `${shown(station.name)} is taken: give each station its own name`)
    return [{ name: station.name, distanceM, confirmWithinM: station.takes_out === true ? withinM : undefined }]
  })
  return { stations, sideLay: sideLayOf(reading, path, raw), register: registerOf(reading, path, raw) }
}

function sideLayOf(reading: Reading, path: Path, raw: Loose<SplicerFile>): SplicerConfig['sideLay'] {
  if (raw.side_lay === undefined) return undefined
  const at = [...path, 'side_lay']
  return {
    distanceM: reading.quantity([...at, 'distance'], raw.side_lay.distance, 'length', WEB),
    toleranceM: reading.quantity([...at, 'tolerance'], raw.side_lay.tolerance, 'length', OFFSET),
  }
}

function registerOf(reading: Reading, path: Path, raw: Loose<SplicerFile>): SplicerConfig['register'] {
  if (raw.register === undefined) return undefined
  const at = [...path, 'register']
  const repeatM = reading.quantity([...at, 'repeat'], raw.register.repeat, 'length', REPEAT)
  const toleranceM = reading.quantity([...at, 'tolerance'], raw.register.tolerance, 'length', OFFSET)
  if (toleranceM >= repeatM / 2) {
    reading.fault(
      [...at, 'tolerance'],
      'is half a repeat or more, so every error would be in register: write a smaller one',
    )
  }
  return { distanceM: reading.quantity([...at, 'distance'], raw.register.distance, 'length', WEB), repeatM, toleranceM }
}

/** Tags of stations name stations that there are. */
export function checkStationSignals(
  reading: Reading,
  path: Path,
  stations: readonly StationConfig[],
  signals: readonly SignalConfig[],
): void {
  const names = stations.map(({ name }) => name)
  for (const { signal, station } of signals) {
    const isStations = signal === 'joint_seen' || signal === 'reject_confirmed' || signal === 'finished_roll'
    if (!isStations) continue
    const at = [...path, 'signals', signal]
    if (station === undefined) {
      if (names.length !== 1) {
        reading.fault(
          at,
          `belongs to a station, and there are ${names.length || 'none'}: write by_station with their names`,
        )
      }
    } else if (!names.includes(station)) {
      const near = nearest(station, names)
      const remedy = near === undefined ? `use ${listed(names)}` : `did you mean ${near}?`
      const known = names.length === 0 ? "the splicer has no stations: add it to the splicer's stations" : remedy
      reading.fault([...at, 'by_station', station], `${shown(station)} is none of the stations; ${known}`)
    }
  }
}
