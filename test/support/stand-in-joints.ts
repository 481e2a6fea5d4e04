/** Joints of the stand-in: one on its way after each splice of `label_press`, and one for each past splice that made a joint. */
import type { SpliceView } from '../../edge/api/messages.ts'
import type { JointAtStation, JointEventRow, JointRegister, JointView } from '../../edge/joint-columns.ts'

/** Web from the splice to each station; the joint has to be taken out at the second one. */
const STATIONS = [
  { station: 'Printing unit 1', distanceM: 9, takes_out: false },
  { station: 'Die cutter', distanceM: 41, takes_out: true },
] as const
const STORED_M = 16
const SPEED_MPS = 5
const iso = (tMs: number): string => new Date(tMs).toISOString()

/** @param passedM - web that the line took since the transfer. */
export function standInJoint(id: string, unwind: string, madeTMs: number, passedM: number, out: boolean): JointView {
  const stations = STATIONS.map(({ station, distanceM, takes_out }): JointAtStation => {
    const metres = STORED_M + distanceM - passedM
    const isThere = metres <= 0
    const arrivedTMs = madeTMs + ((STORED_M + distanceM) / SPEED_MPS) * 1000
    const isOut = isThere && takes_out && out
    return {
      station,
      state: isOut ? 'out' : isThere ? 'passed' : 'due',
      takes_out,
      metres,
      metres_deviation: 0.4,
      seconds: isThere ? null : metres / SPEED_MPS,
      arrived: isThere ? iso(arrivedTMs) : null,
      seen: null,
      out: isOut ? iso(arrivedTMs + 4000) : null,
      out_by: isOut ? 'Crew B' : null,
      finished_roll: null,
      finished_roll_metres: null,
    }
  })
  return { id, unwind, made: iso(madeTMs), stations, broke: null, side_lay: null, register: null }
}

/** At the rewinder, 5 s after the die cutter: a finished roll each hour, of which the first minute was not seen. */
function wound(before: JointAtStation): JointAtStation {
  const arrivedTMs = Date.parse(before.arrived!) + 5000
  const intoS = (arrivedTMs / 1000) % 3600
  return {
    ...before,
    station: 'Rewinder',
    state: 'passed',
    takes_out: false,
    arrived: iso(arrivedTMs),
    out: null,
    out_by: null,
    finished_roll: `F-${String(Math.floor(arrivedTMs / 3_600_000) % 1000).padStart(3, '0')}`,
    finished_roll_metres: intoS < 60 ? null : Math.round(intoS * SPEED_MPS * 10) / 10,
  }
}

export const pastJoint = ({ id, unwind, transfer, cause }: SpliceView): JointView | undefined => {
  if (unwind !== 'label_press' || transfer === null) return undefined
  const madeTMs = Date.parse(transfer)
  if (cause !== 'web_break') {
    const { stations, ...joint } = standInJoint(id, unwind, madeTMs, 1000, true)
    return { ...joint, stations: [...stations, wound(stations[1]!)], register: registerOf(madeTMs) }
  }
  const joint = standInJoint(id, unwind, madeTMs, STORED_M + 9.4, false)
  return { ...joint, broke: { time: iso(madeTMs + 5200), at_joint: true, station: 'Printing unit 1' } }
}

/** Nine of ten joints of a pre-printed web are in register. */
const registerOf = (madeTMs: number): JointRegister =>
  Math.floor(madeTMs / 60_000) % 10 === 0
    ? { error: 3.4, metres: 6.2, repeats: 21 }
    : { error: 0.2, metres: 0, repeats: 0 }

export const arrivalsOf = ({ id, unwind, stations }: JointView): JointEventRow[] =>
  stations.flatMap(({ station, arrived, takes_out }) =>
    arrived === null
      ? []
      : [
          {
            time: arrived,
            unwind,
            joint: id,
            station,
            event: 'arrived',
            takes_out,
            metres: 0,
            person: null,
            finished_roll: null,
            finished_roll_metres: null,
          },
        ],
  )
