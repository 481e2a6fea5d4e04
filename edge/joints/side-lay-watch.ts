/**
 * The side-lay at a joint: where the old and the new web lie, the step between, and how the old one wandered before. Pure.
 *
 * The sensor stands before the buffer, so web is counted off the roll. A little web around the joint is left out: the tape
 * and the cut are no edge.
 */
import type { SplicerConfig } from '../config/config.ts'
import type { JointSideLay, SideLayReason } from '../joint-columns.ts'
import { copyOf } from '../plain-data.ts'

/** Web between two kept readings, and how many are kept: 100 m, m. */
const EVERY_M = 0.5
const MOST_KEPT = 200
/** Web on each side of the joint that is left out, and that is averaged, m. */
const LEFT_OUT_M = 0.5
const AVERAGED_M = 5
/** Least readings that make a mean, and a drift: half a span. */
const LEAST_READINGS = 3
const LEAST_FOR_DRIFT = MOST_KEPT / 2
const MM_PER_M = 1000

interface Reading {
  webM: number
  offsetM: number
}

interface WatchState {
  kept: Reading[]
  /** Joints whose new web is still to be read, by the web at which each is at the sensor. */
  open: { id: string; atWebM: number; before: Reading[]; after: Reading[] }[]
}

export class SideLayWatch {
  readonly #config: SplicerConfig['sideLay']
  #s: WatchState = { kept: [], open: [] }

  constructor(config: SplicerConfig['sideLay']) {
    this.#config = config
  }

  made(id: string, rollWebM: number): void {
    if (this.#config === undefined) return
    this.#s.open.push({ id, atWebM: rollWebM + this.#config.distanceM, before: [], after: [] })
  }

  /** @param offsetM - of the web from its place at the sensor. @returns what is known of a joint once its new web was read. */
  step(rollWebM: number, offsetM: number | undefined): { id: string; sideLay: JointSideLay }[] {
    if (this.#config === undefined) return []
    if (offsetM !== undefined) this.#keep({ webM: rollWebM, offsetM })
    const done = this.#s.open.filter(({ atWebM }) => rollWebM - atWebM >= LEFT_OUT_M + AVERAGED_M)
    this.#s.open = this.#s.open.filter((joint) => !done.includes(joint))
    return done.flatMap(({ id, before, after }) => {
      const sideLay = judge(before, after, this.#config!.toleranceM)
      return sideLay === undefined ? [] : [{ id, sideLay }]
    })
  }

  #keep(reading: Reading): void {
    for (const joint of this.#s.open) {
      const pastM = reading.webM - joint.atWebM
      if (joint.before.length === 0 && pastM >= -LEFT_OUT_M) joint.before = [...this.#s.kept]
      if (pastM >= LEFT_OUT_M && joint.after.length < MOST_KEPT) joint.after.push(reading)
    }
    const last = this.#s.kept.at(-1)
    if (last !== undefined && Math.abs(reading.webM - last.webM) < EVERY_M) return
    this.#s.kept.push(reading)
    if (this.#s.kept.length > MOST_KEPT) this.#s.kept.shift()
  }

  snapshot(): WatchState {
    return copyOf(this.#s)
  }

  restore(state: WatchState): void {
    this.#s = copyOf(state)
  }
}

function judge(old: readonly Reading[], after: readonly Reading[], toleranceM: number): JointSideLay | undefined {
  const endM = old.at(-1)?.webM ?? 0
  const before = old.filter(({ webM }) => endM - webM <= AVERAGED_M)
  if (before.length < LEAST_READINGS || after.length < LEAST_READINGS) return undefined
  const beforeM = mean(before)
  const afterM = mean(after)
  const driftM = old.length < LEAST_FOR_DRIFT ? undefined : driftOf(old)
  const stepM = afterM - beforeM
  const within = Math.abs(stepM) <= toleranceM && Math.abs(afterM) <= toleranceM
  return {
    before: beforeM * MM_PER_M,
    after: afterM * MM_PER_M,
    step: stepM * MM_PER_M,
    drift: driftM === undefined ? null : driftM * MM_PER_M,
    within,
    reason: within ? null : reasonOf(beforeM, afterM, driftM, toleranceM),
  }
}

function reasonOf(beforeM: number, afterM: number, driftM: number | undefined, toleranceM: number): SideLayReason {
  const isOldOff = Math.abs(beforeM) > toleranceM / 2
  const isNewOff = Math.abs(afterM) > toleranceM / 2
  if (isOldOff && driftM !== undefined && Math.abs(driftM) > toleranceM / 2) return 'drift'
  if (isOldOff && isNewOff) return 'both_webs'
  return isOldOff ? 'old_web' : 'new_web'
}

const mean = (readings: readonly Reading[]): number =>
  readings.reduce((sum, { offsetM }) => sum + offsetM, 0) / readings.length

/** Rise of the least-squares line over the kept web, m. */
function driftOf(readings: readonly Reading[]): number {
  const middleM = readings.reduce((sum, { webM }) => sum + webM, 0) / readings.length
  const middle = mean(readings)
  let products = 0
  let squares = 0
  for (const { webM, offsetM } of readings) {
    products += (webM - middleM) * (offsetM - middle)
    squares += (webM - middleM) ** 2
  }
  const spanM = readings.at(-1)!.webM - readings[0]!.webM
  return squares === 0 ? 0 : (products / squares) * spanM
}
