/** The shapes of `messages-entries.ts` as JSON Schema. */
import { type Static, Type } from 'typebox'
import { MISSING_LINKS, ROLL_CHECKS, ROLL_FAULTS, STAGES, WINDINGS } from '../entries.ts'
import type { UnwindView } from './messages.ts'
import type { EntriesView, PreparationView, WaitingRollView } from './messages-entries.ts'
import {
  type Holds,
  named,
  nullable,
  number,
  numberOrNull,
  oneOf,
  type Same,
  text,
  textOrNull,
  time,
  timeOrNull,
  words,
} from './schema-parts.ts'

const RollFaults = Type.Array(
  Type.Object({ kind: oneOf(ROLL_FAULTS), text: text('What is wrong and what to do'), words }),
  {
    description: 'In what the waiting roll is not the one that the job needs',
  },
)

const Unchecked = Type.Array(oneOf(ROLL_CHECKS), {
  description: 'What the job asks for and the label of the waiting roll, as a person entered it, does not say',
})

export const PreparationSchema = Type.Object({
  stages: Type.Array(
    Type.Object({
      stage: oneOf(STAGES),
      done_at: timeOrNull('When it was done; null where it is not, or nobody said'),
      usual_seconds: Type.Number({ description: 'How long it usually takes, s' }),
      by_hand: Type.Boolean({ description: "Only a person's tap says that it is done" }),
    }),
  ),
  ready: Type.Unsafe<boolean | null>({ type: ['boolean', 'null'], description: 'Null where nothing is known' }),
  left_seconds: Type.Number({ description: 'What the stages that are open usually take, s' }),
  least_seconds: Type.Number({ description: 'With less time than this the next roll does not get ready, s' }),
  missing: nullable(MISSING_LINKS, 'The first thing that the next roll lacks'),
})

export const WaitingRollSchema = Type.Unsafe<WaitingRollView | null>({
  anyOf: [
    Type.Object({
      roll_id: textOrNull('Number of the roll'),
      material: textOrNull("Material's number"),
      width: numberOrNull('Width of the web, mm'),
      faults: RollFaults,
      unchecked: Unchecked,
    }),
    { type: 'null' },
  ],
  description: 'Null where nothing says that a roll waits',
})

export const JobEnd = Type.Unsafe<UnwindView['job_end']>({
  anyOf: [
    Type.Object({
      metres: number('Web that the job still needs, m'),
      seconds: numberOrNull('How long that takes, s; null while the line stands'),
    }),
    { type: 'null' },
  ],
  description: 'The job ends before the next splice, beyond doubt: no further roll is asked for',
})

const EnteredRoll = (description: string) =>
  Type.Unsafe<EntriesView['waiting']>({
    anyOf: [
      Type.Object({
        roll_id: textOrNull('Number of the roll'),
        material: textOrNull("Material's number"),
        diameter: numberOrNull('Outside diameter, mm'),
        length: numberOrNull('Length on the label, m'),
        width: numberOrNull('Width of the web, mm'),
        winding: nullable(WINDINGS, 'Which way the printed or coated side faces'),
        hold: Type.Boolean({ description: 'Quality has not released it' }),
        entered: time('When somebody last entered something about it'),
        person: text('Who'),
      }),
      { type: 'null' },
    ],
    description,
  })

export const EntriesViewSchema = Type.Object(
  {
    time: time('Of this answer'),
    unwind: text('Id of the unwind'),
    waiting: EnteredRoll('The roll that waits, as entered; null where nothing was'),
    running: EnteredRoll('The roll that runs, as it was entered while it waited'),
    faults: RollFaults,
    unchecked: Unchecked,
    job: Type.Object({
      material: textOrNull('What a roll must be'),
      width: numberOrNull('Width that it must have, mm'),
      winding: nullable(WINDINGS, 'How it must be wound'),
      remaining: numberOrNull('Web that the job still needs now, m'),
      remaining_by_tag: Type.Boolean({ description: 'A tag says it: nobody has to enter it' }),
      entered: timeOrNull('When somebody last entered something about the job'),
      person: textOrNull('Who'),
    }),
    materials: Type.Array(Type.String(), { description: 'Materials that the config knows' }),
  },
  { $id: 'EntriesView' },
)

export const EntriesViewRef = named(EntriesViewSchema)

// The compiler refuses this where a schema and its interface differ.
export type EntrySchemasMatch = [
  Holds<Same<Static<typeof EntriesViewSchema>, EntriesView>>,
  Holds<Same<Static<typeof PreparationSchema>, PreparationView>>,
]
