/**
 * Who may come in, for the daemon: accounts and audit in their file, sign-in over them, the first set-up link, and the certificate
 * under which the pages are served.
 */
import { join } from 'node:path'
import { Server as TlsServer } from 'node:tls'
import type { ApiApp } from './api/app.ts'
import type { WebOptions } from './api/server.ts'
import type { Clock } from './clock.ts'
import type { Config, WebConfig } from './config/config.ts'
import { reasonOf } from './errors.ts'
import { AccessStore } from './history/access-store.ts'
import { siteMessages } from './languages.ts'
import type { Log } from './log.ts'
import type { AuditSink } from './security/audit.ts'
import { AuditFlood } from './security/audit-flood.ts'
import { SignIn } from './security/sign-in.ts'
import { daysLeft, loadTls, ownTlsFiles, RENEW_DAYS, type SecureOptions } from './security/tls.ts'

const FLUSH_MS = 1000
/** A renewed certificate is looked for this often. */
const LOOK_AT_CERTIFICATE_MS = 60_000

export interface WebAccessOptions {
  config: Config
  dataDir: string
  clock: Clock
  log: Log
}

/** Where accounts and audit lie. */
export const accessFile = (dataDir: string): string => join(dataDir, 'access.sqlite')

export class WebAccess {
  readonly store: AccessStore
  readonly signIn: SignIn
  readonly audit: AuditSink
  readonly #options: WebAccessOptions
  readonly #stops: (() => void)[] = []
  #tls: SecureOptions | undefined

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
    )
  }

  /** What the server has to know of the way in. @throws LastwrapError where the certificate can't be used */
  async webOptions(): Promise<WebOptions> {
    const { web } = this.#options.config
    this.#tls = await this.#certificate()
    return { ...web, withoutSignIn: ROLE_WITHOUT[web.withoutSignIn], tls: this.#tls }
  }

  /** Takes over a renewed certificate while the server runs; a broken one changes nothing and is told. */
  watchCertificate(app: ApiApp): void {
    const server: unknown = app.server
    if (!(server instanceof TlsServer)) return
    this.#stops.push(this.#options.clock.every(LOOK_AT_CERTIFICATE_MS, () => void this.#renew(server)))
  }

  /** A link's token where no engineer can sign in yet. */
  setUpToken(): string | undefined {
    return this.signIn.users.hasEngineer ? undefined : this.signIn.newSetUpToken()
  }

  stop(): void {
    for (const stop of this.#stops.splice(0)) stop()
    this.store.close()
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

  async #renew(server: TlsServer): Promise<void> {
    const { log } = this.#options
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
