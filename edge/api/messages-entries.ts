/** What people enter about rolls and jobs, as the API sends it: shared with the dashboard. Diameters and widths mm, lengths m. */
import type { AlarmId } from '../columns.ts'
import type {
  JobFields,
  MissingLink,
  ReadLabel,
  RollCheck,
  RollFaultKind,
  RollFields,
  Stage,
  Winding,
} from '../entries.ts'
import type { Words } from '../messages/render.ts'

/** How far the next roll is. */
export interface PreparationView {
  /**
   * In order; `done_at` is null where it is not done or nobody said. `by_hand`: only a person's tap says that it is done, and
   * another takes it back.
   */
  stages: { stage: Stage; done_at: string | null; usual_seconds: number; by_hand: boolean }[]
  /** The PLC's word, else a person's; null where nothing is known. */
  ready: boolean | null
  /** What the stages that are open take, usually and at least, s: with less time than that no roll gets ready. */
  left_seconds: number
  least_seconds: number
  /** The first thing that it still lacks; null where nothing is known to lack. */
  missing: MissingLink | null
}

/** The roll that waits, by a tag or by what a person entered. */
export interface WaitingRollView {
  roll_id: string | null
  material: string | null
  width: number | null
  /** In what it is not the roll that the job needs, each one sentence. */
  faults: { kind: RollFaultKind; text: string; words: Words }[]
  /** What the job asks for and its label, as a person entered it, does not say. */
  unchecked: RollCheck[]
}

/** A roll as a person entered it from its label. */
export interface EnteredRollView {
  roll_id: string | null
  material: string | null
  diameter: number | null
  length: number | null
  width: number | null
  winding: Winding | null
  hold: boolean
  entered: string
  person: string
}

/** Everything that was entered about one unwind, and what follows from it. */
export interface EntriesView {
  time: string
  unwind: string
  waiting: EnteredRollView | null
  running: EnteredRollView | null
  /** In what the waiting roll is not the one that the job needs, each one sentence. */
  faults: { kind: RollFaultKind; text: string; words: Words }[]
  /** What the job asks for and the label of the waiting roll, as a person entered it, does not say. */
  unchecked: RollCheck[]
  job: {
    /** What the job asks of a roll, entered or by the config; null is nothing. */
    material: string | null
    width: number | null
    winding: Winding | null
    /** Web that it still needs now, m: by a tag, else as entered less what ran since. */
    remaining: number | null
    /** The figure comes from a tag: nobody has to enter it. */
    remaining_by_tag: boolean
    entered: string | null
    person: string | null
  }
  /** Which rolls the site knows by name, for choosing one. */
  materials: string[]
}

/** What a person enters, with who did it. */
export type EntryCommand =
  /** Puts an alarm that stands aside for so many seconds; 0 ends it. */
  | { kind: 'shelve'; unwind: string; alarm: AlarmId; seconds: number; person: string }
  | { kind: 'stage'; unwind: string; stage: Stage; done: boolean; person: string }
  /** All that is known of the roll that waits; what is undefined is not known. */
  | { kind: 'waiting_roll'; unwind: string; roll: RollFields; person: string }
  /** What is undefined is left as it was, null takes it back. */
  | { kind: 'job'; unwind: string; job: { [F in keyof JobFields]: JobFields[F] | null }; person: string }

export interface EntriesPort {
  /** Undefined where there is no such unwind. */
  entries(unwind: string): EntriesView | undefined
  /** What a scanned code says of a roll, and whether it is a label at all. */
  readLabel(code: string): ReadLabel
}
