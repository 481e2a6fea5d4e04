/** A joint as API, history and screens carry it: SI units end here. Pure. */
import type { StationConfig, UnwindConfig } from '../config/config.ts'
import type { JointAtStation, JointEventRow, JointView } from '../joint-columns.ts'
import { type Joint, type JointEvent, type JointPassing, stateOf } from './joint.ts'

/** Slower than this no time is forecast, m/s: 1 m/min. */
const STANDS_MPS = 1 / 60

const isoTime = (tMs: number | null): string | null => (tMs === null ? null : new Date(tMs).toISOString())
const round = (value: number): number => Math.round(value * 100) / 100

export function jointView(
  config: UnwindConfig,
  joint: Joint,
  due: (station: StationConfig) => { metres: number; sdM: number },
  lineMps: number,
): JointView {
  const stations = config.splicer.stations.flatMap((station): JointAtStation[] => {
    const passing = joint.stations.find(({ name }) => name === station.name)
    return passing === undefined ? [] : [atStation(station, passing, due(station), lineMps)]
  })
  const { broke } = joint
  return {
    id: joint.id,
    unwind: config.id,
    made: new Date(joint.madeTMs).toISOString(),
    stations,
    broke:
      broke === null
        ? null
        : { time: new Date(broke.tMs).toISOString(), at_joint: broke.isAtJoint, station: broke.station },
    side_lay: joint.sideLay,
    register: joint.register,
  }
}

function atStation(
  station: StationConfig,
  passing: JointPassing,
  { metres, sdM }: { metres: number; sdM: number },
  lineMps: number,
): JointAtStation {
  const isComing = metres > 0 && passing.arrivedTMs === null
  return {
    station: station.name,
    state: stateOf(passing),
    takes_out: station.confirmWithinM !== undefined,
    metres: round(metres),
    metres_deviation: round(sdM),
    seconds: isComing && lineMps > STANDS_MPS ? round(metres / lineMps) : null,
    arrived: isoTime(passing.arrivedTMs),
    seen: isoTime(passing.seenTMs),
    out: isoTime(passing.outTMs),
    out_by: passing.outBy,
    finished_roll: passing.finishedRoll?.id ?? null,
    finished_roll_metres: metresIn(passing),
  }
}

/** From the finished roll's start, m. */
function metresIn({ finishedRoll }: JointPassing): number | null {
  return finishedRoll === null || finishedRoll.metres === null ? null : round(finishedRoll.metres)
}

export function jointEventRow(config: UnwindConfig, { tMs, joint, event, pastM, passing }: JointEvent): JointEventRow {
  const station = config.splicer.stations.find(({ name }) => name === passing.name)
  return {
    time: new Date(tMs).toISOString(),
    unwind: config.id,
    joint,
    station: passing.name,
    event,
    takes_out: station?.confirmWithinM !== undefined,
    metres: round(pastM),
    person: event === 'out' ? passing.outBy : null,
    finished_roll: passing.finishedRoll?.id ?? null,
    finished_roll_metres: metresIn(passing),
  }
}
