import { execFile } from 'node:child_process'
import { generateKeyPairSync, X509Certificate } from 'node:crypto'
import { mkdtempSync, readFileSync, rmSync, statSync, writeFileSync } from 'node:fs'
import type { AddressInfo } from 'node:net'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { connect, type Server as TlsServer } from 'node:tls'
import { promisify } from 'node:util'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { daysLeft, loadTls, ownTlsFiles, type TlsFiles } from '../../edge/security/tls.ts'
import { startApi, TEST_START_MS } from '../support/start-api.ts'

const folder = mkdtempSync(join(tmpdir(), 'lastwrap-tls-'))
const DAY_MS = 86_400_000
let files: TlsFiles
beforeAll(async () => {
  files = await ownTlsFiles(folder, ['plant.example'], TEST_START_MS)
})
afterAll(() => rmSync(folder, { recursive: true }))

/** The version that client and server agree on, and the certificate that was shown. */
const handshake = (port: number, most: 'TLSv1.1' | 'TLSv1.2' | 'TLSv1.3') =>
  new Promise<{ protocol: string | null; fingerprint: string }>((resolve, reject) => {
    // Debian's own level refuses the old version in the client before the server is asked.
    const ciphers = 'DEFAULT@SECLEVEL=0'
    const options = {
      port,
      host: '127.0.0.1',
      rejectUnauthorized: false,
      minVersion: 'TLSv1' as const,
      maxVersion: most,
      ciphers,
    }
    const socket = connect(options, () => {
      resolve({ protocol: socket.getProtocol(), fingerprint: socket.getPeerCertificate().fingerprint256 })
      socket.destroy()
    })
    socket.on('error', reject)
  })

describe('the certificate that the monitor makes for its pages', () => {
  it('holds for this machine and the names that it was told, lasts, and its key is nobody else’s to read', async () => {
    const cert = new X509Certificate(readFileSync(files.certificateFile))
    for (const name of ['localhost', 'plant.example']) expect(cert.checkHost(name)).toBeDefined()
    expect(cert.checkIP('127.0.0.1')).toBeDefined()
    expect(daysLeft(cert.toString(), TEST_START_MS)).toBeGreaterThan(800)
    expect(statSync(files.keyFile).mode & 0o777).toBe(0o600)
  })

  it('stays until it ends soon', async () => {
    const before = readFileSync(files.certificateFile, 'utf8')
    await ownTlsFiles(folder, [], TEST_START_MS + 700 * DAY_MS)
    expect(readFileSync(files.certificateFile, 'utf8')).toBe(before)
    await ownTlsFiles(folder, [], TEST_START_MS + 800 * DAY_MS)
    expect(readFileSync(files.certificateFile, 'utf8')).not.toBe(before)
  })
})

describe('TLS', () => {
  it('serves the pages from version 1.2 on, sets Secure cookies, and takes over another certificate while it runs', async () => {
    const tls = await loadTls(files)
    const api = await startApi({ web: { tls } })
    await api.app.listen({ host: '127.0.0.1', port: 0 })
    const { port } = api.app.server.address() as AddressInfo
    // NIST SP 800-52r2 (from memory): 1.2 is the least.
    expect((await handshake(port, 'TLSv1.2')).protocol).toBe('TLSv1.2')
    const first = await handshake(port, 'TLSv1.3')
    expect(first.protocol).toBe('TLSv1.3')
    await expect(handshake(port, 'TLSv1.1')).rejects.toThrow(/version|alert|disconnected/i)
    const renewed = await ownTlsFiles(join(folder, 'other'), [], TEST_START_MS)
    ;(api.app.server as unknown as TlsServer).setSecureContext(await loadTls(renewed))
    expect((await handshake(port, 'TLSv1.3')).fingerprint).not.toBe(first.fingerprint)
    await api.app.close()
  })

  it('is what the health check of the container finds alive, whoever made the certificate', async () => {
    const api = await startApi({ web: { tls: await loadTls(files) } })
    await api.app.listen({ host: '127.0.0.1', port: 0 })
    const { port } = api.app.server.address() as AddressInfo
    const dockerfile = readFileSync(join(import.meta.dirname, '../../Dockerfile'), 'utf8')
    const [, ...args] = JSON.parse(/HEALTHCHECK [^[]*(\[.*\])$/m.exec(dockerfile)?.[1] ?? '') as string[]
    // Rejects where the status is not 0.
    await promisify(execFile)(process.execPath, args, {
      env: { LASTWRAP_HEALTH_URL: `https://127.0.0.1:${port}/api/alive` },
    })
    await api.app.close()
  })

  it.each([
    [
      'no file',
      () => ({ ...files, keyFile: join(folder, 'none') }),
      /none, which should hold the key of that certificate, can't be read/,
    ],
    [
      'no certificate',
      () => ({ ...files, certificateFile: files.keyFile }),
      /can't be used for TLS .*both have to be PEM/,
    ],
    ['another key', () => ({ ...files, keyFile: otherKey() }), /The key .*other\.pem is not that of the certificate/],
  ])('says what is wrong with %s', async (_, given, sentence) => {
    await expect(loadTls(given())).rejects.toMatchObject({
      code: 'wrong_input',
      message: expect.stringMatching(sentence),
    })
  })
})

const otherKey = (): string => {
  const file = join(folder, 'other.pem')
  const { privateKey } = generateKeyPairSync('ec', { namedCurve: 'P-256' })
  writeFileSync(file, privateKey.export({ type: 'pkcs8', format: 'pem' }))
  return file
}
