/** The shape of `messages-signals.ts` as JSON Schema. */
import { type Static, Type } from 'typebox'
import type { SourceState } from '../sources/source.ts'
import type { SignalsView, TagUseView } from './messages-signals.ts'
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
} from './schema-parts.ts'

const TagUse = Type.Object({
  unwind: text('Id of the unwind'),
  signal: text('What the tag means there'),
  spindle: textOrNull('For one tag per spindle: which'),
  tag_unit: textOrNull('Unit that the config states for the tag'),
  raw: Type.Unsafe<TagUseView['raw']>({
    type: ['number', 'boolean', 'string', 'null'],
    description: 'What the tag itself says; null where it says nothing',
  }),
  scaled: numberOrNull('That number after scale and offset, in tag_unit; null where neither is configured'),
  bit: numberOrNull('For a bit of a word: which, counted from 0'),
  inverted: Type.Boolean({ description: 'The meaning of that truth is turned round' }),
  value: Type.Unsafe<TagUseView['value']>({
    type: ['number', 'boolean', 'string', 'null'],
    description: 'In the unit beside it; null where it has no value',
  }),
  unit: text('Unit of the value; empty where it has none'),
  stale: Type.Boolean({ description: 'Its source is silent, or it never had a value' }),
  ignored: number('Reports that were no value of it'),
  refused: textOrNull('What the newest report said, where it was no value'),
})

export const SignalsViewSchema = Type.Object(
  {
    time: time('Of this answer'),
    since: time('Since when rates and gaps are counted'),
    sources: Type.Array(
      Type.Object({
        name: text('Name in the config'),
        kind: text('opcua, mqtt, recording or operator'),
        state: oneOf<SourceState>(['connecting', 'connected', 'lost', 'refused', 'stopped']),
        trouble: textOrNull('What is wrong and what to do'),
        clock_offset_ms: numberOrNull("The source's clock less this machine's, ms"),
        stale_after_seconds: numberOrNull('So long it may be silent, s'),
      }),
    ),
    tags: Type.Array(
      Type.Object({
        source: text('Its source'),
        address: text('As the config writes it'),
        stated_unit: textOrNull('Unit that the server itself states, as it writes it'),
        quality: nullable(['good', 'uncertain', 'bad'] as const, 'Of the newest report; null where none came'),
        age_seconds: numberOrNull('Since the newest report, s'),
        reports_per_minute: numberOrNull('Over the last minute'),
        gaps: number('Silences since the start'),
        longest_gap_seconds: number('The longest of them, s'),
        last_gap: timeOrNull('When the newest of them ended'),
        uses: Type.Array(TagUse),
      }),
    ),
  },
  { $id: 'SignalsView' },
)

export const SignalsViewRef = named(SignalsViewSchema)

export type SignalsSchemaMatches = Holds<Same<Static<typeof SignalsViewSchema>, SignalsView>>
