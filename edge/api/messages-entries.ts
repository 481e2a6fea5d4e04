/** What people enter about rolls and jobs, as the API sends it: shared with the dashboard. Diameters and widths mm, lengths m. */
import type { MissingLink, RollFaultKind, Stage, Winding } from '../entries.ts'

/** How far the next roll is. */
export interface PreparationView {
  /** In order; `done_at` is null where it is not done or nobody said. */
  stages: { stage: Stage; done_at: string | null; usual_seconds: number }[]
  /** The PLC's word, else a person's; null where nothing is known. */
  ready: boolean | null
  /** The first thing that it still lacks; null where nothing is known to lack. */
  missing: MissingLink | null
}

/** The roll that waits, by a tag or by what a person entered. */
export interface WaitingRollView {
  roll_id: string | null
  material: string | null
  width: number | null
  /** In what it is not the roll that the job needs, each one sentence. */
  faults: { kind: RollFaultKind; text: string }[]
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
  faults: { kind: RollFaultKind; text: string }[]
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
