/**
 * The API with the stand-in daemon, for working on pages: `node test/support/dev-api.ts`, then `npm run dev` beside it.
 * `PORT` sets another port (default 8421); `USERS=1` turns on sign-in and prints a set-up link.
 */
import { fileURLToPath } from 'node:url'
import { listen } from '../../edge/api/listen.ts'
import { buildServer } from '../../edge/api/server.ts'
import { systemClock } from '../../edge/clock.ts'
import { StandInDaemon } from './daemon-port.ts'
import { MemoryAccess, signInOver } from './memory-access.ts'

const daemon = new StandInDaemon({ nowMs: () => systemClock.nowMs() })
const say = (what: object, message: string): void => console.log(message, JSON.stringify(what))
const hasUsers = process.env['USERS'] === '1'
const web = {
  host: '127.0.0.1',
  port: Number(process.env['PORT'] ?? 8421),
  withoutSignIn: hasUsers ? 'viewer' : 'operator',
} as const
const store = new MemoryAccess()
const signIn = signInOver(store, systemClock)
const app = await buildServer({
  daemon,
  web,
  signIn,
  auditLog: store,
  dashboardDir: fileURLToPath(new URL('../../dashboard/dist', import.meta.url)),
  clock: systemClock,
  log: { info: say, warn: say, error: say },
})
const url = await listen(app, web)
systemClock.every(1000, () => daemon.tick())
if (hasUsers) console.log(`${url}/set-up#${signIn.newSetUpToken()}`)
console.log(`${url}/ (dashboard), ${url}/api/unwinds, ${url}/api/stream`)
for (const signal of ['SIGINT', 'SIGTERM'] as const)
  process.on(signal, () => void app.close().then(() => process.exit(0)))
