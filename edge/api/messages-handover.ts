import type { Words } from '../messages/render.ts'
import type { ListedVerdict, PeopleSaid } from '../splice-review.ts'
import type { LogEntry, ServiceView } from '../trend-views.ts'
import type { AlarmView, NextSpliceView, Reason, UnwindView } from './messages.ts'
import type { PreparationView, WaitingRollView } from './messages-entries.ts'

export interface HandoverView {
  time: string
  /** When the present shift began by the config's times. */
  shift_began: string
  unwinds: {
    unwind: string
    name: string
    /** Within the next hour; null where there is no estimate, or the line stands: their times are then not known. */
    splices: Pick<NextSpliceView, 'seconds' | 'seconds_low' | 'seconds_high' | 'roll' | 'material'>[] | null
    preparation: PreparationView
    waiting_roll: WaitingRollView | null
    /** Rolls needed until the job ends that neither run nor wait; null unknown. */
    rolls_to_stage: number | null
    job_remaining: number | null
    /** As the unwind's view has it: no further roll is needed. */
    job_end: UnwindView['job_end']
  }[]
  /** Left on a core after a splice that came early, or to be returned or run again, in this shift; what nobody said is null. */
  stubs: { id: string; unwind: string; started: string; material: string | null; metres: number; rest: string | null }[]
  standing: AlarmView[]
  aside: AlarmView[]
  /** Rolls that the job could not take and that were spliced in all the same, in this shift: what was made of them has to be looked at. */
  wrong_rolls: AlarmView[]
  /** Newest first. */
  notes: LogEntry[]
  /** Settings, services and what was called usual in this shift, newest first. */
  changes: LogEntry[]
  /**
   * Splices of this shift that failed, were missed or aborted, newest first, at most five with the newest of each kind among them;
   * where there was none, the last one before. With what is suspected, and what people found, did and noted.
   */
  last_bad: ({
    id: string
    unwind: string
    started: string
    suspicion: Reason | null
  } & ListedVerdict &
    PeopleSaid)[]
  /** What is changed or cleaned now and then, with splices since. */
  services: ServiceView[]
  /** Passed a station that takes joints out, and nobody said that it was. */
  joints: { id: string; unwind: string; station: string; arrived: string | null }[]
  /** Who took over last; `from` is who was signed in, where it was another one. */
  taken_over: LogEntry | null
}

export interface HandoverPort {
  view(): HandoverView
  /** @param unwind - empty where it is about the whole site. */
  note(text: string, unwind: string, person: string): void
  /** @returns one sentence where there is no such open note. */
  closeNote(id: string, person: string): Words | undefined
  /** @param signedIn - who was signed in, where it was another one. */
  takeOver(note: string, person: string, signedIn: string | null): void
}
