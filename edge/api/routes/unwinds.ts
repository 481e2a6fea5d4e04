/** Every unwind as it is now, and what a person knows about its next roll. */
import { Type } from 'typebox'
import { personOf } from '../access.ts'
import type { ApiApp, RouteContext } from '../app.ts'
import { enterBy } from '../enter.ts'
import { notFound } from '../failures.ts'
import type { DaemonPort, UnwindView } from '../messages.ts'
import { ByUnwind, Person } from '../schema-parts.ts'
import { ConsistencyViewRef, DoneView, FAILURES, UnwindViewRef } from '../schemas.ts'

export const unwindRoutes = (app: ApiApp, context: RouteContext): void => {
  const { daemon } = context
  const enter = enterBy(context)
  app.get(
    '/api/unwinds',
    {
      config: { role: 'viewer' },
      schema: {
        tags: ['unwinds'],
        summary: 'Every unwind now, in the order of the config',
        response: { 200: Type.Array(UnwindViewRef), ...FAILURES },
      },
    },
    () => daemon.unwinds(),
  )
  app.get(
    '/api/unwinds/:id',
    {
      config: { role: 'viewer' },
      schema: {
        tags: ['unwinds'],
        summary: 'One unwind now',
        params: ByUnwind,
        response: { 200: UnwindViewRef, ...FAILURES },
      },
    },
    (request) => unwindOf(daemon, request.params.id),
  )
  app.get(
    '/api/unwinds/:id/consistency',
    {
      config: { role: 'viewer' },
      schema: {
        tags: ['unwinds'],
        summary: 'Whether the tags of one unwind agree with each other, and which one looks wrong',
        params: ByUnwind,
        response: { 200: ConsistencyViewRef, ...FAILURES },
      },
    },
    (request) => ofUnwind(daemon, request.params.id, (unwind) => daemon.consistency(unwind)),
  )
  app.post(
    '/api/unwinds/:id/ready',
    {
      config: { role: 'operator' },
      schema: {
        tags: ['unwinds'],
        summary: 'A person says whether the next roll is ready, where no tag does',
        params: ByUnwind,
        body: Type.Object(
          {
            ready: Type.Boolean({ description: 'Loaded, prepared and armed' }),
            person: Person,
          },
          { additionalProperties: false },
        ),
        response: { 200: DoneView, ...FAILURES },
      },
    },
    (request) => {
      const { unwind } = unwindOf(daemon, request.params.id)
      const { ready, person: named } = request.body
      const person = personOf(request, named)
      return enter({ kind: 'ready', unwind, ready, person }, request.ip, String(ready))
    },
  )
}

export const unwindOf = (daemon: DaemonPort, id: string): UnwindView => {
  const views = daemon.unwinds()
  const view = views.find(({ unwind }) => unwind === id)
  if (view === undefined)
    throw notFound('unwind', id, 'there_are', { known: views.map(({ unwind }) => unwind).join(', ') || '–' })
  return view
}

/** What the daemon knows of one unwind; it may have left with a changed config since it was looked up. */
export const ofUnwind = <T>(daemon: DaemonPort, id: string, ask: (unwind: string) => T | undefined): T => {
  const { unwind } = unwindOf(daemon, id)
  const view = ask(unwind)
  if (view === undefined) throw notFound('unwind', unwind, 'taken_out')
  return view
}
