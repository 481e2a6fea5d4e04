/**
 * What people add to a splice: entries that are only ever appended, and what they come to. The machine's verdict stays as it
 * is beside them. Causes name a thing, never a person. Pure.
 */
import type { Cause, Outcome } from './columns.ts'
import type { SpliceDetails } from './splice-details.ts'

/** What it was, as a person found it. */
export const THINGS = [
  'tape_did_not_hold',
  'tape_misplaced',
  'edge_not_square',
  'edge_dropped',
  'tail_carried_along',
  'cut_incomplete',
  'knife_blunt',
  'vacuum_weak',
  'air_pressure_low',
  'clamp_slow',
  'sensor_misread',
  'setting_wrong',
  'old_roll_overran',
  'new_roll_slipped',
  'roll_telescoped',
  'core_crushed',
  'roll_out_of_round',
  'web_defect',
  'joint_in_roll',
  'tension_spike',
  'festoon_not_full',
  'line_too_fast',
  'roll_not_there',
  'guard_open',
  'control_fault',
  'other',
] as const
export type Thing = (typeof THINGS)[number]

/** What was done about it. */
export const DONE = [
  'knife_changed',
  'tape_changed',
  'vacuum_cleaned',
  'air_set',
  'sensor_cleaned',
  'rollers_cleaned',
  'clamp_repaired',
  'setting_changed',
  'roll_replaced',
  'edge_remade',
  'control_reset',
  'other',
] as const
export type Done = (typeof DONE)[number]

/** What counts as a service of the splicer too, by the item's key in the config. */
export const SERVICE_OF: Partial<Record<Done, string>> = {
  knife_changed: 'knife',
  tape_changed: 'tape',
  vacuum_cleaned: 'vacuum_filter',
}

/** A glove taps twice, and who reviews a splice ticks what was tapped just now: nothing is served twice in this time, ms. */
const SAME_TAP_MS = 120_000

/** Whether a service would be entered once more that is entered already. */
export const isSameTap = (enteredTMs: number | undefined, tMs: number): boolean =>
  enteredTMs !== undefined && tMs >= enteredTMs && tMs - enteredTMs < SAME_TAP_MS

/** A second entry in that time counts as the first one; it may bring the batch that the first one lacked. */
export const addsNote = (entered: { note: string }, note: string): boolean => entered.note === '' && note !== ''

/** Why a splice came early: until somebody says, it is not said. */
export const EARLY_REASONS = ['job_change', 'defect', 'operator', 'mistake', 'machine_fault'] as const
export type EarlyReason = (typeof EARLY_REASONS)[number]
/** What became of the web left on the old core. */
export const RESTS = ['waste', 'returned', 'rerun'] as const
export type Rest = (typeof RESTS)[number]

/** Web that a splice cost, kept apart: on the core, tail to the knife, outer loss, returned, cut out of the product. */
export const WASTE_PARTS = ['core', 'tail', 'slab', 'stub', 'cut_out'] as const
export type WastePart = (typeof WASTE_PARTS)[number]

/** What a person says at once; a field that is null says nothing. */
export interface EntryFields {
  outcome: Outcome | null
  cause: Cause | null
  thing: Thing | null
  done: Done[]
  note: string | null
  /** When good product came again, ISO 8601. */
  good_product: string | null
  early_reason: EarlyReason | null
  rest: Rest | null
  amounts: { part: WastePart; metres: number }[]
  /** Between the two webs at the joint, measured with a rule, mm; below 0 they overlap. No signal sees it. */
  gap: number | null
}

export interface SpliceEntry extends EntryFields {
  /** No two entries of a splice have the same: an entry is named by it. */
  time: string
  person: string
  /** This entry made the record: no signal saw the splice. */
  by_hand: boolean
  /** The time of the entry that this one takes back, and all that it says; null where it takes none back. */
  takes_back: string | null
}

/** An entry as it stands among the others: one that was taken back is kept, and says nothing any more. */
export interface StandingEntry extends SpliceEntry {
  taken_back: { time: string; person: string } | null
}

export interface SpliceReview {
  /** Null where nobody said otherwise than the machine. A changed outcome brings its own cause. */
  outcome: Outcome | null
  cause: Cause | null
  thing: Thing | null
  done: Done[]
  good_product: string | null
  early_reason: EarlyReason | null
  rest: Rest | null
  amounts: { part: WastePart; metres: number }[]
  gap: number | null
  by_hand: boolean
  /** Oldest first, with those that were taken back and those that took them back. */
  entries: StandingEntry[]
}

/**
 * @returns null where nobody has added anything. Of what contradicts, the newest counts; what was taken back counts as never
 * said, but a record that a person made stays one that no signal saw.
 */
export function reviewOf(all: readonly SpliceEntry[]): SpliceReview | null {
  if (all.length === 0) return null
  const back = new Map(all.flatMap((entry) => (entry.takes_back == null ? [] : [[entry.takes_back, entry] as const])))
  const entries = all.filter(({ time }) => !back.has(time))
  const newest = <K extends keyof EntryFields>(key: K): EntryFields[K] | null =>
    entries.findLast((entry) => entry[key] != null)?.[key] ?? null
  const verdict = entries.findLast(({ outcome }) => outcome !== null)
  const amounts = new Map(entries.flatMap((entry) => entry.amounts).map((amount) => [amount.part, amount]))
  return {
    outcome: verdict?.outcome ?? null,
    cause: verdict?.cause ?? null,
    thing: newest('thing'),
    done: [...new Set(entries.flatMap(({ done }) => done))],
    good_product: newest('good_product'),
    early_reason: newest('early_reason'),
    rest: newest('rest'),
    amounts: WASTE_PARTS.flatMap((part) => amounts.get(part) ?? []),
    gap: newest('gap'),
    by_hand: all.some(({ by_hand }) => by_hand),
    entries: all.map((entry) => {
      const by = back.get(entry.time)
      return {
        ...entry,
        // Those from before gaps were asked for, or before anything could be taken back, have none.
        gap: entry.gap ?? null,
        takes_back: entry.takes_back ?? null,
        taken_back: by === undefined ? null : { time: by.time, person: by.person },
      }
    }),
  }
}

/** What people noted and nobody took back, oldest first. */
export const notesOf = (review: SpliceReview | null): string[] =>
  review?.entries.flatMap(({ note, taken_back }) => (note === null || taken_back !== null ? [] : [note])) ?? []

/** Entered by hand, and taken back: there was no such splice. */
export const isTakenBack = ({ outcome, review }: Pick<Reviewed, 'outcome' | 'review'>): boolean =>
  outcome === null && review?.by_hand === true && review.outcome === null

/** What people found, did and noted about a splice, for lists: without who. Notes oldest first. */
export interface PeopleSaid {
  thing: Thing | null
  done: Done[]
  notes: string[]
}

export const peopleSaidOf = (review: SpliceReview | null): PeopleSaid => ({
  thing: review?.thing ?? null,
  done: review?.done ?? [],
  notes: notesOf(review),
})

/** What is needed of a record here. */
interface Reviewed {
  started: string
  outcome: Outcome | null
  cause: Cause | null
  flags: string
  left_on_roll: number | null
  details: SpliceDetails
  review: SpliceReview | null
}

/** The verdict that counts: a person's, else the machine's. */
export const verdictOf = ({ outcome, cause, review }: Pick<Reviewed, 'outcome' | 'cause' | 'review'>) =>
  review?.outcome == null ? { outcome, cause } : { outcome: review.outcome, cause: review.cause }

/** The verdict that counts, for lists, and which word of it is people's. */
export interface ListedVerdict {
  outcome: Outcome | null
  cause: Cause | null
  is_outcome_said: boolean
  is_cause_said: boolean
}

export const listedVerdict = (splice: Judged): ListedVerdict => ({
  ...verdictOf(splice),
  is_outcome_said: isOutcomeSaid(splice),
  is_cause_said: isCauseSaid(splice),
})

type Judged = Pick<Reviewed, 'outcome' | 'cause' | 'review'>

/** Whether people changed the outcome itself; one entered by hand is theirs. */
export const isOutcomeSaid = ({ outcome, review }: Judged): boolean =>
  review !== null && review.outcome !== null && (review.by_hand || review.outcome !== outcome)

/** Whether people changed the cause. */
export const isCauseSaid = ({ cause, review }: Judged): boolean =>
  review !== null && review.outcome !== null && review.cause !== null && (review.by_hand || review.cause !== cause)

/** From the line's stop, else from the splice's start, until good product came, s; null until somebody tapped. */
export function goodProductSeconds({ started, details, review }: Reviewed): number | null {
  if (review?.good_product == null) return null
  return (Date.parse(review.good_product) - Date.parse(details.line_fell ?? started)) / 1000
}

export interface WasteRow {
  /** `not_said`: left on the core of an early splice, until somebody says what became of it. */
  part: WastePart | 'not_said'
  metres: number
  kilograms: number | null
  cost: number | null
  currency: string | null
  by: 'measured' | 'person'
}

/** What the splice cost in web. A returned stub is in the list, and is no waste. */
export function wasteOf(splice: Reviewed): WasteRow[] {
  const { details, review, left_on_roll } = splice
  const { kilograms_per_metre: kgPerM, price_per_metre: pricePerM, currency } = details
  const said = new Map(review?.amounts.map(({ part, metres }) => [part, metres]))
  const row = (part: WasteRow['part'], metres: number, by: WasteRow['by']): WasteRow => ({
    part,
    metres,
    kilograms: kgPerM === null ? null : metres * kgPerM,
    cost: pricePerM === null ? null : metres * pricePerM,
    currency: pricePerM === null ? null : currency,
    by,
  })
  const rows: WasteRow[] = []
  const restPart = restPartOf(splice)
  if (left_on_roll !== null && restPart !== undefined && !(restPart !== 'not_said' && said.has(restPart))) {
    rows.push(row(restPart, left_on_roll, 'measured'))
  }
  if (details.tail !== null && details.tail > 0 && !said.has('tail')) rows.push(row('tail', details.tail, 'measured'))
  return [...rows, ...[...said].map(([part, metres]) => row(part, metres, 'person'))]
}

/** Where the web on the old core counts; undefined where it is run again. */
function restPartOf({ flags, review }: Reviewed): WasteRow['part'] | undefined {
  const rest = review?.rest ?? (flags.split(';').includes('early') ? null : 'waste')
  if (rest === null) return 'not_said'
  return rest === 'waste' ? 'core' : rest === 'returned' ? 'stub' : undefined
}
