/** An API over the stand-in daemon with a clock that the test moves; nothing listens until the test says so. */

import type { ApiApp, ApiLog } from '../../edge/api/app.ts'
import { buildServer, type ServerOptions, type WebOptions } from '../../edge/api/server.ts'
import type { Clock } from '../../edge/clock.ts'
import { EVERY_LANGUAGE } from '../../edge/languages.ts'
import type { AuditEntry } from '../../edge/security/audit.ts'
import type { SignIn } from '../../edge/security/sign-in.ts'
import { StandInDaemon } from './daemon-port.ts'
import { MemoryAccess, signInOver } from './memory-access.ts'

/** 2026-03-02T06:00:00Z. */
export const TEST_START_MS = 1_772_431_200_000

export class HandClock implements Clock {
  #nowMs = TEST_START_MS
  readonly #timers = new Set<{ everyMs: number; dueMs: number; run: () => void }>()

  nowMs(): number {
    return this.#nowMs
  }

  every(everyMs: number, run: () => void): () => void {
    const timer = { everyMs, dueMs: this.#nowMs + everyMs, run }
    this.#timers.add(timer)
    return () => this.#timers.delete(timer)
  }

  get timers(): number {
    return this.#timers.size
  }

  advance(byMs: number): void {
    const endMs = this.#nowMs + byMs
    for (;;) {
      const due = [...this.#timers].filter(({ dueMs }) => dueMs <= endMs).sort((a, b) => a.dueMs - b.dueMs)[0]
      if (due === undefined) break
      this.#nowMs = due.dueMs
      due.dueMs += due.everyMs
      due.run()
    }
    this.#nowMs = endMs
  }
}

export interface TestApi {
  app: ApiApp
  daemon: StandInDaemon
  clock: HandClock
  /** Accounts and audit. */
  store: MemoryAccess
  signIn: SignIn
  audit: AuditEntry[]
  /** What went into the log, as text. */
  logged: string[]
}

export interface TestApiOptions extends Partial<Omit<ServerOptions, 'web'>> {
  /** Default: on loopback, and everybody may do what an operator may. */
  web?: Partial<WebOptions>
  store?: MemoryAccess
}

export const startApi = async (options: TestApiOptions = {}): Promise<TestApi> => {
  const clock = new HandClock()
  const store = options.store ?? new MemoryAccess()
  const daemon = new StandInDaemon({ nowMs: () => clock.nowMs() })
  const audit = store.audit
  const logged: string[] = []
  const note = (what: object, message: string): void => {
    logged.push(`${message} ${JSON.stringify(what)}`)
  }
  const log: ApiLog = { info: note, warn: note, error: note }
  const signIn = signInOver(store, clock)
  const app = await buildServer({
    daemon,
    signIn,
    auditLog: store,
    dashboardDir: '/nonexistent',
    clock,
    log,
    languages: EVERY_LANGUAGE,
    ...options,
    web: { host: '127.0.0.1', withoutSignIn: 'operator', ...options.web },
  })
  return { app, daemon, clock, store, signIn, audit, logged }
}
