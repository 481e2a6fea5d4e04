/**
 * What stands along the web and looks at joints: side-lay, register, decurler, rewinder. Each reads the web that is at its
 * place, from totals of web and not from anything that `edge/` works out.
 *
 * - Side-lay, between splicer and festoon: each roll lies off by its own amount; one may run off before its end.
 * - Register, behind the festoon: each joint brings the print of its new roll in with an error, that the line takes back at a
 *   steady rate.
 * - Decurler: the hyperbola that turns a web of this curl flat, until it stands.
 * - Rewinder: a finished roll ends after so much web.
 */
import type { Plant } from './plant.ts'
import type { Random } from './random.ts'
import { webBetweenM } from './roll.ts'

/** What of the scenario these read; lists are by roll in turn, 0 is the first roll. */
export interface JointSensors {
  sideLay: {
    sensorM: number
    toleranceMm: number
    noiseMm: number
    offsetsMm: readonly number[]
    /** In the last 100 m before its splice a roll runs off by so much, mm. */
    runsOffMm: readonly number[]
  }
  register: {
    sensorM: number
    repeatMm: number
    toleranceMm: number
    noiseMm: number
    /** Of the joint that ends the roll with this number, mm. */
    errorsMm: readonly number[]
    /** Taken back per metre of web, mm. */
    backMmPerM: number
  }
  /** From the roll with this number on it stands after a third of its way; undefined: it follows. */
  decurler: { standsOnRoll: number | undefined; noise: number }
  /** The rewinder stands at the last station. */
  finishedRollM: number
}

export const JOINT_SENSORS: JointSensors = {
  sideLay: { sensorM: 3, toleranceMm: 1, noiseMm: 0.1, offsetsMm: [0], runsOffMm: [0] },
  register: { sensorM: 12, repeatMm: 305, toleranceMm: 0.5, noiseMm: 0.05, errorsMm: [0], backMmPerM: 2 },
  decurler: { standsOnRoll: undefined, noise: 0.2 },
  finishedRollM: 400,
}

const RUNS_OFF_OVER_M = 100
const DECURLER_MM = 20_000

const inTurn = (list: readonly number[], number: number): number => list[number % list.length] ?? 0

/** Web that the running roll gives until its splice, m. */
function leftM({ roll, scenario: s }: Plant): number {
  return Math.max(0, roll.leftM - webBetweenM(s.spliceMm / 1000, s.coreMm / 1000, s.caliperUm * 1e-6))
}

/** Of the web at the sensor, mm. */
export function edgeOffsetMm(plant: Plant, { sideLay }: JointSensors, random: Random): number {
  const at = plant.takenM - sideLay.sensorM
  const joint = plant.transfers.at(-1)
  const isOld = joint !== undefined && at < joint.takenM
  const number = plant.transfers.length - (isOld ? 1 : 0)
  const toSpliceM = isOld ? joint.takenM - at : leftM(plant) + sideLay.sensorM
  const runsOff = inTurn(sideLay.runsOffMm, number) * Math.max(0, 1 - toSpliceM / RUNS_OFF_OVER_M)
  return inTurn(sideLay.offsetsMm, number) + runsOff + sideLay.noiseMm * random.normal()
}

/** Of the print at the sensor, mm. */
export function registerErrorMm(plant: Plant, { register }: JointSensors, random: Random): number {
  const at = plant.passedM - register.sensorM
  const index = plant.transfers.findLastIndex(({ linePassedM }) => linePassedM <= at)
  const error = index < 0 ? 0 : inTurn(register.errorsMm, index)
  const pastM = index < 0 ? 0 : at - plant.transfers[index]!.linePassedM
  const left = Math.sign(error) * Math.max(0, Math.abs(error) - register.backMmPerM * pastM)
  return left + register.noiseMm * random.normal()
}

/** In per cent of its way. */
export function decurlerPercent(plant: Plant, { decurler }: JointSensors, random: Random): number {
  const { spliceMm } = plant.scenario
  const stands = decurler.standsOnRoll !== undefined && plant.transfers.length >= decurler.standsOnRoll
  const standsAtMm = (2000 * plant.fullDiameterM + spliceMm) / 3
  const diameterMm = Math.max(plant.roll.diameterM * 1000, stands ? standsAtMm : 0)
  return DECURLER_MM / diameterMm + decurler.noise * random.normal()
}

/** Id of the finished roll that is wound up now: the web at the rewinder has passed the whole path. */
export function finishedRoll(plant: Plant, { finishedRollM }: JointSensors): string {
  return `F${String(1 + Math.floor(plant.passedM / finishedRollM)).padStart(3, '0')}`
}
