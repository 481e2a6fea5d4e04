/** The carton line's tags: feet and inches, a diameter that the PLC computes, the carriage as a raw count, bits one by one. */
import { quantised } from './sensors.ts'
import { type PlantTag, wander } from './tags.ts'

const FT = 0.3048
const IN = 0.0254
/** Raw counts of the carriage's encoder: empty and full. */
const COUNTS = { empty: 2000, full: 22_000 }
const STATES = { stopped: 'STOP', thread: 'THREAD', run: 'RUN' }

const feetPerMinute = (speedMps: number): number => (speedMps * 60) / FT

export const CARTON_TAGS: readonly PlantTag[] = [
  {
    path: 'Carton.Speed',
    type: 'Float',
    description: 'Web speed at the laminating nip',
    unit: 'ft/min',
    range: [0, 600],
    read: ({ drive }, random) =>
      drive.speedMps === 0 ? 0 : Math.max(0, quantised(feetPerMinute(drive.speedMps) + random.normal(0.3), 0.1)),
  },
  {
    path: 'Carton.SpeedCommand',
    type: 'Float',
    description: 'Commanded web speed',
    unit: 'ft/min',
    range: [0, 600],
    read: ({ drive }) => quantised(feetPerMinute(drive.setpointMps), 0.1),
  },
  {
    path: 'Carton.State',
    type: 'String',
    description: 'RUN, THREAD, JOG or STOP',
    read: ({ shift }) => STATES[shift.mode],
  },
  {
    path: 'Carton.Footage',
    type: 'UInt32',
    description: 'Web through the line, whole feet',
    unit: 'ft',
    read: ({ lineLengthM }) => Math.floor(lineLengthM / FT),
  },
  {
    path: 'Carton.WebBreak',
    type: 'Boolean',
    description: 'Break detector, latched until reset at the panel',
    read: ({ hasWebBreak }) => hasWebBreak,
  },
  {
    path: 'Carton.Unwind.Diameter',
    type: 'Float',
    description: 'Running roll, computed once a turn, frozen during a splice, preset at a roll change',
    unit: 'in',
    range: [0, 60],
    read: ({ readings }) => quantised(readings.running / IN, 0.01),
  },
  {
    path: 'Carton.Unwind.Stand',
    type: 'Int16',
    description: 'Which stand runs: 1 or 2',
    read: ({ active }) => (active === 'A' ? 1 : 2),
  },
  {
    path: 'Carton.Unwind.SpindleSpeed',
    type: 'Float',
    description: 'Turns of the running roll',
    unit: 'r/min',
    range: [0, 400],
    read: ({ unwindSpeedMps, running }, random) =>
      unwindSpeedMps === 0
        ? 0
        : Math.max(0, quantised((60 * unwindSpeedMps) / (Math.PI * running.diameterM) + random.normal(0.05), 0.1)),
  },
  {
    path: 'Carton.Unwind.Material',
    type: 'String',
    description: 'Board on the running roll',
    read: ({ running }) => running.makeup.material,
  },
  {
    path: 'Carton.Unwind.RollId',
    type: 'String',
    description: 'Ticket of the running roll',
    read: ({ running }) => running.makeup.id,
  },
  {
    path: 'Carton.Festoon.Raw',
    type: 'Int32',
    description: 'Carriage encoder, 2000 empty to 22000 full',
    range: [0, 32_767],
    read: ({ festoon }, random) =>
      Math.round(COUNTS.empty + (festoon?.share ?? 0) * (COUNTS.full - COUNTS.empty) + random.normal(12)),
  },
  {
    path: 'Carton.Splicer.Ready',
    type: 'Boolean',
    description: 'New roll loaded, prepared and armed',
    read: ({ newRollReady }) => newRollReady,
  },
  {
    path: 'Carton.Splicer.Auto',
    type: 'Boolean',
    description: 'In automatic, guard closed, no fault',
    read: ({ isAuto }) => isAuto,
  },
  {
    path: 'Carton.Splicer.InCycle',
    type: 'Boolean',
    description: 'From the unwind slowing until it is back at line speed',
    read: ({ splicer }) => splicer.isActive,
  },
  {
    path: 'Carton.Splicer.Fault',
    type: 'Boolean',
    description: 'Cycle reset by a fault',
    read: ({ splicer }) => splicer.hasFault,
  },
  {
    path: 'Carton.Splicer.SetDiameter',
    type: 'Float',
    description: 'Diameter at which the splice starts',
    unit: 'in',
    range: [0, 20],
    read: ({ recipe }) => quantised(recipe.splicer.spliceDiameterM / IN, 0.001),
  },
  {
    path: 'Carton.Splicer.Count',
    type: 'UInt32',
    description: 'Splices since the counter was reset',
    read: ({ spliceCount }) => spliceCount,
  },
  {
    path: 'Carton.Glue.Temperature',
    type: 'Float',
    description: 'Glue at the applicator',
    unit: '°C',
    range: [0, 80],
    everyS: 2,
    read: wander(38, 0.8, 240, 0.1),
  },
  {
    path: 'Carton.Board.Moisture',
    type: 'Float',
    description: 'Board behind the unwind',
    unit: '%',
    range: [0, 20],
    everyS: 5,
    read: wander(7.4, 0.4, 420, 0.1),
  },
]
