/** Joints and differences to the PLC's count as JSON Schema; the compiler checks that each says what its interface says. */
import { type Static, Type } from 'typebox'
import {
  type CountDifference,
  type FinishedRollView,
  JOINT_EVENTS,
  JOINT_STATES,
  type JointEventRow,
  type JointRegister,
  type JointSideLay,
  type JointView,
  SIDE_LAY_REASONS,
} from '../joint-columns.ts'
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

const SideLaySchema = Type.Object({
  before: number('Of the old web at the joint, mm'),
  after: number('Of the new web, mm'),
  step: number('From the old to the new, mm'),
  drift: numberOrNull('How the old web wandered over the last 100 m, mm'),
  within: Type.Boolean({ description: 'Within the tolerance' }),
  reason: nullable(SIDE_LAY_REASONS, 'What lies off; null within the tolerance'),
})

const RegisterSchema = Type.Object({
  error: number('At the joint, within half a repeat, mm'),
  metres: numberOrNull('Web until it was back in register, m'),
  repeats: numberOrNull('The same in repeats'),
})

const JointStationSchema = Type.Object({
  station: text('Name of the station'),
  state: oneOf(JOINT_STATES, 'due, passed, out, or unconfirmed: passed, and nobody said that it was taken out'),
  takes_out: Type.Boolean({ description: 'The joint has to be taken out here' }),
  metres: number('Web until it is there, m; below 0 past it'),
  metres_deviation: number('Standard deviation, m'),
  seconds: numberOrNull('At the present speed, s'),
  arrived: timeOrNull('When it was there'),
  seen: timeOrNull("By the station's own sensor"),
  out: timeOrNull('When it was taken out'),
  out_by: textOrNull('Who said so, where it was a person'),
  finished_roll: textOrNull('At a rewinder: the finished roll in which it lies'),
  finished_roll_metres: numberOrNull("From that roll's start, m"),
})

export const JointViewSchema = Type.Object(
  {
    id: text('Id of its splice'),
    unwind: text('Id of the unwind'),
    made: time('The transfer'),
    stations: Type.Array(JointStationSchema),
    broke: Type.Unsafe<JointView['broke']>({
      anyOf: [
        Type.Object({
          time: time('When the web broke'),
          at_joint: Type.Boolean({ description: 'Where this joint was' }),
          station: textOrNull('The station, or splicer; null where no station was near'),
        }),
        { type: 'null' },
      ],
      description: 'The web broke while this joint was on its way',
    }),
    side_lay: Type.Unsafe<JointSideLay | null>({ anyOf: [SideLaySchema, { type: 'null' }] }),
    register: Type.Unsafe<JointRegister | null>({ anyOf: [RegisterSchema, { type: 'null' }] }),
  },
  { $id: 'JointView', description: "Information only: a gate's own control decides." },
)

export const JointEventSchema = Type.Object(
  {
    time: time('When'),
    unwind: text('Id of the unwind'),
    joint: text('Id of its splice'),
    station: text('Name of the station'),
    event: oneOf(
      JOINT_EVENTS,
      'arrived by web that passed; seen by the sensor; out; unconfirmed: nobody said that it was taken out',
    ),
    takes_out: Type.Boolean({ description: 'The joint has to be taken out here' }),
    metres: number('Past the station by web that passed, m; below 0 before it'),
    person: textOrNull('Who said that it was taken out, where a person did'),
    finished_roll: textOrNull('At a rewinder: the finished roll in which it lies'),
    finished_roll_metres: numberOrNull("From that roll's start, m"),
  },
  { $id: 'JointEvent', description: "Information only: a gate's own control decides." },
)

export const FinishedRollSchema = Type.Object(
  {
    unwind: text('Id of the unwind'),
    station: text('The rewinder'),
    roll: text('Identity of the finished roll'),
    joints: Type.Array(
      Type.Object({
        joint: text('Id of its splice'),
        arrived: time('When it was wound up'),
        metres: numberOrNull("From the roll's start, m; null where nobody saw it begin"),
        out: textOrNull('The station that took it out'),
      }),
    ),
  },
  { $id: 'FinishedRoll', description: 'A finished roll with the joints that are known in it.' },
)

export const CountDifferenceSchema = Type.Object(
  {
    unwind: text('Id of the unwind'),
    time: time('When'),
    kind: oneOf<CountDifference['kind']>(
      ['counted', 'seen'],
      'counted: the counter rose without a splice that was seen; seen: a splice without a count',
    ),
    splices: number('How many'),
  },
  { $id: 'CountDifference' },
)

export const JOINT_SCHEMAS = [JointViewSchema, JointEventSchema, FinishedRollSchema, CountDifferenceSchema] as const

export const JointViewRef = named(JointViewSchema)
export const JointEventRef = named(JointEventSchema)
export const FinishedRollRef = named(FinishedRollSchema)
export const CountDifferenceRef = named(CountDifferenceSchema)

// The compiler refuses this where a schema and its interface differ in a field, a type or what may be null.
export type JointSchemasMatch = [
  Holds<Same<Static<typeof JointViewSchema>, JointView>>,
  Holds<Same<Static<typeof SideLaySchema>, JointSideLay>>,
  Holds<Same<Static<typeof RegisterSchema>, JointRegister>>,
  Holds<Same<Static<typeof JointEventSchema>, JointEventRow>>,
  Holds<Same<Static<typeof FinishedRollSchema>, FinishedRollView>>,
  Holds<Same<Static<typeof CountDifferenceSchema>, CountDifference>>,
]
