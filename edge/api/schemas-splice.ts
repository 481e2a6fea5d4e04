/** The splice record's figures as JSON Schema; the compiler checks them against `splice-details.ts`. */
import { type Static, Type } from 'typebox'
import { PHASES } from '../columns.ts'
import { PREPARATION_STAGES, type SpliceDetails } from '../splice-details.ts'
import type { WhyView } from './messages.ts'
import {
  type Holds,
  nullable,
  number,
  numberOrNull,
  oneOf,
  type Same,
  sentences,
  text,
  textOrNull,
  timeOrNull,
} from './schema-parts.ts'

export const SpliceDetailsSchema = Type.Object(
  {
    deceleration: numberOrNull("Mean of the unwind's ramp down, m/s²"),
    acceleration: numberOrNull("Mean of the unwind's ramp up, m/s²"),
    refill_seconds: numberOrNull('From line speed until the buffer is back at its running position, s'),
    setting: numberOrNull('Diameter at which the splicer was set to start, mm'),
    trigger_offset: numberOrNull('How far above it the cycle started, mm'),
    buffer_at_start: numberOrNull('Web in the buffer when the unwind began to slow, m'),
    left_on_roll_low: numberOrNull('Low end of the central 80 % interval of left_on_roll, m'),
    left_on_roll_high: numberOrNull('High end of the central 80 % interval of left_on_roll, m'),
    margin_forecast: numberOrNull('Web beyond reserve and need, as forecast just before the cycle, m'),
    margin: numberOrNull('Web beyond the reserve at the low point, m'),
    speed_kept: numberOrNull('Lowest line speed of the cycle as a share of that at its start'),
    tension_usual: numberOrNull('Setpoint of the tension, or what it was before, N'),
    tension_low: numberOrNull('Lowest tension from the start on, N'),
    tension_high: numberOrNull('Highest tension from the start on, N'),
    tension_back_seconds: numberOrNull('From the start until tension stays within 10 %, s'),
    guide_left: numberOrNull(
      'Least travel of the web guide left before either end, until 30 s after the cycle, in guide_left_unit',
    ),
    guide_left_unit: textOrNull("Unit of the guide's tag"),
    guide_left_share: numberOrNull('The same, of what it has when centred: 1 at the centre, 0 at an end'),
    preparation_seconds: numberOrNull("From the waiting roll's appearance until it was ready, s"),
    preparation: Type.Array(
      Type.Object({ stage: oneOf(PREPARATION_STAGES), seconds: number('Length of the stage, s') }),
      { description: 'How long the waiting position was empty, held a roll not ready, and held a ready one' },
    ),
    down_seconds: numberOrNull("From the line's stop until it is back at 90 % of its speed, s"),
    forecast_errors: Type.Array(
      Type.Object({
        horizon_seconds: number('How long before the splice the forecast was made, s'),
        metres: number('Forecast less what it was, m'),
        seconds: numberOrNull('Forecast less what it was, s; null where the line stood in between'),
      }),
    ),
    roll_id: textOrNull('Id of the roll that ended'),
    material: textOrNull('Its material'),
    spindle: textOrNull('Where it ran'),
    new_roll_id: textOrNull('Id of the roll that took over'),
    new_material: textOrNull('Its material'),
    new_spindle: textOrNull('Where it runs'),
    waiting_spindle: textOrNull('Where the new roll was when the cycle began; null where that is not known'),
    new_roll_diameter: numberOrNull('Its diameter, as told before the splice, else as it read soon after, mm'),
    kilograms_per_metre: numberOrNull("Mass of a metre of the ended roll's web, kg"),
    price_per_metre: numberOrNull("Price of a metre of the ended roll's web"),
    currency: textOrNull('Of the price'),
    tail: numberOrNull('Web between roll and knife that the splice used up, m'),
    buffer_ended: timeOrNull('When the buffer reached its end'),
    web_parted: timeOrNull('When the web parted'),
    faulted: timeOrNull('When the splicer reported a fault'),
    line_fell: timeOrNull('When the line fell below 20 % of its speed'),
    cut_short: timeOrNull('When the monitor or its plant ended before the verdict'),
    alarms: Type.Array(text('Id of an alarm'), {
      description: 'Raised from 60 s before the start to 60 s after the end',
    }),
    extra: Type.Unsafe<Record<string, number | string | boolean>>({
      type: 'object',
      additionalProperties: { type: ['number', 'string', 'boolean'] },
      description: 'Value of each extra tag when the cycle was recognised, in its unit',
    }),
  },
  { $id: 'SpliceDetails' },
)

const values = (description: string) => Type.Array(numberOrNull(description))

export const WhyViewSchema = Type.Object(
  {
    id: text("The splice's id"),
    compared: Type.Array(Type.String(), { description: 'Ids of the good splices that it is compared with' }),
    side: textOrNull('Their side'),
    speed_low: numberOrNull('Lowest of their speeds, m/min'),
    speed_high: numberOrNull('Highest of their speeds, m/min'),
    text: text('What the evidence says, a few sentences'),
    words: sentences,
    departures: Type.Array(
      Type.Object({
        measure: text('What departs'),
        phase: nullable(PHASES, 'The phase that it belongs to'),
        unit: text('Unit of value, usual and spread'),
        value: number('Of this splice'),
        usual: number('Median of the good ones'),
        spread: number('Their robust standard deviation'),
        spreads: number('How many spreads off'),
      }),
      { description: 'In the order of the cycle, then of the whole' },
    ),
    band: Type.Unsafe<WhyView['band']>({
      anyOf: [
        Type.Object({
          splices: number('Traces that it is made of'),
          time: Type.Array(Type.Number(), { description: 'ms since 1970 UTC, ascending' }),
          columns: Type.Array(
            Type.Object({
              signal: text('Name of the signal'),
              unit: text('Its unit'),
              low: values('10 % lie below'),
              median: values('Half lie below'),
              high: values('90 % lie below'),
            }),
          ),
        }),
        { type: 'null' },
      ],
      description: "The good ones moved to this splice's transfer; null where there are too few",
    }),
  },
  { $id: 'WhyView' },
)

export type SpliceSchemasMatch = [
  Holds<Same<Static<typeof SpliceDetailsSchema>, SpliceDetails>>,
  Holds<Same<Static<typeof WhyViewSchema>, WhyView>>,
]
