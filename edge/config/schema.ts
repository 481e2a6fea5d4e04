/**
 * The one description of a config file: its keys, their meaning and their defaults. The type of the raw file, the published
 * JSON Schema and the first check of every file come from it; `load.ts` adds what a schema can't say and converts to SI.
 *
 * `x-dimension` names what a quantity measures (see `../signals/units.ts`): a quantity is text with its unit.
 * A key without a default and not required is optional; where its default depends on other keys, the description says how.
 */
import Type from 'typebox'
import { choice, optional, quantity, quantityOr, section, text } from './schema-parts.ts'
import { signalSchema, signalsSchema, tagSchema } from './schema-signals.ts'
import { envName, type MqttFile, mqtt, type OpcUaFile, opcua, secretFile, user } from './schema-sources.ts'
import { stationKeys } from './schema-stations.ts'
import { web } from './schema-web.ts'

const material = section(
  {
    core_diameter: optional(quantity('length', 'Outside diameter of the core.', '100 mm')),
    caliper: optional(quantity('length', 'Thickness as the label has it.', '80 um')),
    width: optional(quantity('length', 'Width of the web.', '1.3 m')),
    basis_weight: optional(quantity('basis_weight', 'Mass of a square metre.', '64 g/m2')),
    bad_at_core: optional(quantity('length', 'Web next to the core that cannot be used.', '15 m')),
    supplier: optional(text('Who makes it: splices are counted by it.')),
    price: optional(text('Price of a length of web: amount, currency code, unit.', { examples: ['0.09 EUR/m'] })),
  },
  { description: 'One material.' },
)

const position = (description: string) =>
  Type.Unsafe<string | number>({ type: ['string', 'number'], description, examples: ['25 %', '400 mm'] })
const calibrationPoint = (description: string) =>
  optional(
    section(
      {
        position: position("Where the carriage stands, in the tag's own unit."),
        stored: quantity('length', 'Web in the buffer there.', '30 m'),
      },
      { description },
    ),
  )

const buffer = section(
  {
    mode: optional(
      choice(
        ['fill_before', 'rides_full'],
        'fill_before rides low and is filled before a splice; rides_full rides high.',
        {
          default: 'fill_before',
        },
      ),
    ),
    empty: calibrationPoint('First point of the calibration. Default 0 % and 0 m, for a tag in %.'),
    full: calibrationPoint(
      'Second point. Default 100 % and 30 m for a tag in %, with a warning: state what yours holds.',
    ),
    running_position: optional(
      position('Where it rides between splices. Default 25 % of the stored web, 90 % where it rides full.'),
    ),
    fill_position: optional(
      position(
        'Where it is filled to before a splice. Default 95 % of the stored web; running_position where it rides full.',
      ),
    ),
    trip_position: optional(position('Where a limit switch stops the line. Default 3 % of the stored web.')),
    reserve: quantityOr('length', '1 m', 'Web that should be left at the lowest point of a splice.'),
  },
  {
    description:
      "Festoon or accumulator; needed for zero_speed. Positions are in the unit of the tag; % with a tag in another unit is the share of the stored web between the calibration's two points.",
  },
)

const splicer = section(
  {
    method: choice(['zero_speed', 'flying', 'stopped'], 'How the webs are joined.'),
    trigger: optional(
      choice(['diameter', 'length', 'end_sensor', 'manual'], 'What starts the cycle.', { default: 'diameter' }),
    ),
    splice_diameter: optional(
      quantity(
        'length',
        'Diameter at which the cycle is programmed to start; needed where no tag carries it.',
        '130 mm',
      ),
    ),
    splice_speed: optional(
      Type.String({
        'x-dimension': 'speed',
        description: 'Speed to which the line slows down for a splice on purpose, or none.',
        examples: ['120 m/min'],
        default: 'none',
      }),
    ),
    stop: quantityOr(
      'duration',
      '1.1 s',
      'How long the web stands in a cycle, from the data sheet: where learning starts.',
    ),
    deceleration: quantityOr('acceleration', '2.5 m/s2', 'How fast the unwind slows down for the cycle.'),
    acceleration: quantityOr('acceleration', '1.2 m/s2', 'How fast the new roll comes up to speed.'),
    overspeed: quantityOr('share', '12 %', 'By how much the unwind outruns the line while filling and refilling.'),
    unwind: optional(
      choice(['driven', 'braked'], 'Driven by a motor, or braked (the web pulls the roll up to speed).', {
        default: 'driven',
      }),
    ),
    preparation: optional(
      Type.Unsafe<string | { fetch?: string; load?: string; splice_prep?: string }>({
        anyOf: [
          { type: 'string', 'x-dimension': 'duration' },
          section({
            fetch: quantityOr('duration', '0 s', 'Fetching the roll.', '8 min'),
            load: quantityOr('duration', '0 s', 'Loading, chucking and aligning it.', '3 min'),
            splice_prep: quantityOr('duration', '0 s', 'Preparing its leading edge, locking and arming.', '3 min'),
          }),
        ],
        'x-dimension': 'duration',
        description: 'How long preparing the next roll takes: one duration, or fetch, load and splice_prep.',
        examples: ['4 min', { fetch: '8 min', load: '3 min', splice_prep: '3 min' }],
        default: '4 min',
      }),
    ),
    path_length: quantityOr('length', '60 m', 'Web from the splice to the end of the process.'),
    run_out_risk: quantityOr(
      'share',
      '0.1 %',
      'Accepted risk that a roll runs out, where a splice diameter is advised.',
    ),
    refuses_within: quantityOr(
      'duration',
      '0 s',
      'So long before its cycle the splicer takes no roll any more: the next one must be ready by then.',
      '15 s',
    ),
    tail: quantityOr('length', '0 m', 'Web between the roll and the knife: it is used up at each splice.', '2.5 m'),
    spare_wraps: optional(
      Type.Integer({
        minimum: 0,
        maximum: 1000,
        default: 3,
        description: 'Wraps that shall stay on the core in any case, where a splice diameter is advised.',
      }),
    ),
    waste_limit: quantityOr(
      'length',
      '20 m',
      'Web left on each core beyond what run_out_risk asks for, from which on maintenance is told.',
    ),
    ...stationKeys,
  },
  { description: 'How the splicer works: from its data sheet and its settings.' },
)

const unwind = section(
  {
    name: optional(text('What people call it. Default: the id.')),
    roll: section(
      {
        core_diameter: quantity('length', 'Outside diameter of the core.', '100 mm'),
        nominal_caliper: quantity('length', 'Thickness of the web as the label has it.', '80 um'),
        out_of_round_limit: quantityOr(
          'length',
          '3 mm',
          'Amplitude of an out-of-round roll that the line still takes at 300 m/min; at another speed it is in inverse proportion.',
        ),
      },
      { description: 'The roll, where neither a tag nor the material says otherwise.' },
    ),
    job: optional(
      section(
        {
          material: optional(text("Material's number.", { examples: ['4711'] })),
          width: optional(quantity('length', "Width of the web. Default: the material's.", '1.3 m')),
          winding: optional(choice(['out', 'in'], 'Which way the printed or coated side faces on the roll.')),
        },
        {
          default: {},
          description:
            'What a roll must be for the job that runs here, where nobody enters it: others are called wrong.',
        },
      ),
    ),
    splicer,
    buffer: optional(buffer),
    service: optional(
      Type.Record(
        Type.String({ pattern: '^[a-z0-9_]+$' }),
        section({
          name: optional(text('What people call it. Default: the id, or its usual name.')),
          every: optional(
            Type.Integer({
              minimum: 1,
              maximum: 10_000_000,
              description:
                'Splices after which it is due. Left out: as people have done it, once they did three times.',
            }),
          ),
          batch: optional(Type.Boolean({ default: false, description: 'Ask for the batch of what was put in.' })),
        }),
        {
          additionalProperties: false,
          default: { knife: {}, tape: { batch: true }, vacuum_filter: {} },
          description: 'What is changed or cleaned at the splicer now and then: one tap each, counted in splices.',
        },
      ),
    ),
    signals: signalsSchema,
  },
  { description: 'One unwind with its splicer and buffer.' },
)

const line = section(
  {
    name: optional(text('What people call it. Default: the id.')),
    unwinds: Type.Record(
      Type.String({ pattern: '^[a-z0-9_]+$' }),
      section({
        path: quantityOr(
          'length',
          '0 m',
          'Web from the end of its buffer (without one: from its splicer) to where the webs meet.',
          '14 m',
        ),
      }),
      {
        additionalProperties: false,
        minProperties: 1,
        description: 'The two or more unwinds that feed the line, by their ids.',
      },
    ),
    joint_separation: quantityOr('length', '3 m', 'Two joints must be at least so far apart where the webs meet.'),
    crew: optional(
      Type.Integer({ minimum: 1, maximum: 20, default: 1, description: 'Rolls that the crew can prepare at once.' }),
    ),
    meeting_risk: quantityOr('share', '1 %', 'Accepted probability that two joints come closer than that.'),
  },
  { description: "One line; what is said of it is advice: the line's own interlock decides." },
)

export type LineFile = Type.Static<typeof line>
export type UnwindFile = Type.Static<typeof unwind>
export type SplicerFile = Type.Static<typeof splicer>
export type BufferFile = Type.Static<typeof buffer>

export const ConfigSchema = Type.Object(
  {
    version: Type.Literal(1, { description: "The format's version." }),
    site: section(
      {
        name: text('What people call the site.'),
        time_zone: text('IANA time zone.', { examples: ['Europe/Berlin'] }),
        language: optional(
          text('Language of texts on screens.', {
            pattern: '^[a-z]{2}(-[A-Z]{2})?$',
            default: 'en',
            examples: ['en', 'de'],
          }),
        ),
        shifts: optional(
          Type.Array(
            Type.String({
              pattern: '^([01]\\d|2[0-3]):[0-5]\\d$',
              description: 'Hour and minute.',
              examples: ['06:00'],
            }),
            {
              minItems: 1,
              uniqueItems: true,
              default: ['06:00', '14:00', '22:00'],
              description: 'When shifts begin, local time.',
            },
          ),
        ),
        roll_label: optional(
          text(
            "How the site's own roll labels read when scanned: a regular expression with groups named roll_id, material, diameter (mm), length (m), width (mm) or winding. Without it a scan is a GS1 label or else the roll's id.",
            { examples: ['^(?<roll_id>R\\d+);(?<material>\\d+);(?<width>\\d+)$'] },
          ),
        ),
      },
      { description: 'Name of the plant, its time zone and its shifts.' },
    ),
    sources: Type.Record(
      Type.String({ pattern: '^[A-Za-z0-9_.-]+$' }),
      Type.Unsafe<OpcUaFile | MqttFile>({
        type: 'object',
        required: ['kind'],
        discriminator: { propertyName: 'kind' },
        oneOf: [opcua, mqtt],
        description: 'opcua or mqtt.',
      }),
      { additionalProperties: false, description: 'PLCs and brokers, by a name of your own.' },
    ),
    materials: optional(
      Type.Record(Type.String(), material, {
        default: {},
        description: "What is run, by the material's number; the signal material, or a person's entry, picks one.",
      }),
    ),
    unwinds: Type.Record(Type.String({ pattern: '^[a-z0-9_]+$' }), unwind, {
      additionalProperties: false,
      minProperties: 1,
      description: 'By id: lower-case letters, digits and _, as it stands in the column unwind.',
    }),
    lines: optional(
      Type.Record(Type.String({ pattern: '^[a-z0-9_]+$' }), line, {
        additionalProperties: false,
        default: {},
        description: 'Lines that several unwinds feed, by id: where their joints may meet.',
      }),
    ),
    history: optional(
      section(
        {
          keep_samples: quantityOr('duration', '90 d', 'How long samples are kept.'),
          keep_traces: quantityOr(
            'duration',
            '90 d',
            'How long the traces of good splices, and earlier states of all records, are kept.',
          ),
          keep_bad_traces: quantityOr('duration', '2 y', 'How long the traces of other splices are kept.'),
          keep_audit: quantityOr('duration', '10 y', 'How long it is kept who did what; at least a year.'),
        },
        { default: {}, description: 'What this machine keeps; splices and alarms are kept for ever.' },
      ),
    ),
    database: optional(
      section(
        {
          url: text('Where it answers.', { pattern: '^https?://', examples: ['http://127.0.0.1:8086'] }),
          dialect: optional(choice(['v2', 'v1'], 'v1 for the older write path.', { default: 'v2' })),
          org: optional(text('Organisation (v2).', { default: 'lastwrap' })),
          bucket: optional(text('Bucket (v2) or database (v1).', { default: 'lastwrap' })),
          token_env: envName('the token'),
          token_file: secretFile('the token'),
          user,
        },
        { description: 'A time-series database that takes InfluxDB line protocol over HTTP.' },
      ),
    ),
    web,
    wall: optional(
      section(
        {
          screen: quantityOr('length', '43 in', 'Diagonal of the screen.'),
          distance: quantityOr('length', '8 m', 'From how far it is read.'),
        },
        { default: {}, description: 'The wall screen.' },
      ),
    ),
  },
  {
    $schema: 'https://json-schema.org/draft/2020-12/schema',
    $id: 'https://lastwrap.example/lastwrap.schema.json',
    title: 'Lastwrap config',
    additionalProperties: false,
    $defs: { signal: signalSchema, tag: tagSchema },
  },
)

/** The file as it is written: text with units, defaults not filled in. */
export type ConfigFile = Type.Static<typeof ConfigSchema>

/** The text of config/lastwrap.schema.json. */
export const jsonSchemaText = (): string => `${JSON.stringify(ConfigSchema, null, 2)}\n`
