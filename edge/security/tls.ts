/**
 * TLS for the pages: a certificate of the site's own, or one that the monitor makes for itself. TLS 1.2 is the least (IEC 62443-4-2
 * CR 4.3; NIST SP 800-52r2, from memory).
 */
import { createPrivateKey, X509Certificate } from 'node:crypto'
import { chmod, mkdir, readFile } from 'node:fs/promises'
import { hostname, networkInterfaces } from 'node:os'
import { join } from 'node:path'
import { fileReasonOf, LastwrapError, reasonOf } from '../errors.ts'

const DAY_MS = 24 * 3600 * 1000
/** Some browsers refuse a certificate that is valid for longer (from memory). */
const VALID_DAYS = 825
/** A self-made one is made anew, and a person is told of any other, so long before it ends. */
export const RENEW_DAYS = 30
/** Clocks of panels are often behind, days. */
const BACKDATED_DAYS = 2

export interface TlsFiles {
  readonly certificateFile: string
  readonly keyFile: string
}

export interface SecureOptions {
  readonly cert: string
  readonly key: string
  readonly minVersion: 'TLSv1.2'
}

/** @throws LastwrapError `wrong_input` where the files hold no certificate with its key */
export async function loadTls({ certificateFile, keyFile }: TlsFiles): Promise<SecureOptions> {
  const cert = await textOf(certificateFile, 'the certificate of the pages')
  const key = await textOf(keyFile, 'the key of that certificate')
  let fits: boolean
  try {
    fits = new X509Certificate(cert).checkPrivateKey(createPrivateKey(key))
  } catch (thrown) {
    throw new LastwrapError(
      'wrong_input',
      `${certificateFile} and ${keyFile} can't be used for TLS (${reasonOf(thrown)}): both have to be PEM, the key without a password.`,
      { cause: thrown },
    )
  }
  if (!fits) {
    throw new LastwrapError('wrong_input', `The key ${keyFile} is not that of the certificate ${certificateFile}.`)
  }
  return { cert, key, minVersion: 'TLSv1.2' }
}

/** Whole days until a certificate ends; negative where it has ended. */
export const daysLeft = (cert: string, nowTMs: number): number =>
  Math.floor((Date.parse(new X509Certificate(cert).validTo) - nowTMs) / DAY_MS)

/** The monitor's own certificate below `folder`, made where there is none that lasts; one to two seconds. */
export async function ownTlsFiles(folder: string, names: readonly string[], nowTMs: number): Promise<TlsFiles> {
  const certificateFile = join(folder, 'own/certs/web_certificate.pem')
  const keyFile = join(folder, 'own/private/private_key.pem')
  if (await lasts(certificateFile, nowTMs)) return { certificateFile, keyFile }
  await mkdir(folder, { recursive: true, mode: 0o700 })
  const { OPCUACertificateManager } = await import('node-opcua-certificate-manager')
  const manager = new OPCUACertificateManager({ rootFolder: folder, disableFileWatchers: true })
  await manager.initialize()
  const host = hostname()
  const addresses = Object.values(networkInterfaces()).flatMap((list) => (list ?? []).map(({ address }) => address))
  await manager.createSelfSignedCertificate({
    applicationUri: `urn:${host}:Lastwrap:web`,
    dns: [...new Set([host, 'localhost', ...names])],
    // An address with a zone (fe80::1%eth0) is none that a certificate can hold.
    ip: [...new Set(['127.0.0.1', '::1', ...addresses.filter((address) => !address.startsWith('fe80:'))])],
    outputFile: certificateFile,
    // X.520 allows 64 characters for a common name.
    subject: `/CN=${host.slice(0, 64)}`,
    startDate: new Date(nowTMs - BACKDATED_DAYS * DAY_MS),
    validity: VALID_DAYS,
  })
  await manager.dispose()
  await chmod(keyFile, 0o600)
  return { certificateFile, keyFile }
}

async function lasts(certificateFile: string, nowTMs: number): Promise<boolean> {
  try {
    return daysLeft(await readFile(certificateFile, 'utf8'), nowTMs) > RENEW_DAYS
  } catch (thrown) {
    if ((thrown as NodeJS.ErrnoException).code === 'ENOENT') return false
    throw thrown
  }
}

async function textOf(file: string, what: string): Promise<string> {
  try {
    return await readFile(file, 'utf8')
  } catch (thrown) {
    throw new LastwrapError(
      'wrong_input',
      `The file ${file}, which should hold ${what}, can't be read (${fileReasonOf(thrown)}): name the right one, readable for the user that runs Lastwrap.`,
      {
        cause: thrown,
      },
    )
  }
}
