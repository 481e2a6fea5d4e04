/** Splices, newest first, and the trace of one. */
import { Type } from 'typebox'
import { CAUSES, type Cause, OUTCOMES, type Outcome } from '../../columns.ts'
import type { ApiApp, RouteContext } from '../app.ts'
import { failureOf, notFound, wrongParameter } from '../failures.ts'
import type { DaemonPort, SpliceFilter, SpliceView, TraceView } from '../messages.ts'
import { FAILURES, SpliceViewRef, TraceViewRef, WhyViewRef } from '../schemas.ts'
import { otherWords, shown } from '../sentences.ts'
import { timeParameter } from '../time-parameter.ts'

const MOST = 1000
export const ById = Type.Object({ id: Type.String({ description: "The splice's id" }) })

export const FilterQuery = {
  unwind: Type.Optional(Type.String({ description: 'Only this unwind' })),
  outcome: Type.Optional(
    Type.Unsafe<Outcome>({
      type: 'string',
      enum: [...OUTCOMES],
      description: 'Only this outcome, by a person’s word first',
    }),
  ),
  cause: Type.Optional(
    Type.Unsafe<Cause>({ type: 'string', enum: [...CAUSES], description: 'Only this cause, likewise' }),
  ),
  text: Type.Optional(
    Type.String({
      maxLength: 100,
      description:
        'Only with these words among rolls, materials, notes, what caused it and what was done; from four letters on a beginning will do',
    }),
  ),
  said: Type.Optional(
    Type.String({
      maxLength: 500,
      pattern: '^(thing|done)_[a-z_]+(,(thing|done)_[a-z_]+)*$',
      description:
        'What the words of text mean in the language of who asks, with commas: thing_knife_blunt,done_knife_changed. Any of them will do in their place',
    }),
  ),
  from: Type.Optional(Type.String({ description: 'Started at or after: ISO 8601 with a zone, or ms since 1970 UTC' })),
  to: Type.Optional(Type.String({ description: 'Started at or before, likewise' })),
}

const Query = Type.Object(
  {
    ...FilterQuery,
    limit: Type.Integer({ minimum: 1, maximum: MOST, default: 200, description: 'At most so many, the newest' }),
  },
  { additionalProperties: false },
)

export const spliceRoutes = (app: ApiApp, { daemon }: RouteContext): void => {
  app.get(
    '/api/splices',
    {
      config: { role: 'viewer' },
      schema: {
        tags: ['splices'],
        summary: 'Splices, newest first',
        querystring: Query,
        response: { 200: Type.Array(SpliceViewRef), ...FAILURES },
      },
    },
    (request) => {
      const { limit, ...asked } = request.query
      return daemon.splices({ ...filterOf(daemon, asked), limit })
    },
  )
  app.get(
    '/api/splices/:id',
    {
      config: { role: 'viewer' },
      schema: { tags: ['splices'], summary: 'One splice', params: ById, response: { 200: SpliceViewRef, ...FAILURES } },
    },
    (request) => spliceOf(daemon, request.params.id),
  )
  app.get(
    '/api/splices/:id/why',
    {
      config: { role: 'viewer' },
      schema: {
        tags: ['splices'],
        summary: 'Why it went as it did: what departs from the last good splices, and the band behind its trace',
        params: ById,
        response: { 200: WhyViewRef, ...FAILURES },
      },
    },
    async (request) => (await daemon.why(spliceOf(daemon, request.params.id).id))!,
  )
  app.get(
    '/api/splices/:id/trace',
    {
      config: { role: 'viewer' },
      schema: {
        tags: ['splices'],
        summary: 'One splice second by second',
        params: ById,
        response: { 200: TraceViewRef, ...FAILURES },
      },
    },
    (request) => {
      return traceOf(daemon, spliceOf(daemon, request.params.id).id)
    },
  )
}

/** What a query asks for. Throws a `Failure` that names the parameter. */
export const filterOf = (
  daemon: DaemonPort,
  asked: {
    unwind?: string
    outcome?: Outcome
    cause?: Cause
    text?: string
    said?: string
    from?: string
    to?: string
  },
): Omit<SpliceFilter, 'limit'> => {
  const { unwind, outcome, cause, text } = asked
  const fromTMs = timeParameter('from', asked.from)
  const toTMs = timeParameter('to', asked.to)
  if (fromTMs !== undefined && toTMs !== undefined && fromTMs > toTMs) {
    throw wrongParameter('from', 'after_to')
  }
  if (unwind !== undefined) refuseUnknownUnwind(daemon, unwind)
  return { unwind, outcome, cause, text, said: asked.said?.split(','), fromTMs, toTMs }
}

export const traceOf = (daemon: DaemonPort, id: string): TraceView => {
  const trace = daemon.trace(id)
  if (trace === undefined) {
    throw failureOf(404, 'not_found', otherWords('no_trace', { id: shown(id) }))
  }
  return trace
}

export const spliceOf = (daemon: DaemonPort, id: string): SpliceView => {
  const splice = daemon.splice(id)
  if (splice === undefined) throw notFound('splice', id, 'take_id', { route: '/api/splices' })
  return splice
}

/** An unwind that left the config may still have splices; one that has neither is a slip of the pen. */
export const refuseUnknownUnwind = (daemon: DaemonPort, unwind: string): void => {
  const known = daemon.unwinds().map((view) => view.unwind)
  if (known.includes(unwind) || daemon.splices({ unwind, limit: 1 }).length > 0) return
  throw wrongParameter('unwind', 'no_unwind', { value: shown(unwind), known: known.join(', ') })
}
