/** What every route file gets: the application with its types, and what it may use. */

import type { IncomingMessage, ServerResponse } from 'node:http'
import type { TypeBoxTypeProvider } from '@fastify/type-provider-typebox'
import type { FastifyBaseLogger, FastifyInstance, RawServerDefault } from 'fastify'
import type { Clock } from '../clock.ts'
import type { Messages } from '../messages/message.ts'
import type { AuditSink } from '../security/audit.ts'
import type { DaemonPort } from './messages.ts'
import type { StreamHub } from './stream.ts'

export type ApiApp = FastifyInstance<
  RawServerDefault,
  IncomingMessage,
  ServerResponse,
  FastifyBaseLogger,
  TypeBoxTypeProvider
>

/** The part of pino's logger that the API uses. */
export interface ApiLog {
  info(what: object, message: string): void
  warn(what: object, message: string): void
  error(what: object, message: string): void
}

export interface RouteContext {
  daemon: DaemonPort
  clock: Clock
  audit: AuditSink
  log: ApiLog
  hub: StreamHub
  /** Says a text of edge/messages in the site's language. */
  say: Messages
  /** The same in each language that there is. */
  languages: ReadonlyMap<string, Messages>
}
