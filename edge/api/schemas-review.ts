/** What people add to a splice as JSON Schema; the compiler checks it against `splice-review.ts`. */
import { type Static, Type } from 'typebox'
import { CAUSES, OUTCOMES } from '../columns.ts'
import {
  DONE,
  EARLY_REASONS,
  RESTS,
  type SpliceReview,
  type StandingEntry,
  THINGS,
  WASTE_PARTS,
} from '../splice-review.ts'
import {
  type Holds,
  nullable,
  number,
  numberOrNull,
  oneOf,
  orNull,
  type Same,
  text,
  textOrNull,
  time,
  timeOrNull,
} from './schema-parts.ts'

export const NOTE_MAX_LENGTH = 2000
/** More web than any roll holds, m. */
const MOST_METRES = 100_000
/** Wider or more overlapped is no joint, mm. */
const MOST_GAP = 200

const fields = {
  outcome: nullable(OUTCOMES, 'What it was, where a person says otherwise'),
  cause: nullable(CAUSES, 'Its cause by rule'),
  thing: nullable(THINGS, 'The thing that caused it'),
  done: Type.Array(oneOf(DONE), { description: 'What was done about it' }),
  good_product: timeOrNull('When good product came again'),
  early_reason: nullable(EARLY_REASONS, 'Why it came early'),
  rest: nullable(RESTS, 'What became of the web on the old core'),
  amounts: Type.Array(Type.Object({ part: oneOf(WASTE_PARTS), metres: number('Web, m') }), {
    description: 'Web that a person measured or cut out',
  }),
  gap: numberOrNull('Between the two webs at the joint, mm; below 0 they overlap'),
}

/** For lists. */
export const LISTED_VERDICT = {
  outcome: nullable(OUTCOMES, 'What became of it, by a person’s word first'),
  cause: nullable(CAUSES, 'Why, likewise'),
  is_outcome_said: Type.Boolean({ description: 'People changed the outcome, or entered it by hand' }),
  is_cause_said: Type.Boolean({ description: 'People changed the cause, or entered it by hand' }),
}

/** For lists: without who. */
export const PEOPLE_SAID = {
  thing: fields.thing,
  done: fields.done,
  notes: Type.Array(Type.String(), { description: 'What people noted, oldest first, without who' }),
}

const StandingEntrySchema = Type.Object({
  ...fields,
  note: textOrNull('In words'),
  time: time('When it was entered; it names the entry within its splice'),
  person: text('By whom'),
  by_hand: Type.Boolean({ description: 'It made the record: no signal saw the splice' }),
  takes_back: timeOrNull('The time of the entry that this one takes back, and all that it says'),
  taken_back: orNull(
    Type.Object({ time: time('When'), person: text('By whom') }),
    'Who took it back: it stays here and counts as never said',
  ),
})

export const SpliceReviewSchema = Type.Object(
  {
    ...fields,
    by_hand: Type.Boolean({ description: 'No signal saw the splice: a person entered it' }),
    entries: Type.Array(StandingEntrySchema, { description: 'Oldest first; nothing is ever overwritten' }),
  },
  { $id: 'SpliceReview' },
)

const asked = <T extends string>(values: readonly T[], description: string) => Type.Optional(oneOf(values, description))

/** What a person sends: any of these, at least one. */
export const EntryBody = {
  outcome: asked(OUTCOMES, 'What it was, where the verdict is wrong'),
  cause: asked(CAUSES, 'Its cause by rule'),
  thing: asked(THINGS, 'The thing that caused it'),
  done: Type.Optional(Type.Array(oneOf(DONE), { maxItems: DONE.length, description: 'What was done about it' })),
  note: Type.Optional(Type.String({ maxLength: NOTE_MAX_LENGTH, description: 'In words; name no persons' })),
  good_product: Type.Optional(Type.Boolean({ description: 'true: good product comes now' })),
  early_reason: asked(EARLY_REASONS, 'Why it came early'),
  rest: asked(RESTS, 'What became of the web on the old core'),
  amounts: Type.Optional(
    Type.Array(
      Type.Object(
        { part: oneOf(WASTE_PARTS), metres: Type.Number({ minimum: 0, maximum: MOST_METRES, description: 'm' }) },
        { additionalProperties: false },
      ),
      { maxItems: WASTE_PARTS.length, description: 'Web that was measured or cut out' },
    ),
  ),
  gap: Type.Optional(
    Type.Number({
      minimum: -MOST_GAP,
      maximum: MOST_GAP,
      description: 'Between the two webs at the joint, mm; below 0 they overlap',
    }),
  ),
}

export type ReviewMatch = [
  Holds<Same<Static<typeof StandingEntrySchema>, StandingEntry>>,
  Holds<Same<Static<typeof SpliceReviewSchema>, SpliceReview>>,
]
