/** The part of the schema that maps tags to signals. */
import Type from 'typebox'
import { SIGNAL_NAMES, type SignalName } from '../signals/catalogue.ts'
import { choice, optional, quantity, section, text } from './schema-parts.ts'

/** What each signal means, in one line: for the published schema and for screens that explain a mapping. */
export const SIGNAL_MEANINGS: Readonly<Record<SignalName, string>> = {
  line_speed: 'Web speed where the process takes it, downstream of the buffer.',
  roll_diameter: 'Diameter of the running roll, or one per spindle.',
  buffer_position: 'Position of the carriage of the festoon or accumulator.',
  line_length: 'Totaliser of web length.',
  unwind_speed: 'Surface speed of the web leaving the running roll.',
  spindle_speed: 'Revolutions per minute of the running roll.',
  speed_setpoint: 'Commanded line speed.',
  line_state: 'run, thread, jog or stopped, by a value map.',
  splice_diameter: 'Diameter at which the splicer is programmed to start its cycle.',
  new_roll_ready: 'The waiting roll is loaded, prepared and armed.',
  splicer_auto: 'The splicer is in automatic and not inhibited.',
  splice_active: 'The splice cycle runs.',
  splice_step: 'Step of the splice cycle, with a map to idle, filling, slowing, stopped, starting, refilling or fault.',
  splice_fault: 'The splicer has a fault.',
  web_break: 'The web broke; a latched bit, for a short pulse is lost by sampling.',
  splice_count: "The PLC's own count of splices.",
  active_spindle: 'Which spindle runs.',
  tension: 'Web tension at the unwind.',
  tension_setpoint: 'Commanded web tension at the unwind.',
  roll_id: 'Identity of the running roll.',
  material: 'Material of the running roll: one of materials.',
  nominal_caliper: 'Labelled caliper of the running roll.',
  waiting_diameter: 'Diameter of the next roll.',
  waiting_roll_id: 'Identity of the next roll.',
  waiting_material: 'Material of the next roll.',
  job_remaining: 'Web that the present job still needs.',
  edge_offset: 'Side-lay of the web.',
  register_error: 'Print or punching from its target along the web.',
  decurler_position: 'Setting of the decurler.',
  joint_seen: 'A station sees a joint pass: true at the joint. Several stations: by_station.',
  reject_confirmed: 'A station took the joint out: true once it has. Several stations: by_station.',
  finished_roll: 'Identity of the roll that is being wound up; another value begins another roll. Several: by_station.',
}

const word = Type.Unsafe<string | number | boolean>({ type: ['string', 'number', 'boolean'] })
const tagKeys = {
  source: optional(text('Which of the sources.')),
  address: optional(text('Node id (OPC UA) or topic (MQTT).', { examples: ['ns=2;s=Press.LineSpeed'] })),
  value_path: optional(
    text('Where the value stands in a JSON payload: dotted, with [n] for arrays. Left out: the payload is the value.', {
      examples: ['position', 'axes[0].position'],
    }),
  ),
  time_path: optional(text('Where the time stands in a JSON payload: ISO 8601 with a zone, or integer milliseconds.')),
  unit: optional(text('Unit of the value after scale and offset.', { examples: ['m/min', 'mm', '%'] })),
  scale: optional(Type.Number({ description: 'Raw value × scale + offset is in the unit.', default: 1 })),
  offset: optional(Type.Number({ description: 'See scale; in the unit.', default: 0 })),
  range: optional(
    Type.Array(Type.Number(), {
      minItems: 2,
      maxItems: 2,
      description: 'Lowest and highest value that can be true, in the unit; one outside is ignored.',
    }),
  ),
  bit: optional(Type.Integer({ minimum: 0, maximum: 63, description: 'Bit of an integer word; 0 is the lowest.' })),
  invert: optional(Type.Boolean({ description: 'True where the tag is false.', default: false })),
  equals: optional(Type.Array(word, { minItems: 1, description: 'True where the raw value is one of these.' })),
  values: optional(
    Type.Record(Type.String(), word, {
      minProperties: 1,
      description: 'Raw value (after bit) to its meaning: of an extra tag a word, or a number in the unit.',
    }),
  ),
  period: optional(quantity('duration', 'The tag reports at least this often. Left out: it reports on change.', '1 s')),
}
export const tagSchema = section(tagKeys, { description: 'One tag.' })
export const signalSchema = section(
  {
    ...tagKeys,
    role: optional(
      choice(
        ['setting', 'hall_temperature', 'hall_humidity', 'guide'],
        'Of an extra tag: setting is what people or recipes set, its changes are logged and marked; by temperature and humidity of the hall splices are counted; guide is the position of the web guide: each splice says how much of its travel was left.',
      ),
    ),
    travel: optional(
      Type.Array(Type.Number(), {
        minItems: 2,
        maxItems: 2,
        description: 'Of the web guide: its position at either end of its travel, in the unit.',
        examples: [[-25, 25]],
      }),
    ),
    by_spindle: optional(
      Type.Record(Type.String(), Type.Unsafe<TagFile>({ $ref: '#/$defs/tag' }), {
        minProperties: 1,
        description: 'One tag per spindle, chosen by the signal active_spindle, in place of source and address.',
      }),
    ),
    by_station: optional(
      Type.Record(Type.String(), Type.Unsafe<TagFile>({ $ref: '#/$defs/tag' }), {
        minProperties: 1,
        description: "One tag per station, by the names of the splicer's stations, in place of source and address.",
      }),
    ),
  },
  { description: 'The tag that carries a signal.' },
)

export type TagFile = Type.Static<typeof tagSchema>
export type SignalFile = Type.Static<typeof signalSchema>
export type SignalsFile = { [name in SignalName | `extra.${string}`]?: SignalFile } & {
  extra?: Record<string, SignalFile>
}

const SIGNAL_REF = { $ref: '#/$defs/signal' }
export const signalsSchema = Type.Unsafe<SignalsFile>({
  type: 'object',
  description:
    'Which tags carry what. line_speed and roll_diameter are needed; every further one sharpens the estimates.',
  properties: {
    ...Object.fromEntries(SIGNAL_NAMES.map((name) => [name, { ...SIGNAL_REF, description: SIGNAL_MEANINGS[name] }])),
    extra: {
      type: 'object',
      description: 'Further tags worth recording, by a name of your own; extra.NAME as one key means the same.',
      patternProperties: { '^[A-Za-z0-9_]+$': SIGNAL_REF },
      additionalProperties: false,
    },
  },
  patternProperties: { '^extra\\.[A-Za-z0-9_]+$': SIGNAL_REF },
  additionalProperties: false,
})
