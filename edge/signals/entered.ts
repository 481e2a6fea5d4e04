/**
 * What people entered about one unwind, as it holds now: ready, the stages of preparation, the roll that waits, the job. Pure.
 *
 * What was said of the waiting roll is true of the running one after the next change of rolls.
 */
import { type JobFields, type RollFields, STAGES, type Stage, WINDINGS } from '../entries.ts'
import { copyOf } from '../plain-data.ts'
import type { RawValue, Sample } from '../sample.ts'

/** A text that a person enters is no longer than this. */
const LONGEST_TEXT = 200
const MM_PER_M = 1000

/** A roll by its label, in SI; with the time of the last entry about it and who made it. */
export interface EnteredRoll {
  rollId?: string
  material?: string
  diameterM?: number
  lengthM?: number
  widthM?: number
  winding?: NonNullable<RollFields['winding']>
  isOnHold?: boolean
  tMs: number
  person: string
}

export interface EnteredJob {
  material?: string
  widthM?: number
  winding?: NonNullable<JobFields['winding']>
  /** Web that it needed when that was entered, and the line's web count then, m. */
  remaining?: { lengthM: number; atWebM: number }
  tMs: number
  person: string
}

export interface EnteredState {
  ready: { ready: boolean; tMs: number } | null
  stages: Partial<Record<Stage, number>>
  usesStages: boolean
  waiting: EnteredRoll | null
  running: EnteredRoll | null
  job: EnteredJob | null
}

const isTrue = (value: RawValue | undefined): boolean =>
  value === true || value === '1' || value === 1 || String(value).toLowerCase() === 'true'

const textOf = (value: RawValue | undefined): string | undefined => {
  const text = value === undefined ? '' : String(value).trim()
  return text === '' ? undefined : text.slice(0, LONGEST_TEXT)
}

const positiveOf = (value: RawValue | undefined): number | undefined => {
  const number = typeof value === 'number' ? value : Number.parseFloat(String(value ?? ''))
  return Number.isFinite(number) && number > 0 ? number : undefined
}

const windingOf = (value: RawValue | undefined) => WINDINGS.find((winding) => winding === String(value).trim())
const metresOf = (value: RawValue | undefined, factor = 1): number | undefined => {
  const number = positiveOf(value)
  return number === undefined ? undefined : number / factor
}

export class Entered {
  readonly #unwind: string
  #ready: { ready: boolean; tMs: number } | undefined
  /** When each stage was done, ms. */
  #stages: Partial<Record<Stage, number>> = {}
  #usesStages = false
  #waiting: EnteredRoll | undefined
  #running: EnteredRoll | undefined
  #job: EnteredJob | undefined

  constructor(unwind: string) {
    this.#unwind = unwind
  }

  get ready(): boolean | undefined {
    return this.#ready?.ready
  }
  get readyTMs(): number | undefined {
    return this.#ready?.ready === true ? this.#ready.tMs : undefined
  }
  get stages(): Readonly<Partial<Record<Stage, number>>> {
    return this.#stages
  }
  /** Somebody here says stage by stage how far the next roll is; where nobody ever does, their absence says nothing. */
  get usesStages(): boolean {
    return this.#usesStages
  }
  get waiting(): Readonly<EnteredRoll> | undefined {
    return this.#waiting
  }
  get running(): Readonly<EnteredRoll> | undefined {
    return this.#running
  }
  get job(): Readonly<EnteredJob> | undefined {
    return this.#job
  }

  /** Web that the job still needs when the line has taken `webM` in all, m; undefined where nobody said. */
  jobRemainingM(webM: number): number | undefined {
    const remaining = this.#job?.remaining
    return remaining === undefined ? undefined : Math.max(0, remaining.lengthM - (webM - remaining.atWebM))
  }

  /**
   * @param webM - web that the line has taken until now, m.
   * @returns false where the sample is no entry of this kind about this unwind.
   */
  accept(sample: Sample, webM: number): boolean {
    const [verb, unwind, field = ''] = sample.address.split('/')
    if (unwind !== this.#unwind) return false
    const value = sample.quality === 'bad' ? undefined : sample.value
    if (verb === 'ready') this.#ready = { ready: isTrue(value), tMs: sample.tMs }
    else if (verb === 'stage') this.#takeStage(field, isTrue(value), sample.tMs)
    else if (verb === 'waiting') this.#takeRoll(field, value, sample)
    else if (verb === 'job') this.#takeJob(field, value, sample, webM)
    else return false
    return true
  }

  #takeStage(name: string, isDone: boolean, tMs: number): void {
    const place = (STAGES as readonly string[]).indexOf(name)
    if (place < 0) return
    this.#usesStages = true
    if (isDone) {
      // A later stage cannot be done before an earlier one: what was not tapped was done by then.
      for (const stage of STAGES.slice(0, place + 1)) this.#stages[stage] ??= tMs
    } else for (const stage of STAGES.slice(place)) delete this.#stages[stage]
  }

  #takeRoll(field: string, value: RawValue | undefined, { tMs, person = '' }: Sample): void {
    const roll: EnteredRoll = { ...this.#waiting, tMs, person }
    if (field === 'roll_id') set(roll, 'rollId', textOf(value))
    else if (field === 'material') set(roll, 'material', textOf(value))
    else if (field === 'diameter') set(roll, 'diameterM', metresOf(value, MM_PER_M))
    else if (field === 'length') set(roll, 'lengthM', metresOf(value))
    else if (field === 'width') set(roll, 'widthM', metresOf(value, MM_PER_M))
    else if (field === 'winding') set(roll, 'winding', windingOf(value))
    else if (field === 'hold') set(roll, 'isOnHold', isTrue(value) || undefined)
    else return
    // Nothing but the time and the name is left: it was taken back.
    this.#waiting = Object.keys(roll).length > 2 ? roll : undefined
  }

  #takeJob(field: string, value: RawValue | undefined, { tMs, person = '' }: Sample, webM: number): void {
    const job: EnteredJob = { ...this.#job, tMs, person }
    if (field === 'material') set(job, 'material', textOf(value))
    else if (field === 'width') set(job, 'widthM', metresOf(value, MM_PER_M))
    else if (field === 'winding') set(job, 'winding', windingOf(value))
    else if (field === 'remaining') {
      const lengthM = metresOf(value)
      set(job, 'remaining', lengthM === undefined ? undefined : { lengthM, atWebM: webM })
    } else return
    this.#job = Object.keys(job).length > 2 ? job : undefined
  }

  /** Another roll runs: what was prepared is used, and what was said of the waiting roll is true of it. */
  rollChanged(): void {
    this.#ready = undefined
    this.#stages = {}
    this.#running = this.#waiting
    this.#waiting = undefined
  }

  snapshot(): EnteredState {
    return copyOf({
      ready: this.#ready ?? null,
      stages: this.#stages,
      usesStages: this.#usesStages,
      waiting: this.#waiting ?? null,
      running: this.#running ?? null,
      job: this.#job ?? null,
    })
  }

  restore(state: EnteredState): void {
    const { ready, stages, usesStages, waiting, running, job } = copyOf(state)
    this.#ready = ready ?? undefined
    this.#stages = stages
    this.#usesStages = usesStages
    this.#waiting = waiting ?? undefined
    this.#running = running ?? undefined
    this.#job = job ?? undefined
  }
}

function set<T extends object, K extends keyof T>(object: T, key: K, value: T[K] | undefined): void {
  if (value === undefined) delete object[key]
  else object[key] = value
}
