/** The shape of `messages-handover.ts` as JSON Schema. */
import { type Static, Type } from 'typebox'
import type { HandoverView } from './messages-handover.ts'
import {
  type Holds,
  named,
  number,
  numberOrNull,
  oneOf,
  orNull,
  type Same,
  sentences,
  text,
  textOrNull,
  time,
  timeOrNull,
} from './schema-parts.ts'
import { AlarmViewRef } from './schemas.ts'
import { JobEnd, PreparationSchema, WaitingRollSchema } from './schemas-entries.ts'
import { LISTED_VERDICT, PEOPLE_SAID } from './schemas-review.ts'
import { LogEntryRef, ServiceViewRef } from './schemas-trends.ts'

export const HandoverViewSchema = Type.Object(
  {
    time: time('Of this answer'),
    shift_began: time('When the present shift began'),
    unwinds: Type.Array(
      Type.Object({
        unwind: text('Id of the unwind'),
        name: text('Name on screens'),
        splices: orNull(
          Type.Array(
            Type.Object({
              seconds: numberOrNull('Until then, s'),
              seconds_low: numberOrNull('Low end of the central 80 % interval, s'),
              seconds_high: numberOrNull('High end, s'),
              roll: oneOf(['running', 'waiting', 'usual'] as const, 'Which roll it ends'),
              material: text("Material's number"),
            }),
          ),
          'Within the next hour; null where their times are not known',
        ),
        preparation: PreparationSchema,
        waiting_roll: WaitingRollSchema,
        rolls_to_stage: numberOrNull('Rolls needed that neither run nor wait'),
        job_remaining: numberOrNull('Web that the job still needs, m'),
        job_end: JobEnd,
      }),
    ),
    stubs: Type.Array(
      Type.Object({
        id: text("The splice's id"),
        unwind: text('Id of the unwind'),
        started: time('When the splice began'),
        material: textOrNull("Material's number"),
        metres: number('Web left on the core, m'),
        rest: textOrNull('What a person says becomes of it'),
      }),
      { description: 'Left on cores in this shift by early splices, or to be returned or run again' },
    ),
    standing: Type.Array(AlarmViewRef),
    aside: Type.Array(AlarmViewRef),
    wrong_rolls: Type.Array(AlarmViewRef, {
      description: 'Rolls that the job could not take and that were spliced in, in this shift',
    }),
    notes: Type.Array(LogEntryRef, { description: 'Open notes, newest first' }),
    changes: Type.Array(LogEntryRef, { description: 'Settings, services and trends of this shift, newest first' }),
    last_bad: Type.Array(
      Type.Object({
        id: text("The splice's id"),
        unwind: text('Id of the unwind'),
        started: time('When it began'),
        ...LISTED_VERDICT,
        suspicion: orNull(
          Type.Object({ text: text('What the evidence says'), words: sentences }),
          'Null where nothing is suspected',
        ),
        ...PEOPLE_SAID,
      }),
      {
        description:
          'Failed, missed and aborted ones of this shift, newest first, at most five; where there was none, the last one before',
      },
    ),
    services: Type.Array(ServiceViewRef),
    joints: Type.Array(
      Type.Object({
        id: text("The splice's id"),
        unwind: text('Id of the unwind'),
        station: text('Which station it passed'),
        arrived: timeOrNull('When'),
      }),
      { description: 'Passed a station that takes joints out, and nobody said that it was' },
    ),
    taken_over: Type.Unsafe<HandoverView['taken_over']>({
      anyOf: [LogEntryRef, { type: 'null' }],
      description: 'Who took over last',
    }),
  },
  { $id: 'HandoverView' },
)

export const HandoverViewRef = named(HandoverViewSchema)

export type HandoverSchemaMatches = Holds<Same<Static<typeof HandoverViewSchema>, HandoverView>>
