import { X509Certificate } from 'node:crypto'
import { mkdtemp, readFile, rm, stat, writeFile } from 'node:fs/promises'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterAll, beforeAll, expect, test } from 'vitest'
import { systemClock } from '../../edge/clock.ts'
import { applicationUriOf, CertificateStore } from '../../edge/security/certificates.ts'
import { instanceId } from '../../edge/security/instance-id.ts'
import { readSecret } from '../../edge/security/secrets.ts'

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
  await expect(readSecret({ file: join(folder, 'none') })).rejects.toThrow('cannot be read')
  await expect(readSecret({})).rejects.toThrow('password_env')
})

test('the instance id stays', async () => {
  const first = await instanceId(join(folder, 'data'))
  expect(first).toMatch(/^[0-9a-f]{16}$/)
  expect(await instanceId(join(folder, 'data'))).toBe(first)
  await writeFile(join(folder, 'data/instance-id'), '')
  await expect(instanceId(join(folder, 'data'))).rejects.toThrow('remove it')
})
