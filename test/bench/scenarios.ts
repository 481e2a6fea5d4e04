/**
 * Scenarios of the forecast's bench: six substrates, 60 to 1000 m/min, cores from 90 to 172 mm, noise 0.1 to 5 mm, required
 * signals up to all, every machine type. The label is 3 % off in all of them unless said.
 */
import { ALL, REQUIRED, type Scenario, SUBSTRATES, USUAL } from '../truth/scenario.ts'
import { drawnMachine } from './drawn-machine.ts'

export type Substrate = keyof typeof SUBSTRATES

export interface BenchScenario {
  name: string
  substrate: Substrate
  /** How long the judged roll lasts, s: with a look 30 minutes ahead where its diameter stays in reason. */
  longRollS: number
  given: Partial<Scenario>
}

/** 30 and 10 minutes ahead with a little over 40 % of the roll run. */
const LONGEST_S = 3150
const LONG_S = 1130

const of = (
  substrate: Substrate,
  what: string,
  given: Partial<Scenario> = {},
  longRollS: number = LONG_S,
): BenchScenario => ({
  name: `${substrate}, ${what}`,
  substrate,
  longRollS,
  given: { ...SUBSTRATES[substrate], caliperOff: 0.03, signals: REQUIRED, ...given },
})

export const BENCH_SCENARIOS: readonly BenchScenario[] = [
  of('label', 'required', {}, LONGEST_S),
  of('label', 'all', { signals: ALL }),
  of('label', '600 m/min, flying', { method: 'flying', speedMpm: 600, signals: USUAL }),
  of('label', 'noise 5 mm', { noiseMm: 5 }),
  of('label', 'out of round 2 mm', { outOfRoundMm: 2 }),
  of('label', '5 % off, drift 3 %', { caliperOff: 0.05, caliperDrift: 0.03 }),
  of('label', 'on change, 1 mm steps', { onChange: true, quantumMm: 1 }),
  of('label', 'once a second', { periodMs: 1000 }),
  of('label', 'planned slow-down', { spliceSpeedMpm: 150, signals: USUAL }),
  of('label', 'braked', { unwindDrive: 'braked', signals: USUAL }),
  of('label', 'rides full', { bufferMode: 'rides_full' }),
  of('label', 'indexing, 60 m/min', { speedMpm: 60, overspeed: 0.25, indexing: { moveMs: 530, restMs: 383 } }),
  of('board', 'required'),
  of('board', 'all', { signals: ALL }),
  of('board', 'once per turn', { oncePerTurn: true }),
  of('board', 'rides full', { bufferMode: 'rides_full', signals: USUAL }),
  of('board', '3 mm and 1 % off', { offsetMm: 3, scale: 1.01 }),
  of('board', '300 m/min, flying', { method: 'flying', speedMpm: 300 }),
  of('medium', 'required', {}, LONGEST_S),
  of('medium', '1000 m/min, flying', { method: 'flying', speedMpm: 1000, signals: USUAL }),
  of('medium', 'tach 1 % off', { tachScale: 1.01 }),
  of('medium', 'noise 5 mm, 200 ms', { noiseMm: 5, periodMs: 200, signals: USUAL }),
  of('film', 'required', {}, LONGEST_S),
  of('film', '800 m/min, flying', { method: 'flying', speedMpm: 800 }),
  of('film', 'noise 1 mm', { noiseMm: 1 }),
  of('film', '100 m/min, 3 mm off', { speedMpm: 100, offsetMm: -3 }),
  of('nonwoven', 'required'),
  of('nonwoven', 'noise 1 mm, flying', { noiseMm: 1, method: 'flying', signals: USUAL }),
  of('nonwoven', 'drift 3 %', { caliperDrift: 0.03 }),
  of('nonwoven', 'rides full', { bufferMode: 'rides_full' }),
  of('foil', 'required', {}, LONGEST_S),
  of('foil', '120 m/min, noise 0.1 mm', { speedMpm: 120, noiseMm: 0.1, signals: USUAL }),
  of('foil', 'noise 2 mm', { noiseMm: 2 }),
  of('foil', 'stopped', { method: 'stopped', joinS: 25 }),
]

export const drawnBenchScenarios = (count: number): BenchScenario[] =>
  Array.from({ length: count }, (_, i) => {
    const { name, substrate, given } = drawnMachine(i + 1)
    return { name, substrate, longRollS: LONG_S, given }
  })
