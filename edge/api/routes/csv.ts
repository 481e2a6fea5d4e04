/** What can be taken away as CSV: the filtered list and one trace, streamed. */
import { Readable } from 'node:stream'
import { Type } from 'typebox'
import type { ApiApp, RouteContext } from '../app.ts'
import { splicesCsv, traceCsv } from '../csv.ts'
import type { DaemonPort, SpliceFilter, SpliceView } from '../messages.ts'
import { FAILURES } from '../schemas.ts'
import { ById, FilterQuery, filterOf, spliceOf, traceOf } from './splices.ts'

const PAGE = 500

const answer = {
  200: { description: 'CSV', content: { 'text/csv': { schema: Type.Unsafe<Readable>({ type: 'string' }) } } },
  ...FAILURES,
}

/** @param name - of the file, of characters that every system takes. */
const headersFor = (name: string) => ({
  'content-type': 'text/csv; charset=utf-8',
  'content-disposition': `attachment; filename="${name.replace(/[^\w.-]+/g, '_')}.csv"`,
})

/** Page by page behind the last one of the page before: what comes in meanwhile moves nothing. */
function* pagesOf(daemon: DaemonPort, filter: Omit<SpliceFilter, 'limit'>): Generator<SpliceView[]> {
  let before: SpliceFilter['before']
  for (;;) {
    const page = daemon.splices({ ...filter, ...(before && { before }), limit: PAGE })
    const last = page.at(-1)
    if (last === undefined) return
    yield page
    if (page.length < PAGE) return
    before = { startedTMs: Date.parse(last.started), id: last.id }
  }
}

export const csvRoutes = (app: ApiApp, { daemon }: RouteContext): void => {
  app.get(
    '/api/splices.csv',
    {
      config: { role: 'viewer' },
      schema: {
        tags: ['splices'],
        summary: 'All splices that the filters leave, newest first, with their figures and what people added',
        querystring: Type.Object(FilterQuery, { additionalProperties: false }),
        response: answer,
      },
    },
    (request, reply) => {
      const filter = filterOf(daemon, request.query)
      void reply.headers(headersFor('splices'))
      return Readable.from(splicesCsv(pagesOf(daemon, filter)))
    },
  )
  app.get(
    '/api/splices/:id/trace.csv',
    {
      config: { role: 'viewer' },
      schema: { tags: ['splices'], summary: 'One splice second by second', params: ById, response: answer },
    },
    (request, reply) => {
      const { id } = spliceOf(daemon, request.params.id)
      const trace = traceOf(daemon, id)
      void reply.headers(headersFor(`trace_${id}`))
      return Readable.from(traceCsv(trace))
    },
  )
}
