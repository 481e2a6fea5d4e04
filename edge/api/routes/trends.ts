/** Is a splicer getting worse, what was done to it, what waits for maintenance, and the report of a shift or week. */
import { type Static, Type } from 'typebox'
import { TREND_METRICS } from '../../columns.ts'
import { personOf } from '../access.ts'
import type { ApiApp, RouteContext } from '../app.ts'
import { enterBy } from '../enter.ts'
import { notFound, wrongParameter } from '../failures.ts'
import { ByUnwind, oneOf, orNull, Person } from '../schema-parts.ts'
import { DoneView, FAILURES } from '../schemas.ts'
import { LogEntryRef, MaintenanceLineRef, ReportViewRef, ServiceViewRef, TrendsViewRef } from '../schemas-trends.ts'
import { shown } from '../sentences.ts'
import { serveBy } from '../serve.ts'
import { timeParameter } from '../time-parameter.ts'
import { refuseUnknownUnwind } from './splices.ts'
import { unwindOf } from './unwinds.ts'

const Note = Type.Optional(Type.String({ maxLength: 200, description: 'A batch, a word' }))
const MOST_SPLICES = 2000
/** Longest report, ms: five weeks, as a month has at most. */
const LONGEST_MS = 35 * 86_400_000

const ServiceBody = Type.Object(
  { item: Type.String({ maxLength: 100, description: 'Which, by its key in the config' }), note: Note, person: Person },
  { additionalProperties: false },
)
const ServiceDone = Type.Object({
  done: Type.Literal(true),
  person: Type.String({ description: 'Who said so now' }),
  existing: orNull(
    LogEntryRef,
    'What was entered within two minutes before and stands for this one too; null where this one was entered',
  ),
})
const UsualBody = Type.Object(
  { metric: oneOf(TREND_METRICS, 'Whose present level is usual from now on'), note: Note, person: Person },
  { additionalProperties: false },
)

export const trendRoutes = (app: ApiApp, context: RouteContext): void => {
  const { daemon } = context
  const enter = enterBy(context)
  const serve = serveBy(context)
  app.get(
    '/api/unwinds/:id/trends',
    {
      config: { role: 'viewer' },
      schema: {
        tags: ['trends'],
        summary: 'Is it getting worse? Charts of the newest good splices, trends that stand, what was done before',
        params: ByUnwind,
        querystring: Type.Object(
          {
            splices: Type.Integer({
              minimum: 1,
              maximum: MOST_SPLICES,
              default: 500,
              description: 'How many of the newest',
            }),
            side: Type.Optional(Type.String({ maxLength: 100, description: 'Only this side, by its own charts' })),
          },
          { additionalProperties: false },
        ),
        response: { 200: TrendsViewRef, ...FAILURES },
      },
    },
    async (request) => {
      const { unwind } = unwindOf(daemon, request.params.id)
      const { splices, side } = request.query
      return (await daemon.desk.trends(unwind, splices, side))!
    },
  )
  app.get(
    '/api/unwinds/:id/services',
    {
      config: { role: 'viewer' },
      schema: {
        tags: ['trends'],
        summary: 'What is changed or cleaned at its splicer, and how many splices ago',
        params: ByUnwind,
        response: { 200: Type.Array(ServiceViewRef), ...FAILURES },
      },
    },
    (request) => daemon.desk.services(unwindOf(daemon, request.params.id).unwind)!,
  )
  app.post(
    '/api/unwinds/:id/services',
    {
      config: { role: 'operator' },
      schema: {
        tags: ['trends'],
        summary:
          'A person changed or cleaned something: its count begins anew, and trends that stood are over. Said again within two minutes it is the same',
        params: ByUnwind,
        body: ServiceBody,
        response: { 200: ServiceDone, ...FAILURES },
      },
    },
    (request) => {
      const { unwind } = unwindOf(daemon, request.params.id)
      const { item, note = '', person: said }: Static<typeof ServiceBody> = request.body
      const known = (daemon.desk.services(unwind) ?? []).map((service) => service.item)
      if (!known.includes(item)) {
        throw known.length === 0
          ? notFound('service', item, 'listed')
          : notFound('service', item, 'use', { known: known.join(', ') })
      }
      const person = personOf(request, said)
      const existing = serve({ unwind, item, note: note.trim(), person }, request.ip) ?? null
      return { done: true as const, person, existing }
    },
  )
  app.post(
    '/api/unwinds/:id/usual',
    {
      config: { role: 'operator' },
      schema: {
        tags: ['trends'],
        summary: 'A person takes the present level of a metric as the usual one: it is learned anew',
        params: ByUnwind,
        body: UsualBody,
        response: { 200: DoneView, ...FAILURES },
      },
    },
    (request) => {
      const { unwind } = unwindOf(daemon, request.params.id)
      const { metric, note = '', person }: Static<typeof UsualBody> = request.body
      return enter({ kind: 'usual', unwind, metric, note, person: personOf(request, person) }, request.ip, metric)
    },
  )
  app.get(
    '/api/maintenance',
    {
      config: { role: 'viewer' },
      schema: {
        tags: ['trends'],
        summary: 'What waits for maintenance: trends, services that are due, settings that waste web',
        response: { 200: Type.Array(MaintenanceLineRef), ...FAILURES },
      },
    },
    () => daemon.desk.maintenance(),
  )
  app.get(
    '/api/log',
    {
      config: { role: 'viewer' },
      schema: {
        tags: ['trends'],
        summary: 'What was set, served and called, newest first',
        querystring: Type.Object(
          {
            from: Type.String({ description: 'Happened at or after: ISO 8601 with a zone, or ms since 1970 UTC' }),
            to: Type.String({ description: 'Happened at or before, likewise' }),
            unwind: Type.Optional(Type.String({ description: 'Only this unwind' })),
            limit: Type.Integer({
              minimum: 1,
              maximum: 1000,
              default: 200,
              description: 'At most so many, the newest',
            }),
          },
          { additionalProperties: false },
        ),
        response: { 200: Type.Array(LogEntryRef), ...FAILURES },
      },
    },
    (request) => {
      const { unwind, from, to, limit } = request.query
      const [fromTMs, toTMs] = [timeParameter('from', from)!, timeParameter('to', to)!]
      if (fromTMs > toTMs) throw wrongParameter('from', 'after_to')
      if (unwind !== undefined) refuseUnknownUnwind(daemon, unwind)
      return daemon.desk.log({ unwind, fromTMs, toTMs, limit })
    },
  )
  app.get(
    '/api/report',
    {
      config: { role: 'viewer' },
      schema: {
        tags: ['trends'],
        summary: 'A shift or a week: success with its interval, causes, lost time and waste, what was set and served',
        querystring: Type.Object(
          {
            from: Type.String({ description: 'Started at or after: ISO 8601 with a zone, or ms since 1970 UTC' }),
            to: Type.String({ description: 'Started at or before, likewise; at most five weeks later' }),
            unwind: Type.Optional(Type.String({ description: 'Only this unwind' })),
          },
          { additionalProperties: false },
        ),
        response: { 200: ReportViewRef, ...FAILURES },
      },
    },
    (request) => {
      const { unwind } = request.query
      const fromTMs = timeParameter('from', request.query.from)!
      const toTMs = timeParameter('to', request.query.to)!
      if (fromTMs > toTMs) throw wrongParameter('from', 'after_to')
      if (toTMs - fromTMs > LONGEST_MS) {
        throw wrongParameter('to', 'too_late', { value: shown(request.query.from) })
      }
      if (unwind !== undefined) refuseUnknownUnwind(daemon, unwind)
      return daemon.desk.report({ fromTMs, toTMs }, unwind)
    },
  )
}
