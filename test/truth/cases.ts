/** Named scenarios for tests and benchmarks of the forecast: six substrates, machine types, and what real signals do. */
import { ALL, REQUIRED, type Scenario, SUBSTRATES } from './scenario.ts'

/** Rolls long enough for a look five minutes ahead. */
export const LONG_ROLLS: Partial<Scenario> = { rollS: 420, firstRoll: 0.9, durationS: 420 * 8, preparationS: 120 }

export const FORECAST_CASES: Readonly<Record<string, Partial<Scenario>>> = {
  ...Object.fromEntries(Object.entries(SUBSTRATES).map(([name, figures]) => [name, { ...figures, signals: REQUIRED }])),
  'label, all signals': { signals: ALL },
  'film, all signals': { ...SUBSTRATES.film, signals: ALL },
  'board, all signals': { ...SUBSTRATES.board, signals: ALL },
  'rides full': { bufferMode: 'rides_full' },
  braked: { unwindDrive: 'braked' },
  'planned slow-down': { spliceSpeedMpm: 150 },
  flying: { method: 'flying' },
  'flying at 1000 m/min': { method: 'flying', speedMpm: 1000 },
  stopped: { method: 'stopped' },
  'label 5 % off': { signals: REQUIRED, caliperOff: 0.05 },
  'label 5 % off, drift 3 %': { signals: REQUIRED, caliperOff: 0.05, caliperDrift: 0.03 },
  'noise 5 mm': { signals: REQUIRED, noiseMm: 5 },
  'offset 3 mm, scale 1 %': { signals: REQUIRED, offsetMm: 3, scale: 1.01 },
  'tach 1 % off': { signals: REQUIRED, tachScale: 1.01 },
  'out of round 2 mm': { signals: REQUIRED, outOfRoundMm: 2 },
  'once per turn': { signals: REQUIRED, oncePerTurn: true },
  'on change, quantised 1 mm': { signals: REQUIRED, onChange: true, quantumMm: 1 },
  'once a second': { signals: REQUIRED, periodMs: 1000 },
  'disorder and duplicates': { signals: REQUIRED, disorderMs: 5000, duplicateShare: 0.02 },
  'by spindle, festoon by broker': { bySpindle: true, festoonOverMqtt: true },
}
