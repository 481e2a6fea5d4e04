/**
 * The API with the stand-in daemon, for working on pages: `node test/support/dev-api.ts`, then `npm run dev` beside it.
 * `PORT` sets another port (default 8421); `PASSWORD` turns on sign-in.
 */
import { fileURLToPath } from 'node:url'
import { listen } from '../../edge/api/listen.ts'
import { buildServer } from '../../edge/api/server.ts'
import { systemClock } from '../../edge/clock.ts'
import { passwordHashFrom } from '../../edge/security/password.ts'
import { StandInDaemon } from './daemon-port.ts'

const daemon = new StandInDaemon({ nowMs: () => systemClock.nowMs() })
const say = (what: object, message: string): void => console.log(message, JSON.stringify(what))
const web = { host: '127.0.0.1', port: Number(process.env['PORT'] ?? 8421) }
const password = process.env['PASSWORD']
const app = await buildServer({
  daemon,
  web,
  passwordHash: password === undefined ? undefined : await passwordHashFrom(password),
  dashboardDir: fileURLToPath(new URL('../../dashboard/dist', import.meta.url)),
  clock: systemClock,
  log: { info: say, warn: say, error: say },
})
const url = await listen(app, web)
systemClock.every(1000, () => daemon.tick())
console.log(`${url}/ (dashboard), ${url}/api/unwinds, ${url}/api/stream`)
for (const signal of ['SIGINT', 'SIGTERM'] as const)
  process.on(signal, () => void app.close().then(() => process.exit(0)))
