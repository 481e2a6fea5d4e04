/** The monitor's pages over TLS, as the process that a service manager starts: its certificate file is replaced while it runs. */
import { copyFileSync, mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { request } from 'node:https'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterAll, expect, test } from 'vitest'
import { ownTlsFiles, type TlsFiles } from '../../edge/security/tls.ts'
import { WebAccess } from '../../edge/web-access.ts'
import { StandInDaemon } from '../support/daemon-port.ts'
import { startDaemonProcess, until } from '../support/daemon-process.ts'
import { HandClock, TEST_START_MS } from '../support/start-api.ts'
import { configOf, configText } from '../unwinds/bench.ts'

const root = mkdtempSync(join(tmpdir(), 'lastwrap-certificate-'))
afterAll(() => rmSync(root, { recursive: true, force: true }))

const HSTS_S = 30 * 86_400
const MINUTE_MS = 60_000
const put = (files: TlsFiles): void => {
  copyFileSync(files.certificateFile, join(root, 'web.pem'))
  copyFileSync(files.keyFile, join(root, 'web.key'))
}
/** Which certificate is shown to somebody who comes now, and what the answer's head says. */
const come = (url: string) =>
  new Promise<{ fingerprint: string; hsts: string | undefined }>((resolve, reject) => {
    const asked = request(`${url}/api/alive`, { rejectUnauthorized: false, agent: false }, (answer) => {
      const socket = answer.socket as import('node:tls').TLSSocket
      const { fingerprint256: fingerprint } = socket.getPeerCertificate()
      answer.resume()
      resolve({ fingerprint, hsts: answer.headers['strict-transport-security'] })
    })
    asked.on('error', reject).end()
  })

test('is looked for every minute, by whoever it was renewed', async () => {
  const folder = join(root, 'by-time')
  mkdirSync(folder)
  const [first, second] = await Promise.all(
    ['a', 'b'].map((name) => ownTlsFiles(join(folder, name), [], TEST_START_MS)),
  )
  put(first!)
  const text = `${configText()}web: { listen: '127.0.0.1:0', tls: { certificate: ${root}/web.pem, key: ${root}/web.key } }\n`
  const clock = new HandClock()
  const silent = { debug: () => undefined, info: () => undefined, warn: () => undefined, error: () => undefined }
  const access = new WebAccess({ config: configOf(text), dataDir: folder, clock, log: silent, version: '0' })
  try {
    const { url } = await access.serve(new StandInDaemon({ nowMs: () => clock.nowMs() }))
    const before = await come(url)
    expect(before.hsts, 'browsers are told nothing that nobody asked for').toBeUndefined()
    put(second!)
    clock.advance(MINUTE_MS - 1)
    expect((await come(url)).fingerprint).toBe(before.fingerprint)
    clock.advance(1)
    await until('the new one is shown', 10_000, async () => (await come(url)).fingerprint !== before.fingerprint)
  } finally {
    await access.stop()
  }
})

test('a renewed certificate is taken over without a restart; a broken one is told and changes nothing', async () => {
  const names = ['first', 'second'].map((name) => join(root, name))
  const [first, second] = await Promise.all(names.map((folder) => ownTlsFiles(folder, [], Date.now())))
  put(first!)
  mkdirSync(join(root, 'data'))
  const web = `web: { listen: '127.0.0.1:0', tls: { certificate: web.pem, key: web.key, hsts: 30 d } }\n`
  const configFile = join(root, 'plant.yaml')
  writeFileSync(configFile, `${configText()}${web}`)
  const daemon = await startDaemonProcess(configFile, join(root, 'data'))
  try {
    expect(daemon.url).toMatch(/^https:/)
    const before = await come(daemon.url)
    expect(before.hsts).toBe(`max-age=${HSTS_S}`)
    // As whoever renews it does: the file is there, then the service is told.
    writeFileSync(join(root, 'web.pem'), 'no certificate')
    daemon.process.kill('SIGHUP')
    await until('the broken one is told', 10_000, () =>
      daemon.lines.some((line) => /certificate of the pages can't be taken over, the last one is kept/.test(line)),
    )
    expect((await come(daemon.url)).fingerprint).toBe(before.fingerprint)
    put(second!)
    daemon.process.kill('SIGHUP')
    await until(
      'the new one is shown',
      10_000,
      async () => (await come(daemon.url)).fingerprint !== before.fingerprint,
      () => daemon.lines,
    )
  } finally {
    await daemon.end('SIGTERM')
  }
}, 60_000)
