/**
 * Register at a joint of a pre-printed or pre-punched web: how far the new print is off, and how much web passes until it
 * is back. Pure. The sensor stands after the buffer, so web is counted as the line takes it.
 *
 * Where the joint is at the sensor is known to half a metre or so, and a reading of the old web is no error of the new one: so
 * the joint is where the reading jumps most near there.
 */
import type { SplicerConfig } from '../config/config.ts'
import type { JointRegister } from '../joint-columns.ts'
import { copyOf } from '../plain-data.ts'

/** In register is what stayed so for three repeats: one good reading may be chance. */
const STAYS_REPEATS = 3
/** The jump is looked for within this of where the joint is due, m; one below the tolerance is none. */
const NEAR_M = 1.5
/** The error at the joint is the mean over the first repeat after it. Not back within this, it is left to people, m. */
const WATCHED_M = 500
const MM_PER_M = 1000

interface Open {
  id: string
  atWebM: number
  /** Readings around the joint, until it is known where among them it is. */
  near: { webM: number; errorM: number }[] | null
  sumM: number
  readings: number
  /** Web at which it came within the tolerance and stayed. */
  withinSinceM: number | null
}

export class RegisterWatch {
  readonly #config: SplicerConfig['register']
  #open: Open[] = []

  constructor(config: SplicerConfig['register']) {
    this.#config = config
  }

  /** @param fromWebM - line web at which the joint is past buffer and splicer. */
  made(id: string, fromWebM: number): void {
    if (this.#config === undefined) return
    const atWebM = fromWebM + this.#config.distanceM
    this.#open.push({ id, atWebM, near: [], sumM: 0, readings: 0, withinSinceM: null })
  }

  step(webM: number, errorM: number | undefined): { id: string; register: JointRegister }[] {
    if (this.#config === undefined || this.#open.length === 0) return []
    const { repeatM, toleranceM } = this.#config
    const done: { id: string; register: JointRegister }[] = []
    this.#open = this.#open.filter((open) => {
      const pastM = webM - open.atWebM
      if (pastM < -NEAR_M) return true
      if (open.near !== null) {
        if (errorM !== undefined) open.near.push({ webM, errorM })
        if (pastM < NEAR_M) return true
        this.#settle(open, open.near)
        open.near = null
      } else if (errorM !== undefined) take(open, webM, withinRepeat(errorM, repeatM), repeatM, toleranceM)
      const isBack = open.withinSinceM !== null && webM - open.withinSinceM >= STAYS_REPEATS * repeatM
      if (!isBack && pastM < WATCHED_M) return true
      if (open.readings > 0) {
        const metres = isBack ? Math.max(0, open.withinSinceM! - open.atWebM) : null
        const error = (open.sumM / open.readings) * MM_PER_M
        done.push({
          id: open.id,
          register: { error, metres, repeats: metres === null ? null : Math.ceil(metres / repeatM) },
        })
      }
      return false
    })
    return done
  }

  /** Puts the joint where the reading jumped most, and takes what was read from there on. */
  #settle(open: Open, near: readonly { webM: number; errorM: number }[]): void {
    const { repeatM, toleranceM } = this.#config!
    const jumps = near.slice(1).map(({ errorM }, i) => Math.abs(withinRepeat(errorM - near[i]!.errorM, repeatM)))
    const most = Math.max(toleranceM, ...jumps)
    const jumpAt = jumps.indexOf(most)
    if (jumpAt >= 0) open.atWebM = near[jumpAt + 1]!.webM
    for (const { webM, errorM } of near) {
      if (webM >= open.atWebM) take(open, webM, withinRepeat(errorM, repeatM), repeatM, toleranceM)
    }
  }

  snapshot(): Open[] {
    return copyOf(this.#open)
  }

  restore(state: Open[]): void {
    this.#open = copyOf(state)
  }
}

function take(open: Open, webM: number, errorM: number, repeatM: number, toleranceM: number): void {
  const isFirst = open.readings === 0
  if (webM - open.atWebM <= repeatM || isFirst) {
    open.sumM += errorM
    open.readings += 1
  }
  if (Math.abs(errorM) > toleranceM) open.withinSinceM = null
  // In register from the joint on: no web went by until then.
  else open.withinSinceM ??= isFirst ? open.atWebM : webM
}

/** A print that is off by a whole repeat is in register: the error within ± half a repeat, m. */
export const withinRepeat = (errorM: number, repeatM: number): number => errorM - repeatM * Math.round(errorM / repeatM)
