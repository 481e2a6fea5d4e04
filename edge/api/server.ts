/**
 * Builds the API: routes, checks and the dashboard's files. It does not listen, so that tests ask it without a port;
 * `listen.ts` opens it.
 */
import { hostname } from 'node:os'
import fastifyStatic from '@fastify/static'
import fastifySwagger from '@fastify/swagger'
import type { TypeBoxTypeProvider } from '@fastify/type-provider-typebox'
import fastify, { type FastifyServerOptions } from 'fastify'
import type { Clock } from '../clock.ts'
import { createMessages, type Messages } from '../messages/message.ts'
import type { AuditLog, AuditSink } from '../security/audit.ts'
import { SECURITY_HEADERS } from '../security/headers.ts'
import { mayAct, type Role, refuseRoutesWithoutRole } from '../security/roles.ts'
import type { SignIn } from '../security/sign-in.ts'
import type { SecureOptions } from '../security/tls.ts'
import { guardAccess } from './access.ts'
import type { ApiApp, ApiLog, RouteContext } from './app.ts'
import { AuditTrail } from './audit-trail.ts'
import { redirectToBase, withoutBasePath } from './base-path.ts'
import { answerError, answerFailures } from './failures.ts'
import { withFiniteNumbers } from './finite.ts'
import type { DaemonPort } from './messages.ts'
import { adviceRoutes } from './routes/advice.ts'
import { alarmRoutes } from './routes/alarms.ts'
import { auditRoutes } from './routes/audit.ts'
import { csvRoutes } from './routes/csv.ts'
import { dashboardBuild, dashboardRoutes } from './routes/dashboard.ts'
import { descriptionRoutes } from './routes/description.ts'
import { entryRoutes } from './routes/entries.ts'
import { handoverRoutes } from './routes/handover.ts'
import { healthRoutes } from './routes/health.ts'
import { historyRoutes } from './routes/history.ts'
import { jointRoutes } from './routes/joints.ts'
import { type SessionContext, sessionRoutes } from './routes/session.ts'
import { signalRoutes } from './routes/signals.ts'
import { spliceEntryRoutes } from './routes/splice-entries.ts'
import { spliceTakeBackRoutes } from './routes/splice-take-back.ts'
import { spliceRoutes } from './routes/splices.ts'
import { streamRoutes } from './routes/stream.ts'
import { trendRoutes } from './routes/trends.ts'
import { unwindRoutes } from './routes/unwinds.ts'
import { userRoutes } from './routes/users.ts'
import { NAMED_SCHEMAS } from './schemas.ts'
import { ACCESS_SCHEMAS } from './schemas-access.ts'
import { ADVICE_SCHEMAS } from './schemas-advice.ts'
import { HandoverViewSchema } from './schemas-handover.ts'
import { JOINT_SCHEMAS } from './schemas-joints.ts'
import { TREND_SCHEMAS } from './schemas-trends.ts'
import { serialiseOnDemand } from './serialise.ts'
import { StreamHub } from './stream.ts'
import { validateInput } from './validation.ts'

const BODY_LIMIT_BYTES = 64 * 1024
/** A request that takes longer to arrive is somebody holding sockets. */
const REQUEST_TIMEOUT_MS = 10_000
const MOST_CONNECTIONS = 500
/** Ids hold an unwind's name, an alarm's and a time. */
const MAX_PARAM_LENGTH = 200

export interface WebOptions {
  readonly host: string
  /** Further names under which it is reached, such as a reverse proxy's. */
  readonly allowedHosts?: readonly string[]
  /** Where the pages lie under a proxy that passes the whole path on: begins with a slash, ends with none. */
  readonly basePath?: string
  /** Addresses whose X-Forwarded-For, -Host and -Proto are believed. */
  readonly trustedProxies?: readonly string[]
  /** What somebody may do who is not signed in; default `viewer`. */
  readonly withoutSignIn?: Role | 'nothing'
  readonly tls?: SecureOptions | undefined
  /** Told over TLS of our own only: what stands before us says it for itself. s. */
  readonly hstsS?: number | undefined
}

export interface ServerOptions {
  daemon: DaemonPort
  web: WebOptions
  signIn: SignIn
  /** The durable log, where sign-in, commands and refusals go. */
  auditLog: AuditLog
  /** Default: the durable log; every entry goes there first. */
  audit?: AuditSink
  /** Where Vite put the dashboard. */
  dashboardDir: string
  clock: Clock
  log: ApiLog
  mostStreams?: number
  version?: string
  /** Language of pages that nobody chose one for, and the texts that the API itself says in it; default English. */
  language?: string
  say?: Messages
  /** The same in each language that a program may ask for. */
  languages?: ReadonlyMap<string, Messages>
}

export const buildServer = async (options: ServerOptions): Promise<ApiApp> => {
  const { daemon, web, signIn, clock, log } = options
  const { say = createMessages('en'), language = 'en', languages = new Map() } = options
  const { basePath = '', trustedProxies = [], withoutSignIn = 'viewer' } = web
  const settings: FastifyServerOptions = {
    logger: false,
    bodyLimit: BODY_LIMIT_BYTES,
    requestTimeout: REQUEST_TIMEOUT_MS,
    routerOptions: { maxParamLength: MAX_PARAM_LENGTH },
    // Open streams would hold `close` for ever.
    forceCloseConnections: true,
    frameworkErrors: (error, request, reply) => answerError(error, request, reply, { log, say }),
    ...(trustedProxies.length > 0 && { trustProxy: [...trustedProxies] }),
    ...(basePath !== '' && { rewriteUrl: ({ url = '/' }) => withoutBasePath(url, basePath) }),
    ...(web.tls !== undefined && { https: web.tls }),
  }
  const app: ApiApp = fastify(settings).withTypeProvider<TypeBoxTypeProvider>()
  app.server.maxConnections = MOST_CONNECTIONS
  // What a page of another site may send without asking first (form data, plain text) is not taken at all.
  app.removeContentTypeParser('text/plain')

  const audit = new AuditTrail(options.audit ?? options.auditLog, clock)
  const hub = new StreamHub({
    daemon,
    clock,
    log,
    build: await dashboardBuild(options.dashboardDir),
    ...(options.mostStreams !== undefined && { mostClients: options.mostStreams }),
  })
  const context: RouteContext = { daemon, clock, audit, log, hub, say, languages }
  const access: SessionContext = { ...context, signIn, actsWithoutSignIn: actsAlone(withoutSignIn), basePath }

  if (basePath !== '') redirectToBase(app, basePath)
  refuseRoutesWithoutRole(app)
  audit.watch(app)
  app.addHook('onRequest', async (request, reply) => {
    reply.headers(SECURITY_HEADERS)
    if (web.tls !== undefined && web.hstsS !== undefined)
      reply.header('strict-transport-security', `max-age=${Math.round(web.hstsS)}`)
    if (request.url.startsWith('/api/')) reply.header('cache-control', 'no-store')
  })
  app.addHook('preSerialization', async (_request, _reply, payload) => withFiniteNumbers(payload))
  answerFailures(app, { log, say })
  guardAccess(app, {
    hostRule: { listenHost: web.host, allowedHosts: web.allowedHosts ?? [], machineName: hostname() },
    signIn,
    withoutSignIn,
    clock,
    audit,
    say,
  })
  validateInput(app)
  serialiseOnDemand(app)
  for (const schema of [
    ...NAMED_SCHEMAS,
    ...ACCESS_SCHEMAS,
    ...ADVICE_SCHEMAS,
    ...JOINT_SCHEMAS,
    ...TREND_SCHEMAS,
    HandoverViewSchema,
  ])
    app.addSchema(schema)
  await app.register(fastifySwagger, {
    openapi: {
      openapi: '3.1.0',
      info: {
        title: 'Lastwrap',
        version: options.version ?? daemon.health().version,
        description:
          'What the unwinds do now, their splices and alarms. Lengths m, diameters mm, caliper µm, speed m/min, durations s; times ISO 8601 UTC; unknown is null. The monitor only reads: it stops nothing and guards no one.',
      },
      servers: [{ url: `${basePath}/` }],
    },
    refResolver: { buildLocalReference: (json) => String(json.$id) },
  })
  await app.register(fastifyStatic, { root: options.dashboardDir, serve: false, preCompressed: true })
  healthRoutes(app, context)
  unwindRoutes(app, context)
  jointRoutes(app, context)
  adviceRoutes(app, context)
  entryRoutes(app, context)
  handoverRoutes(app, context)
  historyRoutes(app, context)
  signalRoutes(app, context)
  spliceRoutes(app, context)
  trendRoutes(app, context)
  spliceEntryRoutes(app, context)
  spliceTakeBackRoutes(app, context)
  csvRoutes(app, context)
  alarmRoutes(app, context)
  streamRoutes(app, context)
  sessionRoutes(app, access)
  userRoutes(app, access)
  auditRoutes(app, context, options.auditLog)
  descriptionRoutes(app)
  dashboardRoutes(app, options.dashboardDir, language)
  return app
}

const actsAlone = (withoutSignIn: Role | 'nothing'): boolean =>
  withoutSignIn !== 'nothing' && mayAct(withoutSignIn, 'operator')
