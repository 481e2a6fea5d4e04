/** The real API and the built pages over the stand-in daemon, on a port of its own; can die and come back. */
import { listen } from '../../edge/api/listen.ts'
import type { UnwindView } from '../../edge/api/messages.ts'
import { buildServer } from '../../edge/api/server.ts'
import { systemClock } from '../../edge/clock.ts'
import { passwordHashFrom } from '../../edge/security/password.ts'
import { DASHBOARD_DIR } from './build-dashboard.ts'
import { StandInDaemon, type StandInOptions } from './daemon-port.ts'

export interface DashboardServer {
  url: string
  daemon: StandInDaemon
  /** Ends the server and all its connections, as a killed daemon would. */
  stop(): Promise<void>
  /** The same port again. */
  restart(): Promise<void>
}

export interface DashboardOptions extends Partial<StandInOptions> {
  password?: string
  /** Changes what the stand-in shows: more unwinds, other states. */
  change?: (views: UnwindView[]) => UnwindView[]
  /** The daemon may throw on purpose: nothing of it goes to the console. */
  isQuiet?: boolean
}

export const startDashboard = async (options: DashboardOptions = {}): Promise<DashboardServer> => {
  const daemon = new StandInDaemon({ nowMs: () => systemClock.nowMs(), ...options })
  const { change } = options
  if (change !== undefined) {
    const original = daemon.unwinds.bind(daemon)
    daemon.unwinds = () => change(original())
  }
  const error = options.isQuiet === true ? () => undefined : (...what: unknown[]) => console.error(...what)
  const silent = { info: () => undefined, warn: () => undefined, error }
  const passwordHash = options.password === undefined ? undefined : await passwordHashFrom(options.password)
  let stopAll = async (): Promise<void> => undefined
  const open = async (port: number): Promise<string> => {
    const web = { host: '127.0.0.1', port }
    const dashboardDir = DASHBOARD_DIR
    const app = await buildServer({ daemon, web, dashboardDir, clock: systemClock, log: silent, passwordHash })
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
    stop: () => stopAll(),
    restart: async () => {
      await open(Number(new URL(url).port))
    },
  }
}
