/** Advice on each unwind and on the lines that several feed, what would be at another speed, and flags that people enter. */
import { Type } from 'typebox'
import { personOf } from '../access.ts'
import type { ApiApp, RouteContext } from '../app.ts'
import { enterBy } from '../enter.ts'
import { ByUnwind, Person } from '../schema-parts.ts'
import { DoneView, FAILURES } from '../schemas.ts'
import { AdviceViewRef, LineViewRef, WhatIfViewRef } from '../schemas-advice.ts'
import { ofUnwind, unwindOf } from './unwinds.ts'

/** No line runs outside of this, m/min. */
const SLOWEST = 0.1
const FASTEST = 5000
/** The thickest wound web that there is, mm. */
const DEEPEST = 3000

export const adviceRoutes = (app: ApiApp, context: RouteContext): void => {
  const { daemon } = context
  const enter = enterBy(context)
  app.get(
    '/api/unwinds/:id/advice',
    {
      config: { role: 'viewer' },
      schema: {
        tags: ['advice'],
        summary: 'Deadline, next splices, flags, splice diameter, caliper and roundness, each with its uncertainty',
        params: ByUnwind,
        response: { 200: AdviceViewRef, ...FAILURES },
      },
    },
    (request) => ofUnwind(daemon, request.params.id, (unwind) => daemon.advice(unwind)),
  )
  app.get(
    '/api/unwinds/:id/what-if',
    {
      config: { role: 'viewer' },
      schema: {
        tags: ['advice'],
        summary: 'The forecast as it would be at another line speed; changes nothing',
        params: ByUnwind,
        querystring: Type.Object(
          {
            speed: Type.Number({
              minimum: SLOWEST,
              maximum: FASTEST,
              description: 'Line speed, m/min',
              'x-unit': 'm/min',
            }),
          },
          { additionalProperties: false },
        ),
        response: { 200: WhatIfViewRef, ...FAILURES },
      },
    },
    (request) => ofUnwind(daemon, request.params.id, (unwind) => daemon.whatIf(unwind, request.query.speed)),
  )
  app.post(
    '/api/unwinds/:id/flags',
    {
      config: { role: 'operator' },
      schema: {
        tags: ['advice'],
        summary: 'A person marks a joint or defect inside a roll, by its radial depth when the roll was loaded',
        params: ByUnwind,
        body: Type.Object(
          {
            depth: Type.Number({
              'x-unit': 'mm',
              minimum: 0,
              maximum: DEEPEST,
              description: 'Below the outside when the roll was loaded, mm; 0 takes back all flags of that roll',
            }),
            roll: Type.Optional(
              Type.Unsafe<'running' | 'waiting'>({
                type: 'string',
                enum: ['running', 'waiting'],
                default: 'running',
                description: 'In which roll',
              }),
            ),
            person: Person,
          },
          { additionalProperties: false },
        ),
        response: { 200: DoneView, ...FAILURES },
      },
    },
    (request) => {
      const { unwind } = unwindOf(daemon, request.params.id)
      const { depth, roll = 'running', person: named } = request.body
      const person = personOf(request, named)
      return enter({ kind: 'flag', unwind, roll, depth, person }, request.ip, `${roll} ${depth} mm`)
    },
  )
  app.get(
    '/api/lines',
    {
      config: { role: 'viewer' },
      schema: {
        tags: ['advice'],
        summary: "Where the joints of several unwinds meet; advice only, the line's own interlock decides",
        response: { 200: Type.Array(LineViewRef), ...FAILURES },
      },
    },
    () => daemon.lines(),
  )
}
