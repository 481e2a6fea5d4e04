/** Joints on their way through the line and what became of them, and where the PLC's own count differs from the list. */
import { Type } from 'typebox'
import { finishedRolls } from '../../joints/finished-rolls.ts'
import { personOf } from '../access.ts'
import type { ApiApp, RouteContext } from '../app.ts'
import { enterBy } from '../enter.ts'
import { Person } from '../schema-parts.ts'
import { DoneView, FAILURES } from '../schemas.ts'
import { CountDifferenceRef, FinishedRollRef, JointEventRef, JointViewRef } from '../schemas-joints.ts'
import { timeParameter } from '../time-parameter.ts'
import { unwindOf } from './unwinds.ts'

const MOST = 1000
const Query = Type.Object(
  {
    unwind: Type.Optional(Type.String({ description: 'Only this unwind' })),
    from: Type.Optional(Type.String({ description: 'At or after: ISO 8601 with a zone, or ms since 1970 UTC' })),
    to: Type.Optional(Type.String({ description: 'At or before, likewise' })),
    limit: Type.Integer({ minimum: 1, maximum: MOST, default: 200, description: 'At most so many, the newest' }),
  },
  { additionalProperties: false },
)
const RollQuery = Type.Object(
  { ...Query.properties, roll: Type.Optional(Type.String({ description: 'Only the finished roll of this identity' })) },
  { additionalProperties: false },
)
const span = ({ unwind, from, to, limit }: { unwind?: string; from?: string; to?: string; limit: number }) => ({
  unwind,
  fromTMs: timeParameter('from', from),
  toTMs: timeParameter('to', to),
  limit,
})

export const jointRoutes = (app: ApiApp, context: RouteContext): void => {
  const { daemon } = context
  const enter = enterBy(context)
  app.get(
    '/api/joints',
    {
      config: { role: 'viewer' },
      schema: {
        tags: ['joints'],
        summary: 'Joints, newest first, as they were when something last happened to each',
        querystring: Query,
        response: { 200: Type.Array(JointViewRef), ...FAILURES },
      },
    },
    (request) => daemon.joints(span(request.query)),
  )
  app.get(
    '/api/joint-events',
    {
      config: { role: 'viewer' },
      schema: {
        tags: ['joints'],
        summary: 'What happened to joints at stations, newest first; the live stream has each as the event `joint`',
        querystring: Query,
        response: { 200: Type.Array(JointEventRef), ...FAILURES },
      },
    },
    (request) => daemon.jointEvents(span(request.query)),
  )
  app.get(
    '/api/finished-rolls',
    {
      config: { role: 'viewer' },
      schema: {
        tags: ['joints'],
        summary:
          'Joints by the finished roll in which they lie, the newest roll first; of the newest joints that were made',
        querystring: RollQuery,
        response: { 200: Type.Array(FinishedRollRef), ...FAILURES },
      },
    },
    (request) => {
      const { roll } = request.query
      const rolls = finishedRolls(daemon.joints(span(request.query)).toReversed())
      return roll === undefined ? rolls : rolls.filter((one) => one.roll === roll)
    },
  )
  app.get(
    '/api/count-differences',
    {
      config: { role: 'viewer' },
      schema: {
        tags: ['joints'],
        summary: "Where the PLC's own count of splices and the list differ, newest first",
        querystring: Query,
        response: { 200: Type.Array(CountDifferenceRef), ...FAILURES },
      },
    },
    (request) => daemon.countDifferences(span(request.query)),
  )
  app.post(
    '/api/unwinds/:id/joints/:joint/out',
    {
      config: { role: 'operator' },
      schema: {
        tags: ['joints'],
        summary: 'A person says that a joint was taken out at a station',
        params: Type.Object({
          id: Type.String({ description: 'Id of the unwind' }),
          joint: Type.String({ description: 'Id of the splice that made it' }),
        }),
        body: Type.Object(
          {
            station: Type.String({ maxLength: 200, description: 'Name of the station' }),
            person: Person,
          },
          { additionalProperties: false },
        ),
        response: { 200: DoneView, ...FAILURES },
      },
    },
    (request) => {
      const { unwind } = unwindOf(daemon, request.params.id)
      const { station, person: named } = request.body
      const person = personOf(request, named)
      const { joint } = request.params
      return enter({ kind: 'joint_out', unwind, joint, station, person }, request.ip, '', `${joint} at ${station}`)
    },
  )
}
