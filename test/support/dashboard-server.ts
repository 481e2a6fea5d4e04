/** The real API and the built pages over the stand-in daemon, on a port of its own; can die and come back. */
import { listen } from '../../edge/api/listen.ts'
import type { UnwindView } from '../../edge/api/messages.ts'
import type { WebOptions } from '../../edge/api/server.ts'
import { buildServer } from '../../edge/api/server.ts'
import { type Clock, systemClock } from '../../edge/clock.ts'
import type { Role } from '../../edge/security/roles.ts'
import { DASHBOARD_DIR } from './build-dashboard.ts'
import { StandInDaemon, type StandInOptions } from './daemon-port.ts'
import { addUser, MemoryAccess, signInOver } from './memory-access.ts'

export interface DashboardServer {
  url: string
  daemon: StandInDaemon
  /** For the first engineer's account. */
  setUpUrl(): string
  /** Sets the daemon's clock forward. */
  advance(byMs: number): void
  /** Ends the server and all its connections, as a killed daemon would. */
  stop(): Promise<void>
  /** The same port again, as after an upgrade where `dashboardDir` holds other pages. */
  restart(dashboardDir?: string): Promise<void>
}

export interface DashboardOptions extends Partial<StandInOptions> {
  /** Acting needs a sign-in, and these people can; default: everybody may do what an operator may. */
  users?: Readonly<Record<string, { role: Role; password: string; mustChange?: boolean }>>
  web?: Partial<WebOptions>
  /** Changes what the stand-in shows: more unwinds, other states. */
  change?: (views: UnwindView[]) => UnwindView[]
  /** The daemon may throw on purpose: nothing of it goes to the console. */
  isQuiet?: boolean
}

export const startDashboard = async (options: DashboardOptions = {}): Promise<DashboardServer> => {
  let aheadMs = 0
  const clock: Clock = {
    nowMs: () => systemClock.nowMs() + aheadMs,
    every: (everyMs, run) => systemClock.every(everyMs, run),
  }
  const daemon = new StandInDaemon({ nowMs: () => clock.nowMs(), ...options })
  const { change } = options
  if (change !== undefined) {
    const original = daemon.unwinds.bind(daemon)
    daemon.unwinds = () => change(original())
  }
  const error = options.isQuiet === true ? () => undefined : (...what: unknown[]) => console.error(...what)
  const silent = { info: () => undefined, warn: () => undefined, error }
  const store = new MemoryAccess()
  const signIn = signInOver(store, clock)
  for (const [person, { role, password, mustChange }] of Object.entries(options.users ?? {})) {
    await addUser(signIn, person, role, password, mustChange)
  }
  let stopAll = async (): Promise<void> => undefined
  const open = async (port: number, dashboardDir = DASHBOARD_DIR): Promise<string> => {
    const withoutSignIn = options.users === undefined ? 'operator' : 'viewer'
    const web = { host: '127.0.0.1', port, withoutSignIn, ...options.web } as const
    const app = await buildServer({
      daemon,
      web,
      signIn,
      auditLog: store,
      dashboardDir,
      clock,
      log: silent,
      language: options.language ?? 'en',
    })
    const url = await listen(app, web)
    const stopTicking = systemClock.every(500, () => {
      try {
        daemon.tick()
      } catch (thrown) {
        error('The stand-in could not tick.', thrown)
      }
    })
    stopAll = async () => {
      stopTicking()
      await app.close()
    }
    return url
  }
  const url = await open(0)
  return {
    url,
    daemon,
    advance: (byMs) => {
      aheadMs += byMs
    },
    setUpUrl: () => `${url}/set-up#${signIn.newSetUpToken()}`,
    stop: () => stopAll(),
    restart: async (dashboardDir) => {
      await open(Number(new URL(url).port), dashboardDir)
    },
  }
}
