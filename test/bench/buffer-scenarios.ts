/** Machines for the bench of the buffer: what a splice takes, the highest speed for it, and fills that go wrong. */
import { ALL, REQUIRED, type Scenario, SUBSTRATES, USUAL } from '../truth/scenario.ts'

export interface BufferScenario {
  name: string
  given: Partial<Scenario>
  /** Rolls of several lengths in turn, as shares of the usual one. */
  lengths?: readonly number[]
  /** The line's speed from roll to roll, as shares of the usual one. */
  speeds?: readonly number[]
  /** The config misleads by more than data sheets err: only what was learned is judged. */
  isMisled?: true
}

const SHEET_LOW = { stop: 0.86, deceleration: 1.15, acceleration: 1.15, overspeed: 1.15 }
const SHEET_HIGH = { stop: 1.14, deceleration: 0.87, acceleration: 0.87, overspeed: 0.87 }
const UNEVEN = [1, 0.35, 0.8, 0.2, 0.6, 1, 0.25, 0.9, 0.45]
const SPEEDS = [1, 0.7, 0.85, 0.6, 1, 0.75]

export const BUFFER_SCENARIOS: readonly BufferScenario[] = [
  { name: 'label, required', given: { signals: REQUIRED } },
  { name: 'label, usual', given: { signals: USUAL } },
  { name: 'label, all', given: { signals: ALL } },
  { name: 'board, required', given: { ...SUBSTRATES.board, signals: REQUIRED } },
  { name: 'medium, required', given: { ...SUBSTRATES.medium, signals: REQUIRED, sheet: SHEET_LOW } },
  { name: 'film, required', given: { ...SUBSTRATES.film, signals: REQUIRED } },
  { name: 'film, 1000 m/min', given: { ...SUBSTRATES.film, speedMpm: 1000, decelerationMps2: 4, accelerationMps2: 3 } },
  { name: 'nonwoven, required', given: { ...SUBSTRATES.nonwoven, signals: REQUIRED, sheet: SHEET_HIGH } },
  { name: 'foil, 60 m/min', given: { ...SUBSTRATES.foil, signals: REQUIRED } },
  { name: 'sheet too good, required', given: { signals: REQUIRED, sheet: SHEET_LOW } },
  { name: 'sheet too bad, all', given: { signals: ALL, sheet: SHEET_HIGH, spareM: 6 } },
  { name: 'sheet 40 % off', given: { sheet: { stop: 0.6, acceleration: 1.4, overspeed: 1.3 } }, isMisled: true },
  { name: 'S-curves 0.4 s, required', given: { signals: REQUIRED, jerkS: 0.4, spareM: 6 }, speeds: SPEEDS },
  { name: 'S-curves 0.6 s, usual', given: { jerkS: 0.6, sheet: SHEET_HIGH, spareM: 8 }, speeds: SPEEDS },
  { name: 'speeds, required', given: { signals: REQUIRED, sheet: SHEET_LOW }, speeds: SPEEDS },
  { name: 'speeds, all', given: { signals: ALL, sheet: SHEET_HIGH, spareM: 6 }, speeds: SPEEDS },
  // Nothing says which roll waits: its size is chance, so the rolls are nearly alike.
  {
    name: 'torque, required',
    given: { signals: REQUIRED, accelerationLimit: 'torque', spareM: 8 },
    lengths: [1, 0.94, 1.05, 0.98],
  },
  {
    name: 'torque, all',
    given: { signals: ALL, accelerationLimit: 'torque', spareM: 8 },
    lengths: UNEVEN,
    isMisled: true,
  },
  {
    name: 'torque, board, S-curves',
    given: { ...SUBSTRATES.board, signals: ALL, accelerationLimit: 'torque', jerkS: 0.3, spareM: 8 },
    lengths: UNEVEN,
    speeds: SPEEDS,
    isMisled: true,
  },
  {
    name: 'torque, widths',
    given: {
      signals: [...ALL, 'material', 'waiting_material'],
      accelerationLimit: 'torque',
      widthsM: [1, 0.6, 1.3],
      spareM: 14,
    },
    lengths: UNEVEN,
    isMisled: true,
  },
  {
    name: 'force on the web',
    given: { signals: ALL, accelerationLimit: 'force', spareM: 8 },
    lengths: UNEVEN,
    isMisled: true,
  },
  { name: 'uneven rolls, ramps', given: { signals: ALL, sheet: SHEET_LOW }, lengths: UNEVEN },
  { name: 'braked', given: { unwindDrive: 'braked', signals: REQUIRED } },
  { name: 'rides full, required', given: { bufferMode: 'rides_full', overspeed: 0.2, signals: REQUIRED } },
  { name: 'rides full, all', given: { bufferMode: 'rides_full', overspeed: 0.2, signals: ALL, sheet: SHEET_LOW } },
  { name: 'slow-down in config', given: { spliceSpeedMpm: 150, signals: REQUIRED } },
  {
    name: 'slow-down not in config',
    given: { spliceSpeedMpm: 150, hidesSpliceSpeed: true, signals: REQUIRED },
    isMisled: true,
  },
  {
    name: 'slow-down not in config, all',
    given: { spliceSpeedMpm: 180, hidesSpliceSpeed: true, signals: ALL, lineRampMps2: 0.5, sheet: SHEET_HIGH },
    isMisled: true,
  },
  { name: 'stop scatters 8 %', given: { signals: REQUIRED, stopScatter: 0.08 } },
  { name: 'overspeed 6 %', given: { signals: REQUIRED, overspeed: 0.06 } },
  { name: 'overspeed 25 %, all', given: { signals: ALL, overspeed: 0.25 } },
  { name: 'on change', given: { onChange: true } },
  { name: 'every 500 ms', given: { periodMs: 500, signals: REQUIRED } },
  { name: 'once a second', given: { periodMs: 1000, signals: REQUIRED } },
  { name: 'tach 1 % off', given: { tachScale: 1.01, signals: REQUIRED } },
  { name: 'noise 5 mm', given: { noiseMm: 5, signals: REQUIRED } },
]
