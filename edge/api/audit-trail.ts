/**
 * Sees to it that no command goes unrecorded: where a route wrote no entry of its own, one with method, route and status is
 * written when it has been answered. So a route that is added later cannot forget it.
 */
import { AsyncLocalStorage } from 'node:async_hooks'
import type { Clock } from '../clock.ts'
import type { AuditEntry, AuditSink } from '../security/audit.ts'
import { actionOf, isCommand } from './access.ts'
import type { ApiApp } from './app.ts'

declare module 'fastify' {
  interface FastifyRequest {
    /** An entry of this request is in the audit. */
    trail: { isTold: boolean }
  }
}

export class AuditTrail implements AuditSink {
  readonly #sink: AuditSink
  readonly #clock: Clock
  readonly #present = new AsyncLocalStorage<{ isTold: boolean }>()

  constructor(sink: AuditSink, clock: Clock) {
    this.#sink = sink
    this.#clock = clock
  }

  record(entry: AuditEntry): void {
    const trail = this.#present.getStore()
    if (trail !== undefined) trail.isTold = true
    this.#sink.record(entry)
  }

  /** Has to come before the hooks and routes that record. */
  watch(app: ApiApp): void {
    app.decorateRequest('trail')
    app.addHook('onRequest', (request, _reply, done) => {
      request.trail = { isTold: false }
      this.#present.run(request.trail, done)
    })
    app.addHook('onResponse', async (request, { statusCode }) => {
      const { trail, session, ip, routeOptions } = request
      if (!isCommand(request) || trail.isTold || routeOptions.config.isQuiet === true) return
      this.#sink.record({
        tMs: this.#clock.nowMs(),
        person: session?.person ?? '',
        from: ip,
        action: actionOf(request),
        subject: '',
        result: statusCode < 400 ? 'done' : 'refused',
        detail: String(statusCode),
      })
    })
  }
}
