/**
 * The shapes of advice and lines in `messages.ts` as JSON Schema. At the end the compiler checks that each says exactly what
 * its interface says.
 */
import { type Static, Type } from 'typebox'
import type { AdviceView, FlagView, LineView, NextSpliceView, WhatIfView } from './messages.ts'
import {
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
} from './schema-parts.ts'

const ROLLS = ['running', 'waiting', 'usual'] as const

const estimate = (description: string) =>
  Type.Object({ value: number(description), deviation: number('Its standard deviation, in the same unit') })

const webAmount = (description: string) =>
  Type.Object(
    {
      metres: number('Web, m'),
      kilograms: numberOrNull('Its mass, by width and basis weight of the material, kg'),
      cost: numberOrNull('What it costs, by the price of the material, in the currency beside it'),
    },
    { description },
  )

const NextSpliceSchema = Type.Object({
  seconds: numberOrNull('Time until its cycle starts, s; while the line stands'),
  seconds_low: numberOrNull('Low end of the central 80 % interval, s'),
  seconds_high: numberOrNull('High end of the central 80 % interval, s'),
  metres: number('Line web until its cycle starts, m'),
  metres_low: number('Low end of the central 80 % interval, m'),
  metres_high: number('High end of the central 80 % interval, m'),
  roll: oneOf(ROLLS, 'The roll that it ends: the running one, the waiting one, or one of usual length'),
  material: text('Material of that roll; empty where no tag says it'),
  roll_length: numberOrNull('Web from the outside of that roll to its splice, m'),
  roll_length_deviation: numberOrNull('Its standard deviation, m'),
  too_short: Type.Boolean({ description: 'That roll lasts no longer than preparing the next one takes' }),
})

const FlagSchema = Type.Object({
  depth: number('Below the outside when the roll was loaded, mm'),
  entered: time('When a person entered it'),
  person: text('Who entered it'),
  metres: number('Web until it leaves the roll, m; below 0 it has left'),
  metres_low: number('Low end of the central 80 % interval, m'),
  metres_high: number('High end of the central 80 % interval, m'),
  seconds: numberOrNull('Time until then, s; while the line stands'),
  before_splice: Type.Boolean({ description: 'False where the splice comes first: it stays on the core' }),
})

export const AdviceViewSchema = Type.Object(
  {
    time: time('Time of the estimates'),
    unwind: text('Id of the unwind'),
    must_be_ready_seconds: numberOrNull('Time until the next roll must be ready, s; 0 is due'),
    must_be_ready_low: numberOrNull('Low end of the central 80 % interval, s'),
    must_be_ready_high: numberOrNull('High end of the central 80 % interval, s'),
    must_be_ready_by: nullable(['fill', 'refusal', 'splice'], 'What sets that time'),
    preparation_seconds: number('Time that preparing a roll takes, as configured and then as learned, s'),
    lasting_speed: numberOrNull(
      'Line speed at which the roll lasts as long as a whole preparation takes, m/min; not capped, and no advice to go faster',
    ),
    lasting_speed_low: numberOrNull('The same by the low end of the interval, m/min'),
    lasting_speed_high: numberOrNull('The same by the high end of the interval, m/min'),
    next_splices: Type.Array(NextSpliceSchema, { description: 'Within 8 hours' }),
    usual_length: orNull(
      Type.Object({
        material: text('Of the roll that comes next'),
        metres: number('From the outside to the splice, m'),
        deviation: number('Standard deviation of one roll, m'),
        rolls: number('Rolls of that material that were seen'),
      }),
      'Usual length of rolls; null where nothing is known',
    ),
    job: orNull(
      Type.Object({
        remaining: number('Web that the job still needs, m'),
        seconds: numberOrNull('Time until its end, s; while the line stands'),
        splices: number('Splices until its end'),
        left_on_roll: estimate('Web to its splice diameter that will be left on the roll that runs then, m'),
        roll: oneOf(ROLLS, 'Which roll that is'),
      }),
      'Null where no tag says what the job needs, or the rolls until its end are not known',
    ),
    rolls_to_stage: numberOrNull(
      'Rolls needed until the job ends (else within 8 hours) that neither run nor wait at the unwind',
    ),
    flags: Type.Array(FlagSchema, {
      description: 'Joints and defects inside the running roll, as people entered them',
    }),
    waiting_flags: Type.Array(
      Type.Object({
        depth: number('Below the outside, mm'),
        entered: time('When a person entered it'),
        person: text('Who entered it'),
      }),
      { description: 'Those inside the waiting roll' },
    ),
    deepest_flag: Type.Object(
      {
        running: numberOrNull('In the running roll, mm'),
        waiting: numberOrNull('In the waiting roll, mm'),
      },
      {
        description: 'Below the outside at loading a flag can lie down to the core; null where that roll is not known',
      },
    ),
    splice_diameter: orNull(
      Type.Object({
        setting: number("Today's setting, mm"),
        smallest: estimate(
          "Smallest setting for the accepted risk, mm. Glued or wrinkled last wraps and the chuck's grip set a floor that it does not see: lower a setting in steps of at most 5 mm, supervised, per material and core",
        ),
        without_uncertainty: number('True diameter that would do if everything were known, mm'),
        risk: number('Accepted probability that one roll runs out'),
        risk_at_setting: number("The same at today's setting"),
        left_on_core: webAmount("What today's setting leaves on each core"),
        left_on_core_deviation: number('Standard deviation of its length, m'),
        avoidable: webAmount('Of that, what the accepted risk does not ask for'),
        currency: textOrNull('Of the costs; null where the material has no price'),
      }),
      'Null where the roll is not known',
    ),
    caliper: orNull(
      Type.Object({
        measured: estimate('Effective caliper, µm'),
        label: number('On the label, µm'),
        difference_percent: number('Measured less label, % of the label'),
        significance: number('The difference in standard deviations'),
      }),
      'Caliper against label; null where the roll is not known',
    ),
    out_of_round: orNull(
      Type.Object({
        amplitude: estimate('Amplitude of the once-per-turn wave of the diameter, mm'),
        limit: numberOrNull('Amplitude that the line takes at this speed, mm; while the line stands'),
      }),
      'Null where the roll is not known',
    ),
  },
  { $id: 'AdviceView' },
)

export const WhatIfViewSchema = Type.Object(
  {
    time: time('Time of the estimates'),
    unwind: text('Id of the unwind'),
    speed: number('The line speed that was asked for, m/min'),
    seconds_to_splice: numberOrNull('Time until the cycle starts at that speed, s'),
    seconds_low: numberOrNull('Low end of the central 80 % interval, s'),
    seconds_high: numberOrNull('High end of the central 80 % interval, s'),
    buffer_needed: numberOrNull('Net fall of stored web that one cycle takes at that speed, m'),
    buffer_margin: numberOrNull("Web forecast in the buffer at the cycle's start, less reserve, less need, m"),
    safe_speed: numberOrNull('Highest line speed for this splice, m/min'),
    must_be_ready_seconds: numberOrNull('Time until the next roll must be ready at that speed, s'),
    must_be_ready_low: numberOrNull('Low end of the central 80 % interval, s'),
    must_be_ready_high: numberOrNull('High end of the central 80 % interval, s'),
    units: Type.Object({
      speed: text('Of speed'),
      safe_speed: text('Of safe_speed'),
      seconds: text('Of seconds_to_splice, seconds_low and seconds_high'),
      buffer: text('Of buffer_needed and buffer_margin'),
      must_be_ready: text('Of must_be_ready_seconds, must_be_ready_low and must_be_ready_high'),
    }),
  },
  { $id: 'WhatIfView' },
)

const jointRef = Type.Object({
  unwind: text('Id of the unwind'),
  number: number('0 is on its way, 1 comes with the next splice'),
})

export const LineViewSchema = Type.Object(
  {
    time: time('Time of the estimates'),
    line: text('Id of the line'),
    name: text('Name on screens'),
    joint_separation: number('Two joints must be at least so far apart where the webs meet, m'),
    crew: number('Rolls that the crew can prepare at once'),
    joints: Type.Array(
      Type.Object({
        unwind: text('Id of the unwind'),
        number: number('0 is on its way, 1 comes with the next splice'),
        metres: number('Line web until it is where the webs meet, m'),
        metres_low: number('Low end of the central 80 % interval, m'),
        metres_high: number('High end of the central 80 % interval, m'),
      }),
      { description: 'In the order in which they get to where the webs meet' },
    ),
    meetings: Type.Array(
      Type.Object({
        first: jointRef,
        second: jointRef,
        metres: number('Line web until the first of them is where the webs meet, m'),
        gap: estimate('How far the second is behind the first, m'),
        probability: number('That they come closer than allowed'),
        advice: orNull(
          Type.Object({
            unwind: text('Whose roll to splice early'),
            number: number('Which of its joints'),
            early_metres: number('By how much web, m'),
            wasted: webAmount('What stays on its roll'),
            currency: textOrNull('Of the cost; null where the material has no price'),
            must_be_ready_seconds: numberOrNull('The roll must then be ready so soon, s; while the line stands'),
          }),
          'Null where the risk is accepted, or no early splice helps',
        ),
      }),
      { description: 'Joints of two unwinds that may come too near to each other, at least with 0.1 %' },
    ),
    preparations: Type.Array(
      Type.Object({
        unwinds: Type.Array(Type.String(), { description: 'Whose next rolls' }),
        seconds: number('When the last of them must begin, s from now'),
        probability: number('That they need more than the crew at one moment'),
      }),
    ),
    unknown: Type.Array(Type.String(), { description: 'Unwinds of which nothing is known now' }),
  },
  { $id: 'LineView', description: "Advice only: the line's own interlock decides." },
)

export const ADVICE_SCHEMAS = [AdviceViewSchema, WhatIfViewSchema, LineViewSchema] as const

export const AdviceViewRef = named(AdviceViewSchema)
export const WhatIfViewRef = named(WhatIfViewSchema)
export const LineViewRef = named(LineViewSchema)

// The compiler refuses this where a schema and its interface differ in a field, a type or what may be null.
export type AdviceSchemasMatch = [
  Holds<Same<Static<typeof NextSpliceSchema>, NextSpliceView>>,
  Holds<Same<Static<typeof FlagSchema>, FlagView>>,
  Holds<Same<Static<typeof AdviceViewSchema>, AdviceView>>,
  Holds<Same<Static<typeof WhatIfViewSchema>, WhatIfView>>,
  Holds<Same<Static<typeof LineViewSchema>, LineView>>,
]
