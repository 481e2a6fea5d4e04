/** The shape of `messages-history.ts` as JSON Schema. */
import { type Static, Type } from 'typebox'
import type { HistoryView } from './messages-history.ts'
import { type Holds, named, number, type Same, text, time } from './schema-parts.ts'

const Values = Type.Array(Type.Unsafe<number | null>({ type: ['number', 'null'] }))
export const HistoryViewSchema = Type.Object(
  {
    unwind: text('Id of the unwind'),
    from: time('Where the first span begins'),
    to: time('Where the last span ends'),
    span_seconds: number('Length of each span, s'),
    time: Type.Array(Type.Number(), { description: 'Middle of each span, ms since 1970 UTC, ascending' }),
    columns: Type.Array(
      Type.Object({
        name: text('Column of the forecast, or signal'),
        unit: text('Unit of its values; empty where it has none'),
        low: Values,
        high: Values,
      }),
      { description: 'Least and greatest value in each span; null where there was none' },
    ),
  },
  { $id: 'HistoryView' },
)

export const HistoryViewRef = named(HistoryViewSchema)

export type HistorySchemaMatches = Holds<Same<Static<typeof HistoryViewSchema>, HistoryView>>
