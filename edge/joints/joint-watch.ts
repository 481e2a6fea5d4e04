/**
 * All that is followed of a joint after its splice, for one unwind: its way through the stations, side-lay, register, the
 * decurler, and the PLC's own count. Pure: the pipeline feeds it and hands on what is new.
 */
import type { UnwindConfig } from '../config/config.ts'
import type { CountDifference, JointEventRow, JointView } from '../joint-columns.ts'
import { CountCheck } from '../outcome/count-check.ts'
import type { Sample } from '../sample.ts'
import type { Held } from '../signals/held.ts'
import { DecurlerWatch } from './decurler-watch.ts'
import type { Joint } from './joint.ts'
import { JointTracker, type MadeJoint } from './joint-tracker.ts'
import { jointEventRow, jointView } from './joint-view.ts'
import { RegisterWatch } from './register-watch.ts'
import { SideLayWatch } from './side-lay-watch.ts'

export interface JointStep {
  tMs: number
  /** Web that the line took, and that left the roll, m. */
  webM: number
  rollWebM: number
  lineMps: number
  /** Undefined where not mapped or without a value. */
  edgeOffsetM: number | undefined
  registerErrorM: number | undefined
  decurlerPosition: number | undefined
  diameterM: number | undefined
  webBreak: boolean | undefined
}

/** What alarms are judged by. */
export interface JointFacts {
  /** Joint past a station that has to take it out, and nobody confirmed; metres past it. */
  unconfirmed: { id: string; station: string; metres: number; limitM: number } | undefined
  /** The newest joint that lies out of its side-lay tolerance. */
  sideLay: { id: string; reason: string; stepM: number; limitM: number; madeTMs: number } | undefined
  decurler: { position: number; expected: number } | undefined
}

type State = ReturnType<JointWatch['snapshot']>

export class JointWatch {
  readonly #config: UnwindConfig
  readonly #tracker: JointTracker
  readonly #sideLay: SideLayWatch
  readonly #register: RegisterWatch
  readonly #decurler = new DecurlerWatch()
  readonly #count = new CountCheck()
  #wasBroken = false
  #webM = 0
  #lineMps = 0
  #changed = new Set<Joint>()
  #differences: CountDifference[] = []

  constructor(config: UnwindConfig) {
    this.#config = config
    this.#tracker = new JointTracker(config.splicer.stations)
    this.#sideLay = new SideLayWatch(config.splicer.sideLay)
    this.#register = new RegisterWatch(config.splicer.register)
  }

  /** The new web took over. */
  made(joint: MadeJoint): void {
    this.#tracker.made(joint)
    this.#sideLay.made(joint.id, joint.rollWebM)
    this.#register.made(joint.id, joint.webM + joint.storedM)
    this.#changed.add(this.#tracker.joints.at(-1)!)
  }

  rollChanged(): void {
    this.#decurler.rollChanged()
  }

  /** How much web passed is not known for a while. */
  unsettle(sdM: number): void {
    this.#tracker.unsettle(sdM)
  }

  /** Nobody saw what happened until now. */
  gap(): void {
    this.#count.gap()
  }

  /** A splice's record closed, or one was missed. */
  closed(startedTMs: number, hasTransfer: boolean): void {
    this.#count.seen(startedTMs, !hasTransfer)
  }

  /** A web break by a splice's verdict. */
  broke(tMs: number, lineMps: number): void {
    this.#note(this.#tracker.broke(tMs, this.#webM, lineMps, this.#config.splicer.pathLengthM))
  }

  #note(joint: Joint | undefined): void {
    if (joint !== undefined) this.#changed.add(joint)
  }

  /** A report of one of the stations' tags, or of the counter. @param before - what the tag said before. */
  report({ config, value }: Held, before: Held['value'], tMs: number, webM: number): void {
    if (config.signal === 'splice_count') {
      if (typeof value === 'number') this.#count.count(value, tMs)
      return
    }
    const station = config.station ?? this.#config.splicer.stations[0]?.name
    if (station === undefined) return
    if (config.signal === 'finished_roll') {
      for (const joint of this.#tracker.windsUp(station, String(value).trim(), webM, tMs)) this.#note(joint)
      return
    }
    // A bit that stood when it was first heard is no news; a pulse is its rising edge.
    if (value !== true || before !== false) return
    if (config.signal === 'joint_seen') this.#note(this.#tracker.seen(station, tMs, webM))
    else if (config.signal === 'reject_confirmed') this.#note(this.#tracker.tookOut(station, tMs, webM))
  }

  /** What a person says of a joint: `joint_out/<unwind>/<station>`, its splice's id. @returns false where it is nothing of a joint. */
  enter({ address, person, tMs, value }: Sample): boolean {
    const [verb, unwind, station] = address.split('/')
    if (verb !== 'joint_out' || unwind !== this.#config.id || station === undefined) return false
    this.#note(this.#tracker.takenOutBy(String(value), decoded(station), person ?? '', tMs, this.#webM))
    return true
  }

  step(at: JointStep): void {
    const { tMs, webM, rollWebM, lineMps } = at
    this.#webM = webM
    this.#lineMps = lineMps
    for (const joint of this.#tracker.step(tMs, webM, lineMps)) this.#changed.add(joint)
    for (const { id, sideLay } of this.#sideLay.step(rollWebM, at.edgeOffsetM)) this.#give(id, { sideLay })
    for (const { id, register } of this.#register.step(webM, at.registerErrorM)) this.#give(id, { register })
    this.#decurler.step(at.diameterM, at.decurlerPosition)
    if (at.webBreak === true && !this.#wasBroken) this.broke(tMs, lineMps)
    this.#wasBroken = at.webBreak === true
    for (const one of this.#count.step(tMs)) {
      const time = new Date(one.tMs).toISOString()
      this.#differences.push({ unwind: this.#config.id, time, kind: one.kind, splices: one.splices })
    }
  }

  #give(id: string, result: Partial<Joint>): void {
    const joint = this.#tracker.joints.find((one) => one.id === id)
    if (joint === undefined) return
    Object.assign(joint, result)
    this.#changed.add(joint)
  }

  /** Joints on their way, and those that nobody confirmed, newest last. */
  views(): JointView[] {
    return this.#tracker.open(this.#webM, this.#config.splicer.pathLengthM).map((joint) => this.#view(joint))
  }

  #view(joint: Joint): JointView {
    return jointView(this.#config, joint, (station) => this.#tracker.due(joint, station, this.#webM), this.#lineMps)
  }

  /** What is new since the last call; undefined: nothing. */
  drain(): { joints: JointView[]; jointEvents: JointEventRow[]; differences: CountDifference[] } | undefined {
    // Whatever happens to a joint changes it.
    if (this.#changed.size === 0 && this.#differences.length === 0) return undefined
    const jointEvents = this.#tracker.takeEvents().map((event) => jointEventRow(this.#config, event))
    const joints = [...this.#changed].map((joint) => this.#view(joint))
    const differences = this.#differences
    this.#changed = new Set()
    this.#differences = []
    return { joints, jointEvents, differences }
  }

  facts(): JointFacts {
    return { unconfirmed: this.#unconfirmed(), sideLay: this.#outOfLay(), decurler: this.#decurler.standing }
  }

  #unconfirmed(): JointFacts['unconfirmed'] {
    for (const joint of this.#tracker.joints) {
      for (const station of this.#config.splicer.stations) {
        const passing = joint.stations.find(({ name }) => name === station.name)
        if (passing === undefined || !passing.isUnconfirmed || passing.outTMs !== null) continue
        const metres = -this.#tracker.due(joint, station, this.#webM).metres
        return { id: joint.id, station: station.name, metres, limitM: station.confirmWithinM ?? 0 }
      }
    }
    return undefined
  }

  #outOfLay(): JointFacts['sideLay'] {
    const joint = this.#tracker.joints.at(-1)
    const { sideLay } = this.#config.splicer
    if (joint === undefined || joint.sideLay === null || joint.sideLay.within || sideLay === undefined) return undefined
    const { reason, step } = joint.sideLay
    const limitM = sideLay.toleranceM
    return { id: joint.id, reason: reason ?? 'new_web', stepM: step / 1000, limitM, madeTMs: joint.madeTMs }
  }

  snapshot() {
    return {
      tracker: this.#tracker.snapshot(),
      sideLay: this.#sideLay.snapshot(),
      register: this.#register.snapshot(),
      decurler: this.#decurler.snapshot(),
      count: this.#count.snapshot(),
      wasBroken: this.#wasBroken,
      webM: this.#webM,
      lineMps: this.#lineMps,
    }
  }

  restore(state: unknown): void {
    const s = state as State
    this.#tracker.restore(s.tracker)
    this.#sideLay.restore(s.sideLay)
    this.#register.restore(s.register)
    this.#decurler.restore(s.decurler)
    this.#count.restore(s.count)
    this.#wasBroken = s.wasBroken
    this.#webM = s.webM
    this.#lineMps = s.lineMps
  }
}

/** A person's entry may be anything: what is no encoded text stays as it is. */
function decoded(part: string): string {
  try {
    return decodeURIComponent(part)
  } catch {
    return part
  }
}
