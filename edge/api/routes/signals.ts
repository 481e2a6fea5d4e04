/** Every source and tag as it is read now: is what it reads true? */
import type { ApiApp, RouteContext } from '../app.ts'
import { FAILURES } from '../schemas.ts'
import { SignalsViewRef } from '../schemas-signals.ts'

export const signalRoutes = (app: ApiApp, { daemon }: RouteContext): void => {
  app.get(
    '/api/signals',
    {
      config: { role: 'viewer' },
      schema: {
        tags: ['signals'],
        summary: 'Every source and tag now: value, unit, quality, age, rate, gaps, clock offset',
        response: { 200: SignalsViewRef, ...FAILURES },
      },
    },
    () => daemon.signals(),
  )
}
