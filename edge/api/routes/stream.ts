/** The live stream of server-sent events; `stream.ts` one folder up does the work. */
import { Type } from 'typebox'
import type { ApiApp, RouteContext } from '../app.ts'
import { failureOf } from '../failures.ts'
import { FAILURES } from '../schemas.ts'
import { otherWords } from '../sentences.ts'
import type { StreamHub } from '../stream.ts'

declare module 'fastify' {
  interface FastifyInstance {
    /** How many screens read, and how many frames slow ones missed. */
    streamHub: StreamHub
  }
}

export const streamRoutes = (app: ApiApp, { hub }: RouteContext): void => {
  app.decorate('streamHub', hub)
  app.get(
    '/api/stream',
    {
      config: { role: 'viewer' },
      // A HEAD would open a stream that nobody reads.
      exposeHeadRoute: false,
      schema: {
        tags: ['stream'],
        summary:
          'Events `unwinds` (at least once a second), `splice`, `alarm`, `joint`, `health`; for screens `hello` and `changes`',
        querystring: Type.Object({
          changes: Type.Optional(
            Type.Boolean({
              description:
                'Fields that changed as `changes` in the place of whole `unwinds`, with the digits of a screen',
            }),
          ),
        }),
        response: {
          200: { description: 'Events', content: { 'text/event-stream': { schema: Type.String() } } },
          ...FAILURES,
        },
      },
    },
    (request, reply) => {
      if (hub.isFull) {
        void reply.header('retry-after', '10')
        throw failureOf(503, 'too_many', otherWords('screens', { count: hub.clients }))
      }
      const headers = reply.getHeaders()
      reply.hijack()
      reply.raw.writeHead(200, {
        ...(headers as Record<string, string>),
        'content-type': 'text/event-stream; charset=utf-8',
        'cache-control': 'no-store',
        // A proxy that collects before it passes on would freeze the countdown.
        'x-accel-buffering': 'no',
      })
      hub.add(reply.raw, request.query.changes === true, () => app.stillLooks(request))
    },
  )
  app.addHook('onReady', async () => hub.start())
  app.addHook('preClose', async () => hub.stop())
}
