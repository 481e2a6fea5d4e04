import { X509Certificate } from 'node:crypto'
import { mkdtemp, readFile, rename, rm, stat, writeFile } from 'node:fs/promises'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterAll, beforeAll, beforeEach, describe, expect, test } from 'vitest'
import { systemClock } from '../../edge/clock.ts'
import { applicationUriOf, CertificateStore } from '../../edge/security/certificates.ts'
import { instanceId } from '../../edge/security/instance-id.ts'
import { readSecret } from '../../edge/security/secrets.ts'
import { certificateTrouble } from '../../edge/sources/opcua-trouble.ts'

let folder: string
beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), 'lastwrap-certificates-'))
})
afterAll(() => rm(folder, { recursive: true, force: true }))

test('the own certificate is made once, private, valid for years and back-dated', async () => {
  const nowMs = systemClock.nowMs()
  const store = await CertificateStore.open(join(folder, 'opcua'), nowMs)
  const pem = await readFile(store.own.certificateFile, 'utf8')
  const certificate = new X509Certificate(pem)
  expect(applicationUriOf(certificate)).toBe(store.own.applicationUri)
  expect(store.own.applicationUri).toMatch(/^urn:.+:Lastwrap$/)
  expect(Date.parse(certificate.validFrom)).toBeLessThan(nowMs - 20 * 86_400_000)
  expect(Date.parse(certificate.validTo)).toBeGreaterThan(nowMs + 3000 * 86_400_000)
  expect((await stat(store.own.privateKeyFile)).mode & 0o777).toBe(0o600)
  expect((await stat(store.folder)).mode & 0o777).toBe(0o700)
  expect((await stat(join(store.folder, 'own/private'))).mode & 0o777).toBe(0o700)
  expect(await CertificateStore.open(join(folder, 'opcua'), nowMs)).toBe(store)
})

test('a secret comes from where the config says, or a sentence says what is missing', async () => {
  const file = join(folder, 'password')
  await writeFile(file, 'open sesame\n')
  expect(await readSecret({ file })).toBe('open sesame')
  process.env['LASTWRAP_TEST_PASSWORD'] = 'from env'
  expect(await readSecret({ env: 'LASTWRAP_TEST_PASSWORD' })).toBe('from env')
  await expect(readSecret({ env: 'LASTWRAP_TEST_NOT_SET' })).rejects.toThrow('LASTWRAP_TEST_NOT_SET')
  await expect(readSecret({ file: join(folder, 'none') })).rejects.toThrow(
    `The file ${join(folder, 'none')}, which should hold a password, can't be read (no such file or directory): write`,
  )
  await expect(readSecret({})).rejects.toThrow('password_env')
})

test('the instance id stays', async () => {
  const first = await instanceId(join(folder, 'data'))
  expect(first).toMatch(/^[0-9a-f]{16}$/)
  expect(await instanceId(join(folder, 'data'))).toBe(first)
  await writeFile(join(folder, 'data/instance-id'), '')
  await expect(instanceId(join(folder, 'data'))).rejects.toThrow('remove it')
})

/** `openssl req/x509/ca` made these for the invented plant, valid for a century; their keys were thrown away. */
const fixture = (name: string): Promise<Buffer> => readFile(join(import.meta.dirname, 'certificates', name))

describe('trust in a server', () => {
  const HOST = 'plc-7.alder-quay.example'
  let store: CertificateStore
  let leaf: Buffer
  beforeEach(async () => {
    const own = await mkdtemp(join(folder, 'trust-'))
    store = await CertificateStore.open(own, systemClock.nowMs())
    leaf = new X509Certificate(await fixture('leaf.pem')).raw
  })
  const put = async (name: string, where: string): Promise<void> => {
    await writeFile(join(store.folder, where, name), await fixture(name))
  }

  test('an authority vouches for a server once a person trusts it, and only for the host it was made for', async () => {
    const unknown = await store.refusalOf(leaf, HOST)
    expect(unknown?.status).toMatch(/^BadCertificate(ChainIncomplete|Untrusted)$/)
    expect(unknown?.rejectedFile).toContain('/rejected/')
    await put('ca.pem', 'issuers/certs')
    await put('ca.pem', 'trusted/certs')
    expect((await store.refusalOf(leaf, HOST))?.status).toBe('BadCertificateRevocationUnknown')
    await put('crl.pem', 'issuers/crl')
    expect(await store.refusalOf(leaf, HOST)).toBeUndefined()
    expect((await store.refusalOf(leaf, '192.0.2.7'))?.status).toBe('BadCertificateHostNameInvalid')
    // A person who trusts this very certificate has said that it is the server's.
    await put('leaf.pem', 'trusted/certs')
    expect(await store.refusalOf(leaf, '192.0.2.7')).toBeUndefined()
  })

  test('an expired certificate is refused even where it is trusted', async () => {
    const file = join(store.folder, 'trusted/certs/expired.pem')
    await store.manager.createSelfSignedCertificate({
      applicationUri: 'urn:alder-quay-works:old-plc',
      dns: [HOST],
      outputFile: file,
      subject: '/CN=old-plc',
      startDate: new Date(systemClock.nowMs() - 10 * 86_400_000),
      validity: 1,
    })
    const expired = new X509Certificate(await readFile(file)).raw
    const refusal = await store.refusalOf(expired, HOST)
    expect(refusal?.status).toBe('BadCertificateTimeInvalid')
    const trouble = certificateTrouble({ name: 'plc', endpoint: 'opc.tcp://x' }, refusal!, undefined, store.folder)
    expect(trouble.message).toContain('has expired or is not valid yet')
  })

  test('a file in rejected/ that was moved to trusted/certs/ is trusted at the next look', async () => {
    await put('ca.pem', 'issuers/certs')
    await put('crl.pem', 'issuers/crl')
    const refusal = await store.refusalOf(leaf, HOST)
    const from = refusal?.rejectedFile ?? ''
    await rename(from, store.trustedFileFor(from))
    expect(await store.refusalOf(leaf, HOST)).toBeUndefined()
  })
})
