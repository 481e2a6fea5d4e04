/** The label press's tags: metric, one diameter sensor per spindle, status bits in a word, a step number. */
import { quantised } from './sensors.ts'
import type { SplicerStep } from './splicer.ts'
import { type PlantTag, wander } from './tags.ts'

export const PRESS_STEPS: Record<SplicerStep, number> = {
  idle: 10,
  filling: 12,
  slowing: 20,
  stopped: 30,
  starting: 40,
  refilling: 50,
  fault: 90,
}
const MODES = { stopped: 0, thread: 1, run: 3 }
/** A finished roll has so much web; the first one that begins in a day of the plant does so before its first joint comes, m. */
const FINISHED_ROLL_M = 180
/** Bits of `Unwind.Status`. */
const BITS = { lineRuns: 0, spindleB: 3, ready: 5, auto: 6, fault: 7, webBreak: 8 }

const bits = (set: readonly (readonly [number, boolean])[]): number =>
  set.reduce((word, [bit, isSet]) => word | (isSet ? 1 << bit : 0), 0)

export const PRESS_TAGS: readonly PlantTag[] = [
  {
    path: 'Press.LineSpeed',
    type: 'Float',
    description: 'Web speed at the infeed',
    unit: 'm/min',
    range: [0, 350],
    read: ({ drive }, random) =>
      // A tach at rest is silent.
      drive.speedMps === 0 ? 0 : Math.max(0, quantised(drive.speedMps * 60 + random.normal(0.15), 0.1)),
  },
  {
    path: 'Press.SpeedSetpoint',
    type: 'Float',
    description: 'Commanded web speed',
    unit: 'm/min',
    range: [0, 350],
    read: ({ drive }) => quantised(drive.setpointMps * 60, 0.1),
  },
  {
    path: 'Press.Mode',
    type: 'Int16',
    description: '0 stopped, 1 thread, 2 jog, 3 run',
    read: ({ shift }) => MODES[shift.mode],
  },
  {
    path: 'Press.TotalLength',
    type: 'Double',
    description: 'Web through the press since the counter was reset',
    unit: 'm',
    read: ({ lineLengthM }) => quantised(lineLengthM, 0.1),
  },
  {
    path: 'UnwindA.Diameter',
    type: 'Float',
    description: 'Roll on spindle A, ultrasonic',
    unit: 'mm',
    range: [50, 1300],
    read: ({ readings }) => quantised(readings.A * 1000, 0.1),
  },
  {
    path: 'UnwindB.Diameter',
    type: 'Float',
    description: 'Roll on spindle B, ultrasonic',
    unit: 'mm',
    range: [50, 1300],
    read: ({ readings }) => quantised(readings.B * 1000, 0.1),
  },
  {
    path: 'Unwind.Speed',
    type: 'Float',
    description: 'Surface speed of the web leaving the running roll',
    unit: 'm/min',
    range: [0, 420],
    read: ({ unwindSpeedMps }, random) =>
      unwindSpeedMps === 0 ? 0 : Math.max(0, quantised(unwindSpeedMps * 60 + random.normal(0.2), 0.1)),
  },
  {
    path: 'Unwind.Status',
    type: 'UInt16',
    description: 'Bit 0 line runs, 3 spindle B runs, 5 new roll ready, 6 splicer in automatic, 7 fault, 8 web break',
    read: (line) =>
      bits([
        [BITS.lineRuns, line.shift.mode === 'run'],
        [BITS.spindleB, line.active === 'B'],
        [BITS.ready, line.newRollReady],
        [BITS.auto, line.isAuto],
        [BITS.fault, line.splicer.hasFault],
        [BITS.webBreak, line.hasWebBreak],
      ]),
  },
  {
    path: 'Unwind.Tension',
    type: 'Float',
    description: 'Web tension behind the unwind',
    unit: 'N',
    range: [0, 600],
    read: ({ tensionN }, random) => Math.max(0, quantised(tensionN + (tensionN && random.normal(2.5)), 1)),
  },
  {
    path: 'Unwind.TensionSetpoint',
    type: 'Float',
    description: 'Wanted web tension',
    unit: 'N',
    range: [0, 600],
    read: ({ recipe }) => recipe.tensionN,
  },
  {
    path: 'Unwind.RollId',
    type: 'String',
    description: 'Ticket of the running roll',
    read: ({ running }) => running.makeup.id,
  },
  {
    path: 'Unwind.Material',
    type: 'String',
    description: 'Material of the running roll',
    read: ({ running }) => running.makeup.material,
  },
  {
    path: 'Unwind.WaitingRollId',
    type: 'String',
    description: 'Ticket of the waiting roll, empty while none is loaded',
    read: ({ rolls, waiting, crew }) => (crew.hasLoaded ? (rolls[waiting]?.makeup.id ?? '') : ''),
  },
  {
    path: 'Festoon.Position',
    type: 'Float',
    description: 'Carriage, 0 empty to 100 full',
    unit: '%',
    range: [0, 100],
    read: ({ festoon }, random) => Math.max(0, quantised((festoon?.share ?? 0) * 100 + random.normal(0.08), 0.1)),
  },
  {
    path: 'Splicer.Step',
    type: 'Int16',
    description: '10 idle, 12 fill, 20 slow, 30 stop and join, 40 start, 50 refill, 90 fault',
    read: ({ splicer }) => PRESS_STEPS[splicer.step],
  },
  {
    path: 'Splicer.SetDiameter',
    type: 'Float',
    description: 'Diameter at which the splice starts',
    unit: 'mm',
    range: [100, 400],
    read: ({ recipe }) => recipe.splicer.spliceDiameterM * 1000,
  },
  {
    path: 'Splicer.Count',
    type: 'UInt32',
    description: 'Splices since the counter was reset',
    read: ({ spliceCount }) => spliceCount,
  },
  {
    path: 'Rewinder.RollId',
    type: 'String',
    description: 'Ticket of the finished roll that is wound up',
    read: ({ lineLengthM }) => `F-${String(1 + Math.floor(lineLengthM / FINISHED_ROLL_M)).padStart(4, '0')}`,
  },
  {
    path: 'Festoon.AirPressure',
    type: 'Float',
    description: 'Carriage cylinders',
    unit: 'bar',
    range: [0, 8],
    everyS: 1,
    read: (line) => 4.2 - 0.3 * (line.festoon?.share ?? 0),
  },
  {
    path: 'Press.MainDrive.Current',
    type: 'Float',
    description: 'Main motor',
    unit: 'A',
    range: [0, 90],
    everyS: 0.5,
    read: ({ drive }, random) => quantised(8 + drive.speedMps * 7 + random.normal(0.4), 0.1),
  },
  {
    path: 'Press.Dryer.Temperature',
    type: 'Float',
    description: 'Air in the dryer',
    unit: '°C',
    range: [0, 120],
    everyS: 2,
    read: wander(64, 1.5, 300, 0.1),
  },
  {
    path: 'Press.OrderNumber',
    type: 'String',
    description: 'Order on the press',
    read: ({ tS }) => `AQ-${4100 + Math.floor(tS / 1500)}`,
  },
]
