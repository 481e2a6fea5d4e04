/**
 * The way in, for the daemon: accounts and audit in their file, sign-in over them, the first set-up link, and the server of API
 * and pages with its certificate.
 */
import { join } from 'node:path'
import { Server as TlsServer } from 'node:tls'
import { fileURLToPath } from 'node:url'
import type { ApiApp } from './api/app.ts'
import { listen } from './api/listen.ts'
import type { DaemonPort } from './api/messages.ts'
import { buildServer, type WebOptions } from './api/server.ts'
import type { Clock } from './clock.ts'
import type { Config, WebConfig } from './config/config.ts'
import { reasonOf } from './errors.ts'
import { AccessStore } from './history/access-store.ts'
import { EVERY_LANGUAGE, siteMessages } from './languages.ts'
import type { Log } from './log.ts'
import type { AuditSink } from './security/audit.ts'
import { AuditFlood } from './security/audit-flood.ts'
import { SignIn } from './security/sign-in.ts'
import { daysLeft, loadTls, ownTlsFiles, RENEW_DAYS, type SecureOptions } from './security/tls.ts'

const FLUSH_MS = 1000
/** The audit is looked through for what is too old this often. */
const PRUNE_MS = 24 * 3_600_000
/** A renewed certificate is looked for this often. */
const LOOK_AT_CERTIFICATE_MS = 60_000

export interface WebAccessOptions {
  config: Config
  dataDir: string
  clock: Clock
  log: Log
  version: string
}

/** Dashboards are built beside the code by `npm ci`. */
const DASHBOARD = fileURLToPath(new URL('../dashboard/dist', import.meta.url))

/** Where accounts and audit lie. */
export const accessFile = (dataDir: string): string => join(dataDir, 'access.sqlite')

export class WebAccess {
  readonly store: AccessStore
  readonly signIn: SignIn
  readonly audit: AuditSink
  readonly #options: WebAccessOptions
  readonly #stops: (() => void | Promise<void>)[] = []
  #tls: SecureOptions | undefined
  #server: TlsServer | undefined

  /** @throws LastwrapError where accounts can't be kept in `dataDir` */
  constructor(options: WebAccessOptions) {
    const { config, dataDir, clock, log } = options
    this.#options = options
    this.store = new AccessStore(accessFile(dataDir), { nowMs: () => clock.nowMs() })
    if (this.store.notice !== undefined) log.warn({}, this.store.notice)
    const say = siteMessages(config.site.language)
    const flood = new AuditFlood(
      {
        record: (entry) => {
          this.store.record(entry)
          log.info({ audit: entry }, `${entry.action} ${entry.result}`)
        },
      },
      (count) => say('access.audit.flood', { count }),
    )
    this.audit = flood
    const idleMs = config.web.idleLockS * 1000
    this.signIn = new SignIn({ store: this.store, clock, audit: flood, idleMs, siteName: config.site.name, say })
    this.#stops.push(
      clock.every(FLUSH_MS, () => {
        flood.settle(clock.nowMs())
        this.store.flush()
      }),
      clock.every(PRUNE_MS, () => this.#pruneAudit()),
    )
    this.#pruneAudit()
  }

  /**
   * Serves API and pages. `setUpUrl` is where the first engineer's account is made, where there is none yet.
   * @throws LastwrapError where the port, or the certificate, can't be had
   */
  async serve(daemon: DaemonPort): Promise<{ url: string; setUpUrl: string | undefined }> {
    const { config, clock, log, version } = this.#options
    const { web, site } = config
    this.#tls = await this.#certificate()
    const app = await buildServer({
      language: site.language,
      say: siteMessages(site.language),
      languages: EVERY_LANGUAGE,
      daemon,
      web: { ...web, withoutSignIn: ROLE_WITHOUT[web.withoutSignIn], tls: this.#tls },
      signIn: this.signIn,
      auditLog: this.store,
      audit: this.audit,
      dashboardDir: DASHBOARD,
      clock,
      log,
      version,
    })
    this.#stops.push(() => app.close())
    const url = await listen(app, web)
    this.#watchCertificate(app)
    const token = this.signIn.users.hasEngineer ? undefined : this.signIn.newSetUpToken()
    return { url, setUpUrl: token === undefined ? undefined : `${url}/set-up#${token}` }
  }

  /** A changed file is an act as well, of whoever may write it. */
  configApplied(what: string): void {
    const tMs = this.#options.clock.nowMs()
    this.audit.record({ tMs, person: '', from: 'file', action: 'config', subject: '', result: 'done', detail: what })
  }

  /** Newest first, the file last: a request that is on its way is still recorded. */
  async stop(): Promise<void> {
    for (const stop of this.#stops.splice(0).reverse()) await stop()
    this.store.close()
  }

  /** Takes over a renewed certificate while the server runs; a broken one changes nothing and is told. */
  #watchCertificate(app: ApiApp): void {
    const server: unknown = app.server
    if (!(server instanceof TlsServer)) return
    this.#server = server
    this.#stops.push(this.#options.clock.every(LOOK_AT_CERTIFICATE_MS, () => void this.renewCertificate()))
  }

  async #certificate(): Promise<SecureOptions | undefined> {
    const { config, dataDir, clock, log } = this.#options
    const { tls, allowedHosts } = config.web
    if (tls === undefined) return undefined
    const nowTMs = clock.nowMs()
    const isOwn = tls === 'self_made'
    const files = isOwn ? await ownTlsFiles(join(dataDir, 'certificates', 'web'), allowedHosts, nowTMs) : tls
    const secure = await loadTls(files)
    const left = daysLeft(secure.cert, nowTMs)
    if (!isOwn && left < RENEW_DAYS && secure.cert !== this.#tls?.cert) {
      log.warn({}, `the certificate ${files.certificateFile} of the pages ends in ${left} days: renew it`)
    }
    return secure
  }

  /** That entries went is an entry itself. */
  #pruneAudit(): void {
    const { config, clock } = this.#options
    const tMs = clock.nowMs()
    const gone = this.store.pruneAudit(tMs - config.history.keepAuditS * 1000)
    if (gone === 0) return
    const detail = String(gone)
    this.audit.record({ tMs, person: '', from: '', action: 'audit pruned', subject: '', result: 'done', detail })
  }

  /** Looked for at once, too, where whoever renewed it says so. */
  async renewCertificate(): Promise<void> {
    const { log } = this.#options
    const server = this.#server
    if (server === undefined) return
    try {
      const secure = await this.#certificate()
      if (secure === undefined || (secure.cert === this.#tls?.cert && secure.key === this.#tls.key)) return
      server.setSecureContext(secure)
      this.#tls = secure
      log.info({}, 'the renewed certificate of the pages was taken over')
    } catch (thrown) {
      log.error({}, `the certificate of the pages can't be taken over, the last one is kept: ${reasonOf(thrown)}`)
    }
  }
}

const ROLE_WITHOUT = {
  nothing: 'nothing',
  look: 'viewer',
  operate: 'operator',
} as const satisfies Record<WebConfig['withoutSignIn'], WebOptions['withoutSignIn']>
