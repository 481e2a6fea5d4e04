/** Is the process alive (`alive`, `health`), and does it know what it shows (`ready`). */

import { Type } from 'typebox'
import type { ApiApp, RouteContext } from '../app.ts'
import type { UnwindView } from '../messages.ts'
import { FAILURES, HealthViewRef, ReadyViewRef } from '../schemas.ts'

export const healthRoutes = (app: ApiApp, { daemon }: RouteContext): void => {
  app.get(
    '/api/alive',
    {
      config: { role: 'viewer', isOpen: true },
      schema: {
        tags: ['health'],
        summary: 'The process answers; tells nothing else, so it is open to whoever watches over the machine',
        response: { 200: Type.Object({ alive: Type.Boolean() }), ...FAILURES },
      },
    },
    () => ({ alive: true }),
  )
  app.get(
    '/api/health',
    {
      config: { role: 'viewer' },
      schema: {
        tags: ['health'],
        summary: 'The process is alive: always 200, with what is in trouble',
        response: { 200: HealthViewRef, ...FAILURES },
      },
    },
    () => daemon.health(),
  )
  app.get(
    '/api/ready',
    {
      config: { role: 'viewer' },
      schema: {
        tags: ['health'],
        summary: 'Every unwind has fresh data, else 503',
        response: { 200: ReadyViewRef, 503: ReadyViewRef, ...FAILURES },
      },
    },
    (_request, reply) => {
      const lacking = daemon.unwinds().filter(({ state }) => state === 'unknown')
      const reason = daemon.health().store.trouble ?? reasonFor(lacking)
      void reply.code(reason === null ? 200 : 503)
      return { ready: reason === null, without_data: lacking.map(({ unwind }) => unwind), reason }
    },
  )
}

const reasonFor = (lacking: readonly UnwindView[]): string | null => {
  const [first] = lacking
  if (first === undefined) return null
  return first.reason ?? `${first.unwind} has no fresh data.`
}
