/** Is the process alive (`alive`, `health`), and does it know what it shows (`ready`). */

import { Type } from 'typebox'
import type { Messages } from '../../messages/message.ts'
import type { ApiApp, RouteContext } from '../app.ts'
import type { UnwindView } from '../messages.ts'
import { messagesFor } from '../reader-language.ts'
import { FAILURES, HealthViewRef, ReadyViewRef } from '../schemas.ts'

export const healthRoutes = (app: ApiApp, { daemon, say, languages }: RouteContext): void => {
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
        summary: 'Every unwind has fresh speed, diameter and festoon, else 503 with what is missing where',
        response: { 200: ReadyViewRef, 503: ReadyViewRef, ...FAILURES },
      },
    },
    (request, reply) => {
      const messages = messagesFor(request.headers['accept-language'], { say, languages })
      const lacking = daemon.unwinds().flatMap((view) => lackOf(view, messages) ?? [])
      const sentences = [daemon.health().store.trouble, ...lacking.map(({ reason }) => reason)].filter(
        (one) => one !== null,
      )
      void reply.code(sentences.length === 0 ? 200 : 503)
      return {
        ready: sentences.length === 0,
        without_data: lacking.map(({ unwind }) => unwind),
        missing: lacking.flatMap(({ missing }) => missing),
        reason: sentences.length === 0 ? null : sentences.join(' '),
      }
    },
  )
}

/** What the countdown, or the festoon of a splice, rests on. */
const NEEDED: ReadonlySet<string> = new Set(['line_speed', 'roll_diameter', 'active_spindle', 'buffer_position'])

interface Lack {
  unwind: string
  missing: ({ unwind: string } & UnwindView['stale'][number])[]
  reason: string
}

/** Undefined where everything that is needed is fresh. */
function lackOf({ unwind, state, stale, buffer, reason_words }: UnwindView, messages: Messages): Lack | undefined {
  const missing = stale
    .filter(({ signal }) => NEEDED.has(signal) && (signal !== 'buffer_position' || buffer !== null))
    .map((one) => ({ unwind, ...one }))
  if (missing.length === 0) {
    if (state !== 'unknown') return undefined
    const { key, parameters } = reason_words ?? { key: 'reason.waiting' }
    return { unwind, missing, reason: `${unwind}: ${messages(key, parameters)}` }
  }
  const named = missing.map(({ signal, source, address, seconds }) =>
    messages('ready.tag', { signal, source, address, seconds: Math.round(seconds) }),
  )
  return { unwind, missing, reason: messages('ready.lacks', { unwind, list: named.join(', ') }) }
}
