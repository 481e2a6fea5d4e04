/**
 * The shapes of `messages.ts` as JSON Schema: they validate what comes in, write what goes out, and describe both in
 * `/api/openapi.json`. At the end the compiler checks that each says exactly what its interface says.
 */
import { type Static, Type } from 'typebox'
import { ALARM_IDS, CAUSES, FLAGS, OUTCOMES, PHASES, type PhaseSpan, type Priority, UNWIND_STATES } from '../columns.ts'
import type { OutputHealth } from '../outputs/output.ts'
import { LINE_STATES } from '../signals/catalogue.ts'
import type { SourceState } from '../sources/source.ts'
import type { AlarmState, AlarmView, HealthView, SpliceView, TraceView, UnwindView } from './messages.ts'
import {
  flagOrNull,
  type Holds,
  named,
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
  words,
} from './schema-parts.ts'
import { ConsistencyViewSchema } from './schemas-consistency.ts'
import { EntriesViewSchema, JobEnd, PreparationSchema, WaitingRollSchema } from './schemas-entries.ts'
import { HistoryViewSchema } from './schemas-history.ts'
import { JointViewSchema } from './schemas-joints.ts'
import { SpliceReviewSchema } from './schemas-review.ts'
import { SignalsViewSchema } from './schemas-signals.ts'
import { SpliceDetailsSchema, WhyViewSchema } from './schemas-splice.ts'

const PhaseSpanSchema = Type.Object({
  phase: oneOf(PHASES),
  started: time('Start of the phase'),
  seconds: numberOrNull('Length, s; null while it lasts'),
})

export const AlarmViewSchema = Type.Object(
  {
    id: text('<unwind>-<alarm>-<raised in UTC ms>'),
    unwind: text('Empty where site-wide'),
    alarm: oneOf(ALARM_IDS),
    priority: oneOf<Priority>(['low', 'medium', 'high']),
    state: oneOf<AlarmState>(['unacknowledged', 'acknowledged', 'returned_unacknowledged', 'normal']),
    raised: time('When it was raised'),
    cleared: timeOrNull('When its condition ended'),
    acknowledged: timeOrNull('When a person acknowledged it'),
    acknowledged_by: textOrNull('Who acknowledged it'),
    comment: textOrNull('What that person wrote'),
    suppressed: Type.Boolean({
      description: 'It means nothing at present and is not told: the line stands or threads',
    }),
    shelved_until: timeOrNull('A person put it aside until then'),
    shelved_by: textOrNull('Who put it aside'),
    value: numberOrNull('The value that raised it, in the units of the columns'),
    limit: numberOrNull('The limit that it passed'),
    text: text('What is wrong and what to do'),
    words: Type.Optional(words),
    short: Type.Optional(text('For the wall: what is wrong, in at most two lines of 30 characters')),
    action: Type.Optional(text('For the wall: what to do')),
    told: Type.Optional(
      Type.Array(
        Type.Object({
          time: time('From when it said so'),
          priority: oneOf<Priority>(['low', 'medium', 'high']),
          text: text('What was wrong and what to do'),
          words,
          short: text('What was wrong, in at most two lines of 30 characters'),
        }),
        { description: 'What it said when it came, and later; left out where that is what it says now' },
      ),
    ),
  },
  { $id: 'AlarmView' },
)

export const UnwindViewSchema = Type.Object(
  {
    time: time('Time of this row'),
    unwind: text('Id of the unwind'),
    state: oneOf(UNWIND_STATES),
    diameter: numberOrNull('What the splicer reads now, without its noise, mm'),
    caliper: numberOrNull('Effective caliper, µm'),
    metres_to_splice: numberOrNull('Web that leaves the running roll before the cycle starts, m'),
    metres_low: numberOrNull('Low end of the central 80 % interval, m'),
    metres_high: numberOrNull('High end of the central 80 % interval, m'),
    seconds_to_splice: numberOrNull('Time until the cycle starts, s; null while the line stands'),
    seconds_low: numberOrNull('Low end of the central 80 % interval, s'),
    seconds_high: numberOrNull('High end of the central 80 % interval, s'),
    buffer_stored: numberOrNull('Web in the buffer now, m'),
    buffer_needed: numberOrNull('Net fall of stored web that one cycle takes, m'),
    buffer_margin: numberOrNull("Web forecast in the buffer at the cycle's start, less reserve, less need, m"),
    safe_speed: numberOrNull('Highest line speed for this splice: where the margin would be zero, m/min'),
    name: text('Name on screens'),
    line_speed: numberOrNull('Speed of the line now, m/min'),
    line_state: nullable(LINE_STATES, 'What the line does; null where not mapped or without a value'),
    new_roll_ready: flagOrNull('The waiting roll is ready; null where not mapped or without a value'),
    ready_by_hand: Type.Boolean({ description: 'A person may enter that the roll is ready, because no tag says it' }),
    splicer_auto: flagOrNull('The splicer is in automatic'),
    active_spindle: textOrNull('Which position runs'),
    preparation_seconds: number('Time that preparing the next roll takes, as configured and then as learned, s'),
    preparation: PreparationSchema,
    waiting_roll: WaitingRollSchema,
    fill_lead_seconds: number('Time before the splice at which the fill begins, s'),
    splice_diameter: numberOrNull('Diameter at which the splicer is set to start, mm'),
    core_diameter: number('Outside of the core, mm'),
    full_diameter: number('Of a full roll as it usually is here, else of the running one when it was loaded, mm'),
    nominal_caliper: number('Caliper on the label, µm'),
    buffer: Type.Unsafe<UnwindView['buffer']>({
      anyOf: [
        Type.Object({
          capacity: number('Web in the full buffer, m'),
          running: number('Web at the running position, m'),
          fill: number('Web at the fill position, m'),
          trip: number('Web at which a limit switch stops the line, m'),
          reserve: number('Web that shall be left, m'),
          mode: oneOf<'fill_before' | 'rides_full'>(['fill_before', 'rides_full']),
        }),
        { type: 'null' },
      ],
      description: 'Null where there is no buffer',
    }),
    next_splices: Type.Array(
      Type.Object({
        after: number('How long after the next splice it comes, s'),
        after_low: number('Low end of its central 80 % interval, from the same moment, s'),
        after_high: number('High end of its central 80 % interval, from the same moment, s'),
      }),
      { description: 'Splices after the next one, within 2 hours; empty while the line stands' },
    ),
    left_to_core: Type.Unsafe<UnwindView['left_to_core']>({
      anyOf: [
        Type.Object({
          metres: number('Web until the core is bare, m'),
          seconds: numberOrNull('How long it lasts at this speed, s; null while the line stands'),
        }),
        { type: 'null' },
      ],
      description: 'Of a roll whose splice is overdue; null otherwise',
    }),
    next_flag: Type.Unsafe<UnwindView['next_flag']>({
      anyOf: [
        Type.Object({ metres: number('Web until it comes, m'), seconds: number('Time until it comes, s') }),
        { type: 'null' },
      ],
      description: 'The next mark inside the running roll that comes before its splice, within the hour',
    }),
    job_end: JobEnd,
    stale: Type.Array(
      Type.Object({
        signal: text('Signal without a value'),
        source: text('Its source'),
        address: text('Its tag, as the config writes it'),
        seconds: number('Age of its last value, s'),
      }),
    ),
    reason: textOrNull('Why the state is unknown, one sentence'),
    reason_words: orNull(words, 'The same before a language is chosen'),
    joints: Type.Array(named(JointViewSchema), {
      description: 'On their way, or confirmed by nobody',
    }),
    alarms: Type.Array(named(AlarmViewSchema)),
  },
  { $id: 'UnwindView' },
)

export const SpliceViewSchema = Type.Object(
  {
    unwind: text('Id of the unwind'),
    started: time('The unwind begins to slow'),
    ended: timeOrNull('Buffer back at the running position, or the verdict'),
    outcome: nullable(OUTCOMES, 'Null while the verdict is open'),
    cause: nullable(CAUSES, 'Null when good or open'),
    flags: text(`Separated by ;, out of ${FLAGS.join(', ')}`),
    diameter: numberOrNull('At started, mm'),
    speed: numberOrNull('At started, m/min'),
    stopped_seconds: numberOrNull('Web below 1 m/min, s'),
    web_from_buffer: numberOrNull('Net web that the cycle took from the buffer, m'),
    buffer_low: numberOrNull('Least web in the buffer, m'),
    left_on_roll: numberOrNull('Web left on the old core at the transfer, m'),
    id: text('<unwind>-<started in UTC ms>'),
    phases: Type.Array(PhaseSpanSchema),
    transfer: timeOrNull('When the new web took over'),
    closed: Type.Boolean({ description: 'The verdict is final' }),
    has_trace: Type.Boolean({ description: 'A trace is kept' }),
    details: named(SpliceDetailsSchema),
    review: Type.Unsafe<SpliceView['review']>({
      anyOf: [named(SpliceReviewSchema), { type: 'null' }],
      description: 'What people added; null where nobody did',
    }),
  },
  { $id: 'SpliceView' },
)

export const TraceViewSchema = Type.Object(
  {
    id: text("The splice's id"),
    unwind: text('Id of the unwind'),
    time: Type.Array(Type.Number(), { description: 'ms since 1970 UTC, ascending' }),
    columns: Type.Array(
      Type.Object({
        signal: text('Name of the signal'),
        unit: text('Its unit'),
        is_state: Type.Boolean({ description: 'It says only yes, as 1, and no, as 0' }),
        meanings: Type.Optional(
          Type.Array(Type.Object({ value: number('As it stands among the values'), text: text('What it means') }), {
            description: 'Of a further tag whose config maps its values to words',
          }),
        ),
        ends: Type.Optional(
          Type.Unsafe<[number, number]>({
            type: 'array',
            items: { type: 'number' },
            minItems: 2,
            maxItems: 2,
            description: 'Of the web guide: either end of its travel, in the unit',
          }),
        ),
        values: Type.Array(numberOrNull('One value for each time')),
      }),
    ),
    phases: Type.Array(PhaseSpanSchema),
    started: time('The unwind begins to slow'),
    transfer: timeOrNull('When the new web took over'),
  },
  { $id: 'TraceView' },
)

export const HealthViewSchema = Type.Object(
  {
    status: oneOf<'ok' | 'degraded'>(['ok', 'degraded']),
    version: text('Version of the daemon'),
    site: text('Name of the site'),
    time_zone: text('IANA name of its time zone'),
    shifts: Type.Array(text('HH:MM'), { description: 'When shifts begin, local time' }),
    language: text('Language of the screens'),
    time: time('Now, by this machine'),
    uptime_seconds: number('Since the daemon started, s'),
    demo: Type.Boolean({ description: 'The plant is the built-in demo' }),
    finished_rolls: Type.Boolean({ description: 'Some line tells which finished roll is being wound' }),
    wall: Type.Object({
      screen_diagonal: number("Diagonal of the wall's screen, m"),
      distance: number('Distance from which it is read, m'),
    }),
    sources: Type.Array(
      Type.Object({
        name: text('Name in the config'),
        kind: text('opcua, mqtt, recording or operator'),
        state: oneOf<SourceState>(['connecting', 'connected', 'lost', 'refused', 'stopped']),
        trouble: textOrNull('What is wrong and what to do'),
        clock_offset_ms: numberOrNull("The source's clock less this machine's, ms"),
        tags: number('Tags read from it'),
        tags_in_trouble: number('Tags that give nothing'),
      }),
    ),
    store: Type.Object({ trouble: textOrNull('Why the store cannot be written') }),
    database: Type.Unsafe<OutputHealth | null>({
      anyOf: [
        Type.Object({
          state: oneOf<OutputHealth['state']>(['idle', 'sending', 'waiting']),
          waiting: number('Points that wait to be sent'),
          sent: number('Points sent'),
          refused: number('Points that the database refused for good'),
          trouble: Type.Optional(text('What is wrong and what to do')),
        }),
        { type: 'null' },
      ],
      description: 'Null where no database is configured',
    }),
  },
  { $id: 'HealthView' },
)

export const ReadyViewSchema = Type.Object(
  {
    ready: Type.Boolean({ description: 'Every unwind has fresh data' }),
    without_data: Type.Array(Type.String(), { description: 'Unwinds without' }),
    missing: Type.Array(
      Type.Object({
        unwind: text('Id of the unwind'),
        signal: text('Signal without a value that its countdown or festoon rests on'),
        source: text('Its source'),
        address: text('Its tag, as the config writes it'),
        seconds: number('Age of its last value, s'),
      }),
      { description: 'What each of them lacks; empty for one that waits for its first values' },
    ),
    reason: textOrNull(
      'What is missing, one sentence for each unwind, in a language of Accept-Language that is known, else in that of the site',
    ),
  },
  { $id: 'ReadyView' },
)

export const ErrorViewSchema = Type.Object(
  {
    error: text('What is wrong and what to do, one sentence'),
    words: Type.Optional(words),
    code: text('For programs: wrong_parameter, not_found, …'),
  },
  { $id: 'ErrorView' },
)

export const DoneViewSchema = Type.Object(
  { done: Type.Literal(true), person: text('In whose name it was done') },
  { $id: 'DoneView' },
)

/** All that have an `$id`, in the order in which they refer to each other. */
export const NAMED_SCHEMAS = [
  ErrorViewSchema,
  DoneViewSchema,
  ReadyViewSchema,
  AlarmViewSchema,
  EntriesViewSchema,
  HistoryViewSchema,
  SignalsViewSchema,
  UnwindViewSchema,
  SpliceDetailsSchema,
  SpliceReviewSchema,
  SpliceViewSchema,
  TraceViewSchema,
  WhyViewSchema,
  ConsistencyViewSchema,
  HealthViewSchema,
] as const

export const ErrorView = named(ErrorViewSchema)
export const DoneView = named(DoneViewSchema)
export const ReadyViewRef = named(ReadyViewSchema)
export const AlarmViewRef = named(AlarmViewSchema)
export const UnwindViewRef = named(UnwindViewSchema)
export const SpliceViewRef = named(SpliceViewSchema)
export const TraceViewRef = named(TraceViewSchema)
export const WhyViewRef = named(WhyViewSchema)
export const ConsistencyViewRef = named(ConsistencyViewSchema)
export const HealthViewRef = named(HealthViewSchema)

/** The answers that any route may give besides its own. */
export const FAILURES = { '4xx': ErrorView, '5xx': ErrorView } as const

export type SchemasMatch = [
  Holds<Same<Static<typeof UnwindViewSchema>, UnwindView>>,
  Holds<Same<Static<typeof AlarmViewSchema>, AlarmView>>,
  Holds<Same<Static<typeof SpliceViewSchema>, SpliceView>>,
  Holds<Same<Static<typeof PhaseSpanSchema>, PhaseSpan>>,
  Holds<Same<Static<typeof TraceViewSchema>, TraceView>>,
  Holds<Same<Static<typeof HealthViewSchema>, HealthView>>,
]
