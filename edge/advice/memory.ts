/**
 * What advice has to remember of one unwind: flags in its rolls, the usual length of rolls per material, the newest joint
 * on its way. Plain data in a snapshot; bounded. Pure.
 */
import { believe, type Evidence, remember } from '../estimators/learning/evidence.ts'
import { materialKey } from '../estimators/learning/splicer.ts'
import { median } from '../estimators/statistics.ts'
import { copyOf } from '../plain-data.ts'
import type { Sample } from '../sample.ts'
import type { Flag } from './flags.ts'
import type { Staging } from './next-splices.ts'

const MM_PER_M = 1000
const MOST_FLAGS = 20
/** Materials that are remembered; the one not used for longest leaves. */
const MOST_MATERIALS = 200
/** A roll that ran shorter than this was none, m. */
const LEAST_ROLL_M = 10
/** Rolls of one order differ by a fifth before any was seen, by a twentieth from one to the next (common practice, no source). */
const UNSEEN_SD_SHARE = 0.2
const ROLL_SCATTER_SHARE = 0.05
/** Fewer whole rolls say nothing of what a shift needs; roll changes whose speed is remembered. */
const LEAST_ROLLS = 3
const MOST_SPEEDS = 9

export interface RunningFlag extends Flag {
  /** Web count at which the roll was loaded, m. */
  fromWebM: number
}

export interface UsualLength {
  material: string
  lengthM: number
  sdM: number
  rolls: number
}

interface AdviceMemoryState {
  running: RunningFlag[]
  waiting: Flag[]
  lengths: Record<string, Evidence>
  jointAtWebM: number | null
  speedsMps: number[]
}

export class AdviceMemory {
  #running: RunningFlag[] = []
  #waiting: Flag[] = []
  #lengths: Record<string, Evidence> = {}
  /** At which the line last ran before each of the last roll changes, m/s; newest last. */
  #speedsMps: number[] = []
  /** Line web at which the newest joint leaves the buffer, m. */
  jointAtWebM: number | undefined

  get flags(): readonly RunningFlag[] {
    return this.#running
  }

  get waitingFlags(): readonly Flag[] {
    return this.#waiting
  }

  /**
   * What a person entered: depth in mm at loading; 0 takes back all flags of that roll.
   * @param fromWebM - web count at the running roll's loading; where that was not seen, now: the depth is below today's outside.
   * @returns false where the sample is no flag of this unwind.
   */
  accept(sample: Sample, unwind: string, fromWebM: number): boolean {
    const [verb, of, roll] = sample.address.split('/')
    if (verb !== 'flag' || of !== unwind || (roll !== undefined && roll !== 'waiting')) return false
    const depthMm = typeof sample.value === 'number' ? sample.value : Number.parseFloat(String(sample.value ?? ''))
    if (!Number.isFinite(depthMm) || depthMm < 0 || sample.quality === 'bad') return true
    if (depthMm === 0) {
      if (roll === 'waiting') this.#waiting = []
      else this.#running = []
      return true
    }
    const flag = { depthM: depthMm / MM_PER_M, person: sample.person ?? '', enteredTMs: sample.tMs }
    if (roll === 'waiting') this.#waiting = [...this.#waiting, flag].slice(-MOST_FLAGS)
    else this.#running = [...this.#running, { ...flag, fromWebM }].slice(-MOST_FLAGS)
    return true
  }

  /**
   * @param fromWebM - web count at which the new roll was begun; @param lengthM - what the old one gave, where all of it was seen.
   * @param runningMps - speed at which the line last ran.
   */
  rollChanged(tMs: number, fromWebM: number, material: string, lengthM: number | undefined, runningMps?: number): void {
    if (runningMps !== undefined) this.#speedsMps = [...this.#speedsMps, runningMps].slice(-MOST_SPEEDS)
    this.#running = this.#waiting.map((flag) => ({ ...flag, fromWebM }))
    this.#waiting = []
    if (lengthM === undefined || !(lengthM >= LEAST_ROLL_M)) return
    const key = materialKey(material)
    const known = this.#lengths[key] ?? []
    remember(known, lengthM, tMs)
    delete this.#lengths[key]
    this.#lengths[key] = known
    const keys = Object.keys(this.#lengths)
    if (keys.length > MOST_MATERIALS) delete this.#lengths[keys[0]!]
  }

  /** Usual web from a roll's outside to its splice, m. @param otherwiseM - what to take where none of that material was seen. */
  usualLength(material: string, otherwiseM: number | undefined): UsualLength | undefined {
    const known = this.#lengths[materialKey(material)] ?? []
    const expectedM = otherwiseM ?? known[0]?.value
    if (expectedM === undefined) return undefined
    // What was seen counts in full: another roll's length is no evidence beside it.
    const priorM = known.length === 0 ? expectedM : known[0]!.value
    const { mean, sd } = believe(known, priorM, UNSEEN_SD_SHARE * priorM, ROLL_SCATTER_SHARE * priorM)
    return { material, lengthM: mean, sdM: sd, rolls: known.length }
  }

  /** What rolls of this material are staged by: medians, which neither a short roll nor a slow moment moves. */
  staging(material: string): Staging {
    const lengths = (this.#lengths[materialKey(material)] ?? []).map(({ value }) => value)
    return {
      rollM: lengths.length < LEAST_ROLLS ? undefined : median(lengths),
      speedMps: median(this.#speedsMps),
    }
  }

  snapshot(): AdviceMemoryState {
    return copyOf({
      running: this.#running,
      waiting: this.#waiting,
      lengths: this.#lengths,
      jointAtWebM: this.jointAtWebM ?? null,
      speedsMps: this.#speedsMps,
    })
  }

  restore(state: AdviceMemoryState | undefined): void {
    if (state === undefined) return
    const { running, waiting, lengths, jointAtWebM, speedsMps } = copyOf(state)
    this.#running = running
    this.#waiting = waiting
    this.#lengths = lengths
    this.#speedsMps = speedsMps
    this.jointAtWebM = jointAtWebM ?? undefined
  }
}
