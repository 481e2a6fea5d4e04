/** The shape of the tags' self-check as JSON Schema. */
import { type Static, Type } from 'typebox'
import type { ConsistencyView } from './messages.ts'
import {
  type Holds,
  number,
  numberOrNull,
  oneOf,
  type Same,
  sentences,
  text,
  textOrNull,
  time,
} from './schema-parts.ts'

const SUSPECTED_PART = {
  signals: Type.Array(Type.String(), { description: 'One signal, or both speeds' }),
  addresses: Type.Array(Type.String(), { description: 'One for each signal; empty where the config states the value' }),
  factor: numberOrNull('What it reads over what is true; below 0 it moves the wrong way'),
  sd: numberOrNull('Standard deviation of the factor, as a share'),
  looks_like: textOrNull('A usual mix-up that has this factor, such as "ft/min as m/min"'),
}
const SUSPECTED_TAG = {
  ...SUSPECTED_PART,
  together: Type.Array(Type.Object(SUSPECTED_PART), {
    description: 'Two mix-ups that would have to go wrong at once, each with its own factor; empty where it is one',
  }),
}

export const ConsistencyViewSchema = Type.Object(
  {
    unwind: text('Id of the unwind'),
    time: time('Time of this check'),
    verdict: oneOf<ConsistencyView['verdict']>(['disagree', 'agree', 'few', 'nothing']),
    findings: Type.Array(
      Type.Object({
        ...SUSPECTED_TAG,
        id: text('<signal>.<kind>'),
        severity: oneOf<'wrong' | 'doubtful'>(['wrong', 'doubtful']),
        alternatives: Type.Array(Type.Object(SUSPECTED_TAG), {
          description: 'What the signals cannot tell it from',
        }),
        evidence: Type.Array(Type.String(), { description: 'Ids of the relations that disagree' }),
        text: text('Tag, factor, unit and remedy in words'),
        words: sentences,
      }),
    ),
    relations: Type.Array(
      Type.Object({
        id: text('What was compared'),
        ratio: number('1 where the two sides agree'),
        sd: number('Standard deviation of the ratio, as a share'),
        judged: Type.Boolean({ description: 'There was enough web to judge' }),
        text: text('The comparison in words, with numbers and units'),
        words: sentences,
      }),
    ),
  },
  { $id: 'ConsistencyView' },
)

export type ConsistencySchemasMatch = [Holds<Same<Static<typeof ConsistencyViewSchema>, ConsistencyView>>]
