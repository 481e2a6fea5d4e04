/**
 * The built-in source for what people enter: roll ready, stages, roll data, flags in a roll, the job, acknowledgements. Each entry
 * is a sample with its time and person, recorded and replayed like any tag; `../entries.ts` names them.
 */
import type { Clock } from '../clock.ts'
import { OPERATOR_SOURCE } from '../config/config.ts'
import {
  acknowledgeAddress,
  type FlaggedRoll,
  flagAddress,
  JOB_FIELDS,
  type JobFields,
  jobAddress,
  jointOutAddress,
  ROLL_FIELDS,
  type RollFields,
  readyAddress,
  type Stage,
  shelveAddress,
  stageAddress,
  waitingAddress,
} from '../entries.ts'
import type { RawValue, Sample } from '../sample.ts'
import type { Source, SourceHealth, SourceListener } from './source.ts'

export class OperatorSource implements Source {
  readonly name = OPERATOR_SOURCE
  readonly #clock: Clock
  readonly #sinceTMs: number
  #listener: SourceListener | undefined

  constructor(clock: Clock) {
    this.#clock = clock
    this.#sinceTMs = clock.nowMs()
  }

  async start(listener: SourceListener): Promise<void> {
    this.#listener = listener
    listener.state(this.name, this.health())
  }

  async stop(): Promise<void> {
    this.#listener = undefined
  }

  health(): SourceHealth {
    return {
      name: this.name,
      kind: 'operator',
      state: this.#listener === undefined ? 'stopped' : 'connected',
      trouble: undefined,
      sinceTMs: this.#sinceTMs,
      clockOffsetMs: 0,
      tags: [],
    }
  }

  /** A person says that the waiting roll of an unwind is prepared, or takes it back. */
  ready(unwind: string, isReady: boolean, person: string): Sample {
    return this.#enter(readyAddress(unwind), isReady, person)
  }

  /** A stage of the preparation is done, or that is taken back. */
  stage(unwind: string, stage: Stage, isDone: boolean, person: string): Sample {
    return this.#enter(stageAddress(unwind, stage), isDone, person)
  }

  /** All that is known of the waiting roll: what is undefined takes back what was said of it before. */
  waitingRoll(unwind: string, roll: RollFields, person: string): Sample[] {
    return ROLL_FIELDS.map((field) => this.#enter(waitingAddress(unwind, field), roll[field] ?? '', person))
  }

  /** What the job needs: undefined leaves what was said before, null takes it back. */
  job(unwind: string, job: { [F in keyof JobFields]: JobFields[F] | null }, person: string): Sample[] {
    return JOB_FIELDS.filter((field) => job[field] !== undefined).map((field) =>
      this.#enter(jobAddress(unwind, field), job[field] ?? '', person),
    )
  }

  /** A joint or defect inside a roll, mm below its outside when it was loaded; 0 takes back all of that roll. */
  flag(unwind: string, roll: FlaggedRoll, depthMm: number, person: string): Sample {
    return this.#enter(flagAddress(unwind, roll), depthMm, person)
  }

  /** A person says that the joint of a splice was taken out at a station. */
  jointOut(unwind: string, joint: string, station: string, person: string): Sample {
    return this.#enter(jointOutAddress(unwind, station), joint, person)
  }

  /** A person has seen an alarm; `unwind` is empty where it is site-wide. */
  acknowledge(unwind: string, alarm: string, person: string, comment = ''): Sample {
    return this.#enter(acknowledgeAddress(unwind, alarm), comment, person)
  }

  /** Puts an alarm aside for so many seconds; 0 ends it. */
  shelve(unwind: string, alarm: string, seconds: number, person: string): Sample {
    return this.#enter(shelveAddress(unwind, alarm), seconds, person)
  }

  /** Something was changed or cleaned at a splicer; the note may be a batch. @param tMs - of an entry that told of it. */
  service(unwind: string, item: string, note: string, person: string, tMs?: number): Sample {
    return this.#enter(`service/${unwind}/${item}`, note, person, tMs)
  }

  /** It was not. @param time - when that was entered, ISO 8601. */
  serviceTakenBack(unwind: string, item: string, time: string, person: string): Sample {
    return this.#enter(`service_taken_back/${unwind}/${item}`, time, person)
  }

  /** The present level of a metric is the usual one from now on. */
  usual(unwind: string, metric: string, note: string, person: string): Sample {
    return this.#enter(`usual/${unwind}/${metric}`, note, person)
  }

  #enter(address: string, value: RawValue, person: string, tMs?: number): Sample {
    const nowMs = this.#clock.nowMs()
    const sample: Sample = {
      source: this.name,
      address,
      value,
      quality: 'good',
      tMs: tMs ?? nowMs,
      arrivalTMs: nowMs,
      person,
    }
    this.#listener?.sample(sample)
    return sample
  }
}
