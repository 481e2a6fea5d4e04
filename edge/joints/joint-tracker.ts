/**
 * Follows each joint from its splice through the line by web that really passed, station by station. Pure.
 *
 * A joint is at a station when the line has taken, since the transfer, what lay in the buffer then and the web path to the
 * station: whatever the speed did. Where the station sees joints, the path is learned from what it saw.
 * Information only: a gate's own control decides.
 */
import type { StationConfig } from '../config/config.ts'
import { believe, type Evidence, remember } from '../estimators/learning/evidence.ts'
import type { JointEventName } from '../joint-columns.ts'
import { copyOf } from '../plain-data.ts'
import { type Joint, type JointEvent, type JointPassing, newPassing } from './joint.ts'

/** A process holds few joints at once; beyond this the oldest is no longer followed, whatever became of it. */
const MOST_JOINTS = 8
/** How well a web path is stated, and a calibrated buffer holds what it says: share and m (common practice, no source). */
const PATH_SD_SHARE = 0.005
const PATH_SD_M = 0.2
/** Where a sensor contradicts the stated distance, that was perhaps paced out: it gives way to a few sightings, m. */
const STATED_SD_M = 2
/** A sensor's pulse belongs to a joint that is due within this share of its path, or so many m. */
const GATE_SHARE = 0.15
const GATE_M = 4
/** Scatter of one sighting before it is known: a pulse is polled ten times a second, m. */
const SIGHTING_SD_M = 0.3
/** A joint is judged to be where the web broke within this share of its path, or so many m. */
const BREAK_SHARE = 0.02
const BREAK_M = 1
/** A break shows so much later: detector, scan and sampling, s (common practice, no source). */
const BREAK_SHOWS_S = 1
/** Just made, a joint that opens does so in the splicer: within so much web, m. */
const AT_SPLICER_M = 5
/** Steps farther apart are a time that nobody watched; and after it tags tell for a while what happened in it, ms. */
const UNWATCHED_MS = 2000
const TELLS_OLD_MS = 10_000
/** Name of the splicer among the places at which a joint may open. */
export const AT_SPLICER = 'splicer'

export interface MadeJoint {
  id: string
  tMs: number
  webM: number
  storedM: number
  rollWebM: number
}

interface TrackerState {
  joints: Joint[]
  /** Per station: metres by which joints came later than configured. */
  laterM: Record<string, Evidence>
  /** Per station: the finished roll that is wound up, and the line's web at its beginning; null where that was not seen. */
  winding: Record<string, { id: string; fromWebM: number | null }>
  /** Since when, and until when, tags were watched without a gap. */
  watchedSinceTMs: number | null
  watchedTMs: number | null
}

export class JointTracker {
  readonly #stations: readonly StationConfig[]
  #events: JointEvent[] = []
  #s: TrackerState = { joints: [], laterM: {}, winding: {}, watchedSinceTMs: null, watchedTMs: null }

  constructor(stations: readonly StationConfig[]) {
    this.#stations = stations
  }

  get joints(): readonly Joint[] {
    return this.#s.joints
  }

  made({ id, tMs, webM, storedM, rollWebM }: MadeJoint): void {
    const stations = this.#stations.map(({ name }) => newPassing(name))
    const rest = { lostSdM: 0, broke: null, sideLay: null, register: null }
    this.#s.joints.push({ id, madeTMs: tMs, webM, storedM, rollWebM, stations, ...rest })
    if (this.#s.joints.length > MOST_JOINTS) this.#s.joints.shift()
  }

  /** How much web passed is not known for a while. */
  unsettle(sdM: number): void {
    for (const joint of this.#s.joints) joint.lostSdM = Math.hypot(joint.lostSdM, sdM)
  }

  /** Web until a joint is at a station, m (negative: past it), with its standard deviation. */
  due(joint: Joint, station: StationConfig, webM: number): { metres: number; sdM: number } {
    const pathM = joint.storedM + station.distanceM
    const seen = this.#s.laterM[station.name] ?? []
    const priorM = seen.length === 0 ? Math.hypot(PATH_SD_M, PATH_SD_SHARE * pathM) : STATED_SD_M
    const later = believe(seen, 0, priorM, SIGHTING_SD_M)
    return { metres: joint.webM + pathM + later.mean - webM, sdM: Math.hypot(later.sd, joint.lostSdM) }
  }

  #tell(event: JointEventName, joint: Joint, passing: JointPassing, tMs: number, pastM: number): void {
    this.#events.push({ tMs, joint: joint.id, event, pastM, passing: { ...passing } })
  }

  /** What happened since the last call, in order. */
  takeEvents(): JointEvent[] {
    const events = this.#events
    if (events.length > 0) this.#events = []
    return events
  }

  /** @returns joints of which something is new. */
  step(tMs: number, webM: number, lineMps: number): Joint[] {
    if (!this.#isWatched(tMs)) this.#s.watchedSinceTMs = tMs
    this.#s.watchedTMs = tMs
    if (this.#stations.length === 0 || this.#s.joints.length === 0) return []
    const changed = new Set<Joint>()
    for (const joint of this.#s.joints) {
      for (const [station, passing] of this.#passings(joint)) {
        const { metres } = this.due(joint, station, webM)
        if (passing.arrivedTMs === null && metres <= 0) {
          // Between two steps: when it was there, not when that was noticed.
          const agoMs = lineMps > 0 ? Math.min((-metres / lineMps) * 1000, 1000) : 0
          this.#arrive(joint, station, passing, Math.round(tMs - agoMs))
          changed.add(joint)
        }
        const isLate = station.confirmWithinM !== undefined && metres < -station.confirmWithinM
        if (isLate && passing.outTMs === null && !passing.isUnconfirmed) {
          passing.isUnconfirmed = true
          this.#tell('unconfirmed', joint, passing, tMs, -metres)
          changed.add(joint)
        }
      }
    }
    return [...changed]
  }

  #arrive(joint: Joint, station: StationConfig, passing: JointPassing, tMs: number): void {
    passing.arrivedTMs = tMs
    this.#windIn(passing, this.#arrivesAtWebM(joint, station))
    this.#tell('arrived', joint, passing, tMs, 0)
  }

  /** What the line will have taken when a joint is at a station, m. */
  #arrivesAtWebM(joint: Joint, station: StationConfig): number {
    return joint.webM + this.due(joint, station, joint.webM).metres
  }

  /** In which finished roll a joint comes to lie that is at the station at `webM`. Between two rolls there is none. */
  #windIn(passing: JointPassing, webM: number): void {
    const { id = '', fromWebM = null } = this.#s.winding[passing.name] ?? {}
    if (id !== '') passing.finishedRoll = { id, metres: fromWebM === null ? null : Math.max(0, webM - fromWebM) }
  }

  /** A station's sensor sees a joint. @returns the joint that it must be, undefined where none is due there. */
  seen(name: string, tMs: number, webM: number): Joint | undefined {
    const found = this.#nearest(name, webM, (passing) => passing.seenTMs === null)
    if (found === undefined) return undefined
    const { joint, station, passing, metres } = found
    this.#s.laterM[name] ??= []
    remember(this.#s.laterM[name]!, webM - joint.webM - joint.storedM - station.distanceM, tMs)
    passing.seenTMs = tMs
    if (passing.arrivedTMs === null) this.#arrive(joint, station, passing, tMs)
    passing.arrivedTMs = tMs
    this.#windIn(passing, webM)
    this.#tell('seen', joint, passing, tMs, -metres)
    return joint
  }

  #nearest(name: string, webM: number, isOpen: (passing: JointPassing) => boolean, beyondM = 0) {
    const candidates = this.#s.joints.flatMap((joint) =>
      this.#passings(joint)
        .filter(([station, passing]) => station.name === name && isOpen(passing))
        .map(([station, passing]) => ({ joint, station, passing, metres: this.due(joint, station, webM).metres })),
    )
    const near = candidates.filter(({ joint, station, metres }) => {
      const gateM = Math.max(GATE_M, GATE_SHARE * (joint.storedM + station.distanceM)) + joint.lostSdM
      return metres <= gateM && metres >= -gateM - beyondM
    })
    return near.sort((a, b) => Math.abs(a.metres) - Math.abs(b.metres))[0]
  }

  /** A station says that it took a joint out. */
  tookOut(name: string, tMs: number, webM: number): Joint | undefined {
    const within = this.#stations.find((station) => station.name === name)?.confirmWithinM ?? 0
    const found = this.#nearest(name, webM, (passing) => passing.outTMs === null, within)
    if (found === undefined) return undefined
    found.passing.outTMs = tMs
    this.#tell('out', found.joint, found.passing, tMs, -found.metres)
    return found.joint
  }

  /** A person says that a joint was taken out at a station, however late. */
  takenOutBy(id: string, name: string, person: string, tMs: number, webM: number): Joint | undefined {
    const joint = this.#s.joints.find((one) => one.id === id)
    if (joint === undefined) return undefined
    const [station, passing] = this.#passings(joint).find(([one]) => one.name === name) ?? []
    if (station === undefined || passing === undefined || passing.outTMs !== null) return undefined
    passing.outTMs = tMs
    passing.outBy = person
    this.#tell('out', joint, passing, tMs, -this.due(joint, station, webM).metres)
    return joint
  }

  /**
   * Another finished roll begins at a rewinder; no id is none. The first that is heard of began when nobody saw it, as did one
   * that is told of right after a gap.
   * @returns joints that lie in this roll, not in the one before: the tag is told of later than the web runs.
   */
  windsUp(name: string, id: string, webM: number, tMs: number): Joint[] {
    const before = this.#s.winding[name]
    if (before?.id === id) return []
    const { watchedSinceTMs } = this.#s
    const isSeen = this.#isWatched(tMs) && tMs - (watchedSinceTMs ?? tMs) >= TELLS_OLD_MS
    this.#s.winding[name] = { id, fromWebM: before !== undefined && isSeen ? webM : null }
    if (before === undefined || !isSeen) return []
    return this.#s.joints.filter((joint) => {
      const found = this.#passings(joint).find(([station]) => station.name === name)
      if (found?.[1].finishedRoll?.id !== before.id || this.#arrivesAtWebM(joint, found[0]) < webM) return false
      this.#windIn(found[1], this.#arrivesAtWebM(joint, found[0]))
      return true
    })
  }

  #isWatched(tMs: number): boolean {
    const { watchedTMs } = this.#s
    return watchedTMs !== null && tMs - watchedTMs <= UNWATCHED_MS
  }

  /** The web broke: was it where a joint was? @returns the joint on whose way it happened. */
  broke(tMs: number, webM: number, lineMps: number, pathLengthM: number): Joint | undefined {
    const joint = this.#s.joints.findLast((one) => webM - one.webM <= one.storedM + pathLengthM + BREAK_M)
    if (joint === undefined || joint.broke !== null) return undefined
    const laterM = lineMps * BREAK_SHOWS_S
    const place = this.#passings(joint).find(([station]) => {
      const { metres } = this.due(joint, station, webM)
      const nearM = Math.max(BREAK_M, BREAK_SHARE * (joint.storedM + station.distanceM)) + joint.lostSdM
      return metres <= nearM && metres >= -nearM - laterM
    })
    const isJustMade = webM - joint.webM <= AT_SPLICER_M + laterM
    const station = place?.[0].name ?? (isJustMade ? AT_SPLICER : null)
    joint.broke = { tMs, station, isAtJoint: station !== null }
    return joint
  }

  /** A station that a changed config no longer has is no longer followed. */
  #passings(joint: Joint): [StationConfig, JointPassing][] {
    return joint.stations.flatMap((passing): [StationConfig, JointPassing][] => {
      const station = this.#stations.find(({ name }) => name === passing.name)
      return station === undefined ? [] : [[station, passing]]
    })
  }

  /** Joints that are still on their way, or that nobody confirmed. */
  open(webM: number, pathLengthM: number): Joint[] {
    return this.#s.joints.filter((joint) => {
      const isUnconfirmed = joint.stations.some((passing) => passing.isUnconfirmed && passing.outTMs === null)
      return isUnconfirmed || webM - joint.webM <= joint.storedM + pathLengthM
    })
  }

  snapshot(): TrackerState {
    return copyOf(this.#s)
  }

  restore(state: TrackerState): void {
    // What was between was not seen, however short.
    this.#s = { ...copyOf(state), watchedTMs: null }
  }
}
