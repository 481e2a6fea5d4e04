/** Machines for the bench of recognition: each kind of splicer and signal, on each set of tags. */
import { ALL, REQUIRED, type Scenario, type SpliceEvent, SUBSTRATES, USUAL } from '../truth/scenario.ts'
import { drawnMachine } from './drawn-machine.ts'

export interface SpliceMachine {
  name: string
  mapped: string
  given: Partial<Scenario>
}

const MACHINES: Readonly<Record<string, Partial<Scenario>>> = {
  ...SUBSTRATES,
  'rides full': { bufferMode: 'rides_full', overspeed: 0.2 },
  braked: { unwindDrive: 'braked' },
  'slow-down': { spliceSpeedMpm: 150 },
  'on change': { onChange: true },
  'every 200 ms': { periodMs: 200 },
  'every 500 ms': { periodMs: 500 },
  'noise 5 mm': { noiseMm: 5 },
  disordered: { disorderMs: 5000, duplicateShare: 0.03 },
  indexing: { speedMpm: 60, caliperUm: 300, spliceMm: 160, overspeed: 0.25, indexing: { moveMs: 530, restMs: 383 } },
  'indexing fast': { speedMpm: 90, overspeed: 0.25, indexing: { moveMs: 147, restMs: 110 } },
  flying: { method: 'flying' },
  stopped: { method: 'stopped', joinS: 25 },
}
const MAPPED = { required: REQUIRED, usual: USUAL, all: ALL }

export const SPLICE_MACHINES: readonly SpliceMachine[] = Object.entries(MACHINES).flatMap(([machine, figures]) =>
  Object.entries(MAPPED).map(([mapped, signals]) => ({
    name: `${machine}, ${mapped}`,
    mapped,
    given: { ...figures, signals },
  })),
)

export const drawnSpliceMachines = (count: number): SpliceMachine[] =>
  Array.from({ length: count }, (_, i) => drawnMachine(i + 1))

const EVENTS: SpliceEvent[] = [
  { roll: 1, kind: 'no_new_roll' },
  { roll: 2, kind: 'web_break' },
  { roll: 3, kind: 'slow_stop' },
  { roll: 4, kind: 'ran_out' },
  { roll: 5, kind: 'cycle_too_slow' },
  { roll: 6, kind: 'manual_early' },
  { roll: 7, kind: 'buffer_empty' },
]
const ROLLS = 10

/**
 * Ten splices of that machine, seven of them with something amiss. Without a buffer its events do not exist; where every joint
 * is made at a stop, a late one is a joint all the same, and an early one can't be told from a roll changed on a planned stop.
 */
export function spoiledScenario({ given }: SpliceMachine, seed: number): Partial<Scenario> {
  const method = given.method ?? 'zero_speed'
  const none = { zero_speed: /^$/, flying: /slow|empty/, stopped: /slow|empty|no_new|manual/ }[method]
  const events = EVENTS.filter(({ kind }) => !none.test(kind))
  const rollS = 150
  return { rollS, preparationS: 50, repairS: 120, durationS: (rollS + 60) * ROLLS, spareM: 6, ...given, seed, events }
}
