/** Trends, services, maintenance's list and reports as JSON Schema; the compiler checks them against `trend-views.ts`. */
import { type Static, Type } from 'typebox'
import { CAUSES, TREND_METRICS } from '../columns.ts'
import {
  type CountsView,
  type GapsView,
  GROUPINGS,
  LOG_KINDS,
  type LogEntry,
  type MaintenanceLine,
  type RegisterView,
  type ReportView,
  type ServiceView,
  type ShareView,
  type TrendsView,
  type TrendView,
} from '../trend-views.ts'
import {
  type Holds,
  named,
  nullable,
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
import { LISTED_VERDICT, PEOPLE_SAID } from './schemas-review.ts'

const value = (description: string) =>
  Type.Unsafe<number | string | null>({ type: ['number', 'string', 'null'], description })

export const LogEntrySchema = Type.Object(
  {
    id: text('`<unwind>-<kind>-<subject>-<time in UTC ms>`'),
    unwind: text('Id of the unwind'),
    time: time('When it happened'),
    kind: oneOf(
      LOG_KINDS,
      'A setting that changed, a service, one that was taken back, a trend that began or ended, a step that a setting made, a level taken as usual',
    ),
    subject: text('The signal that was set, the service item, or the metric'),
    side: textOrNull('Of a trend: the side whose own chart shows it; null is the whole splicer'),
    from: value(
      'Of a setting: what it was; of a trend: the usual level; of a service that was taken back: its time, ISO 8601',
    ),
    to: value('Of a setting: what it became; of a trend: the level of the newest splices'),
    unit: text('Of both'),
    person: textOrNull('Who did it; null where the machine says so'),
    note: text('A batch, a word; empty where none'),
    taken_back: orNull(
      Type.Object({ time: time('When'), person: textOrNull('By whom') }),
      'Of a service that was none, as somebody said later: it counts for nothing',
    ),
  },
  { $id: 'LogEntry' },
)

export const TrendViewSchema = Type.Object(
  {
    metric: oneOf(TREND_METRICS),
    side: textOrNull('The side whose own chart shows it; null is the whole splicer'),
    kind: oneOf(['drift', 'step'] as const, 'Slow drift, or a step from one level to another'),
    way: oneOf(['up', 'down'] as const, 'Which way it goes'),
    called: time('When it was called'),
    since: time('When it began, as far as can be told'),
    splices: number('Splices from then until it was called'),
    usual: number('Usual level at the usual speed, roll, side and material'),
    newest: number('The same of the newest splices'),
    unit: text('Of both'),
  },
  { $id: 'TrendView' },
)

const summary = (description: string) =>
  Type.Object(
    {
      splices: number('How many'),
      middle: number('Median'),
      spread: number('Standard deviation, outliers left out'),
    },
    { description },
  )

export const ShareViewSchema = Type.Object(
  {
    share: number('0 to 1'),
    low: number("Low end of Wilson's 95 % interval"),
    high: number("High end of Wilson's 95 % interval"),
  },
  { $id: 'ShareView' },
)

const RegisterViewSchema = Type.Object({
  joints: number('Joints that a sensor of the register saw'),
  in_register: named(ShareViewSchema),
  metres: number('Web until the others were back, m'),
  not_back: number('Joints that were not back while they were watched'),
})
const register = orNull(RegisterViewSchema, 'Share of joints in register at the joint; null where none was measured')

export const TrendsViewSchema = Type.Object(
  {
    unwind: text('Id of the unwind'),
    side: textOrNull('Whose charts these are; null is the whole splicer'),
    sides: Type.Array(text('A side'), { description: 'Those that there are' }),
    time: time('Now'),
    splices: number('Good splices that the charts are of'),
    needed: number('Splices from which on a trend can be called'),
    standing: Type.Array(named(TrendViewSchema), { description: 'Trends that stand' }),
    charts: Type.Array(
      Type.Object({
        metric: oneOf(TREND_METRICS),
        unit: text('Of all values'),
        usual: numberOrNull('Usual level at the usual speed, roll, side and material'),
        low: numberOrNull('Three standard deviations below'),
        high: numberOrNull('Three standard deviations above'),
        points: Type.Array(
          Type.Object({
            id: text('Id of the splice'),
            time: time('When it started'),
            side: text('Side; empty where no tag says it'),
            value: number('As measured'),
            adjusted: number('At the usual speed, roll, side and material'),
          }),
          { description: 'Oldest first' },
        ),
      }),
    ),
    log: Type.Array(named(LogEntrySchema), { description: 'Newest first' }),
    changes: Type.Array(
      Type.Object({
        entry: text('Id of the log entry'),
        metric: oneOf(TREND_METRICS),
        unit: text('Of both'),
        before: summary('Up to 30 splices before'),
        after: summary('Up to 30 splices after'),
      }),
    ),
    register,
  },
  { $id: 'TrendsView' },
)

const GapsViewSchema = Type.Object({
  joints: number('Measured'),
  median: number('Between the two webs, mm; below 0 they overlap'),
})

export const ServiceViewSchema = Type.Object(
  {
    unwind: text('Id of the unwind'),
    item: text('Its key in the config'),
    name: text('Name on screens'),
    has_own_name: Type.Boolean({ description: 'The config names it; else it is one of the usual names' }),
    has_batch: Type.Boolean({ description: 'A batch is asked for' }),
    last: orNull(named(LogEntrySchema), 'When it was done last'),
    splices: number('Good and failed splices since then'),
    failures: number('Failed ones among them'),
    limit: numberOrNull('Splices after which it is due'),
    limit_by: nullable(['config', 'habit'], 'Who says so: the config, or how people have done it'),
    is_due: Type.Boolean({ description: 'The count is reached' }),
    failures_early: orNull(named(ShareViewSchema), 'Share that failed in the first half of each time between two'),
    failures_late: orNull(named(ShareViewSchema), 'Share that failed in the second half'),
    gaps: orNull(GapsViewSchema, 'Gaps at joints that people measured since then'),
    gaps_early: orNull(GapsViewSchema, 'Those in the first half of each time between two'),
    gaps_late: orNull(GapsViewSchema, 'Those in the second half'),
  },
  { $id: 'ServiceView' },
)

export const MaintenanceLineSchema = Type.Object(
  {
    unwind: text('Id of the unwind'),
    name: text('Its name'),
    kind: oneOf(['trend', 'service', 'waste'] as const),
    since: timeOrNull('Since when'),
    text: text('What is to be seen to, one sentence'),
    words: Type.Optional(sentences),
    trend: orNull(named(TrendViewSchema), 'The trend'),
    service: orNull(named(ServiceViewSchema), 'The service that is due'),
  },
  { $id: 'MaintenanceLine' },
)

const counts = {
  splices: number('All with a verdict'),
  good: number('Good'),
  failed: number('Failed'),
  missed: number('Missed'),
  aborted: number('Aborted'),
  success: orNull(named(ShareViewSchema), 'Good of all'),
  lost_seconds: numberOrNull('Time that the line stood or crawled for them, s; null where nobody measured it'),
  waste: number('Web that went to waste, without returned stubs and what nobody has said yet, m'),
}
const CountsSchema = Type.Object(counts)

export const ReportViewSchema = Type.Object(
  {
    from: time('From'),
    to: time('To'),
    unwind: textOrNull('Only this unwind'),
    counts: CountsSchema,
    open: number('Without a verdict yet: in no figure'),
    waste_kilograms: numberOrNull('Mass of the waste, kg'),
    waste_cost: numberOrNull('What it cost; null too where there are two currencies'),
    currency: textOrNull('Of the cost'),
    between_failures: numberOrNull('Splices for each that failed or was missed; with fewer than two of them null'),
    failure_trend: numberOrNull(
      "Laplace's test: above 1.96 failures come ever faster, below −1.96 ever more seldom (95 %)",
    ),
    causes: Type.Array(
      Type.Object({
        cause: nullable(CAUSES, 'Cause'),
        splices: number('How many'),
        lost_seconds: numberOrNull('Lost time, s; null where nobody measured it'),
        waste: number('Waste, m'),
      }),
      { description: 'Most frequent first' },
    ),
    groups: Type.Array(
      Type.Object({
        by: oneOf(GROUPINGS, 'What they are counted by; never a person'),
        rows: Type.Array(Type.Object({ key: text('Which'), unit: text('Unit of a class; else empty'), ...counts })),
      }),
    ),
    log: Type.Array(named(LogEntrySchema), { description: 'Newest first' }),
    bad: Type.Array(
      Type.Object({
        id: text('Id'),
        unwind: text('Id of the unwind'),
        started: time('When it started'),
        ...LISTED_VERDICT,
        ...PEOPLE_SAID,
      }),
      { description: 'Those that were not good, newest first' },
    ),
    is_whole: Type.Boolean({ description: 'False where there were more splices than are counted at once' }),
    register,
  },
  { $id: 'ReportView' },
)

export const TREND_SCHEMAS = [
  LogEntrySchema,
  TrendViewSchema,
  TrendsViewSchema,
  ShareViewSchema,
  ServiceViewSchema,
  MaintenanceLineSchema,
  ReportViewSchema,
] as const

export const TrendsViewRef = named(TrendsViewSchema)
export const ServiceViewRef = named(ServiceViewSchema)
export const MaintenanceLineRef = named(MaintenanceLineSchema)
export const ReportViewRef = named(ReportViewSchema)
export const LogEntryRef = named(LogEntrySchema)

export type TrendSchemasMatch = [
  Holds<Same<Static<typeof LogEntrySchema>, LogEntry>>,
  Holds<Same<Static<typeof TrendViewSchema>, TrendView>>,
  Holds<Same<Static<typeof RegisterViewSchema>, RegisterView>>,
  Holds<Same<Static<typeof TrendsViewSchema>, TrendsView>>,
  Holds<Same<Static<typeof ShareViewSchema>, ShareView>>,
  Holds<Same<Static<typeof GapsViewSchema>, GapsView>>,
  Holds<Same<Static<typeof ServiceViewSchema>, ServiceView>>,
  Holds<Same<Static<typeof MaintenanceLineSchema>, MaintenanceLine>>,
  Holds<Same<Static<typeof CountsSchema>, CountsView>>,
  Holds<Same<Static<typeof ReportViewSchema>, ReportView>>,
]
