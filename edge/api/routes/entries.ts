/** What people enter about the rolls and the job of an unwind. */
import { Type } from 'typebox'
import { JOB_FIELDS, STAGES, WINDINGS } from '../../entries.ts'
import { diameterMm } from '../../messages/render.ts'
import { personOf } from '../access.ts'
import type { ApiApp, RouteContext } from '../app.ts'
import { enterBy } from '../enter.ts'
import { failureOf, refused } from '../failures.ts'
import { ByUnwind, oneOf, orNull, Person } from '../schema-parts.ts'
import { DoneView, FAILURES } from '../schemas.ts'
import { EntriesViewRef } from '../schemas-entries.ts'
import { otherWords, shown } from '../sentences.ts'
import { ofUnwind, unwindOf } from './unwinds.ts'

const LONGEST = 100
/** A roll is no larger than this, mm and m. */
const WIDEST_MM = 20_000
const THICKEST_MM = 6_000
const LONGEST_M = 1_000_000

const word = (description: string) => Type.String({ maxLength: LONGEST, description })
const amount = (maximum: number, description: string) => Type.Number({ exclusiveMinimum: 0, maximum, description })
const Winding = oneOf(WINDINGS, 'Which way the printed or coated side faces')
const RollBody = Type.Object(
  {
    scan: Type.Optional(
      Type.String({
        maxLength: 300,
        description: "A label's code as a scanner types it; the other fields add to it and go before it",
      }),
    ),
    as_roll_id: Type.Optional(
      Type.Boolean({ description: "A code that is no label is the roll's number: asked for by the answer no_label" }),
    ),
    roll_id: Type.Optional(word('Number of the roll')),
    material: Type.Optional(word("Material's number")),
    diameter: Type.Optional(amount(THICKEST_MM, 'Outside diameter, mm')),
    length: Type.Optional(amount(LONGEST_M, 'Length on the label, m')),
    width: Type.Optional(amount(WIDEST_MM, 'Width of the web, mm')),
    winding: Type.Optional(Winding),
    hold: Type.Optional(Type.Boolean({ description: 'Quality has not released it' })),
    person: Person,
  },
  { additionalProperties: false },
)

const JobBody = Type.Object(
  {
    material: Type.Optional(orNull(word("Material's number"), 'What a roll must be; null takes it back')),
    width: Type.Optional(orNull(amount(WIDEST_MM, 'mm'), 'Width that it must have, mm; null takes it back')),
    winding: Type.Optional(orNull(Winding, 'How it must be wound; null takes it back')),
    remaining: Type.Optional(
      orNull(amount(LONGEST_M, 'm'), 'Web that the job needs from now on, m; null takes it back'),
    ),
    person: Person,
  },
  { additionalProperties: false },
)

export const entryRoutes = (app: ApiApp, context: RouteContext): void => {
  const { daemon, say } = context
  const enter = enterBy(context)

  app.get(
    '/api/unwinds/:id/entries',
    {
      config: { role: 'viewer' },
      schema: {
        tags: ['entries'],
        summary: 'What people entered about rolls and job, and whether the waiting roll is the right one',
        params: ByUnwind,
        response: { 200: EntriesViewRef, ...FAILURES },
      },
    },
    (request) => ofUnwind(daemon, request.params.id, (unwind) => daemon.entries(unwind)),
  )
  app.post(
    '/api/unwinds/:id/stages',
    {
      config: { role: 'operator' },
      schema: {
        tags: ['entries'],
        summary: 'A person says that a stage of preparing the next roll is done, or takes it back with what follows it',
        params: ByUnwind,
        body: Type.Object(
          { stage: oneOf(STAGES, 'Which stage'), done: Type.Boolean({ description: 'Done' }), person: Person },
          { additionalProperties: false },
        ),
        response: { 200: DoneView, ...FAILURES },
      },
    },
    (request) => {
      const { unwind } = unwindOf(daemon, request.params.id)
      const { stage, done, person: named } = request.body
      const person = personOf(request, named)
      return enter({ kind: 'stage', unwind, stage, done, person }, request.ip, `${stage} ${done}`)
    },
  )
  app.post(
    '/api/unwinds/:id/waiting-roll',
    {
      config: { role: 'operator' },
      schema: {
        tags: ['entries'],
        summary:
          'What is known of the roll that waits, in place of what was; without any field nothing is. Answers what is wrong with it',
        params: ByUnwind,
        body: RollBody,
        response: { 200: EntriesViewRef, ...FAILURES },
      },
    },
    (request) => {
      const { unwind, core_diameter: coreMm } = unwindOf(daemon, request.params.id)
      const { scan = '', as_roll_id: isNumber = false, person: named, ...typed } = request.body
      const person = personOf(request, named)
      const read = scan.trim() === '' ? undefined : daemon.readLabel(scan)
      if (read?.isLabel === false && !isNumber) {
        throw refused(say, 409, 'no_label', 'roll.no_label', { code: shown(scan.trim()) })
      }
      const roll = { ...read?.roll, ...typed }
      if (roll.diameter !== undefined && roll.diameter <= coreMm) {
        throw refused(say, 400, 'wrong_parameter', 'roll.too_small', {
          diameter: diameterMm(roll.diameter),
          core: diameterMm(coreMm),
        })
      }
      enter({ kind: 'waiting_roll', unwind, roll, person }, request.ip, JSON.stringify(roll))
      return ofUnwind(daemon, unwind, (id) => daemon.entries(id))
    },
  )
  app.post(
    '/api/unwinds/:id/job',
    {
      config: { role: 'operator' },
      schema: {
        tags: ['entries'],
        summary: 'What the running job asks of a roll, and how much web it still needs',
        params: ByUnwind,
        body: JobBody,
        response: { 200: EntriesViewRef, ...FAILURES },
      },
    },
    (request) => {
      const { unwind } = unwindOf(daemon, request.params.id)
      const { person: named, ...job } = request.body
      const person = personOf(request, named)
      if (JOB_FIELDS.every((field) => job[field] === undefined)) {
        throw failureOf(400, 'wrong_parameter', otherWords('no_job', { fields: JOB_FIELDS.join(', ') }))
      }
      enter({ kind: 'job', unwind, job, person }, request.ip, JSON.stringify(job))
      return ofUnwind(daemon, unwind, (id) => daemon.entries(id))
    },
  )
}
