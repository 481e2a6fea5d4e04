/**
 * OPC UA certificates: this monitor's own, made on the first start, and whom it trusts.
 *
 * Everything stands in one folder (`<data>/certificates/opcua`): `own/` with the private key, `trusted/certs/` for servers (or
 * authorities) that a person decided to trust, `issuers/`, and `rejected/` for certificates that came and were
 * refused. To trust a server, a person moves its file from `rejected/` to `trusted/certs/`; nothing here ever does so.
 */
import { X509Certificate } from 'node:crypto'
import { chmod, mkdir, readdir, readFile, writeFile } from 'node:fs/promises'
import { hostname } from 'node:os'
import { basename, join, resolve } from 'node:path'
import type { OPCUACertificateManager } from 'node-opcua-certificate-manager'

export const APPLICATION_NAME = 'Lastwrap'
const VALID_DAYS = 3650
/** PLC clocks are often behind: a certificate that starts today would be refused there, days. */
const BACKDATED_DAYS = 30
const DAY_MS = 24 * 3600 * 1000

export interface OwnCertificate {
  /** Stays for ever: servers hold it in their trust list. */
  applicationUri: string
  certificateFile: string
  privateKeyFile: string
}

/** Why a server's certificate is not accepted: the library's status and, where it was put aside, the file. */
export interface Refusal {
  status: string
  rejectedFile: string | undefined
}

export class CertificateStore {
  readonly folder: string
  readonly manager: OPCUACertificateManager
  readonly own: OwnCertificate

  private constructor(folder: string, manager: OPCUACertificateManager, own: OwnCertificate) {
    this.folder = folder
    this.manager = manager
    this.own = own
  }

  static readonly #opened = new Map<string, Promise<CertificateStore>>()

  /** Opens the folder; the first time ever it makes key and certificate, valid from about `nowMs` (one to two seconds). One store per folder and process. */
  static open(folder: string, nowMs: number): Promise<CertificateStore> {
    const full = resolve(folder)
    const known = CertificateStore.#opened.get(full)
    if (known !== undefined) return known
    const opening = CertificateStore.#open(full, nowMs).catch((thrown) => {
      CertificateStore.#opened.delete(full)
      throw thrown
    })
    CertificateStore.#opened.set(full, opening)
    return opening
  }

  static async #open(folder: string, nowMs: number): Promise<CertificateStore> {
    await mkdir(folder, { recursive: true, mode: 0o700 })
    await chmod(folder, 0o700)
    const { OPCUACertificateManager } = await import('node-opcua-certificate-manager')
    const manager = new OPCUACertificateManager({
      rootFolder: folder,
      automaticallyAcceptUnknownCertificate: false,
      // Trust is looked up afresh for every connection instead.
      disableFileWatchers: true,
    })
    await manager.initialize()
    // Clients come and go and each lets go of the manager; this one holds it for the life of the process.
    manager.referenceCounter += 1
    const certificateFile = join(folder, 'own/certs/client_certificate.pem')
    const applicationUri = (await applicationUriIn(certificateFile)) ?? (await makeOwn(manager, certificateFile, nowMs))
    return new CertificateStore(folder, manager, {
      applicationUri,
      certificateFile,
      privateKeyFile: manager.privateKey,
    })
  }

  /**
   * Whether a person (or an authority that a person trusts) vouches for a server. Reads the folder anew, as files may have
   * been moved since.
   *
   * A certificate that a person trusts by itself is that server's, whatever name it was made for (PLCs often carry none that
   * fits); where only an authority vouches for it, it has to be made for the host that was called.
   *
   * @param chain DER, the server's own certificate first
   * @param host name or address that was called
   */
  async refusalOf(chain: Buffer, host: string): Promise<Refusal | undefined> {
    await this.manager.reloadCertificates()
    const status = await this.manager.verifyCertificate(chain, {
      acceptCertificateWithValidIssuerChain: true,
    })
    if (status !== 'Good') return { status, rejectedFile: await this.#putAside(chain) }
    const leaf = new X509Certificate(chain)
    if (leaf.checkHost(host) !== undefined || leaf.checkIP(host) !== undefined) return undefined
    const rejectedFile = await this.#putAside(chain)
    // Nothing is put aside of what a person trusts by itself.
    return rejectedFile === undefined ? undefined : { status: 'BadCertificateHostNameInvalid', rejectedFile }
  }

  /** The file in `rejected/` with this certificate; it is written where it isn't there yet. Undefined where it is trusted already. */
  async #putAside(chain: Buffer): Promise<string | undefined> {
    const leaf = new X509Certificate(chain)
    if ((await fileWith(leaf, join(this.folder, 'trusted/certs'))) !== undefined) return undefined
    const rejected = join(this.folder, 'rejected')
    const there = await fileWith(leaf, rejected)
    if (there !== undefined) return there
    const name = /CN=([^\n]*)/.exec(leaf.subject)?.[1]?.replace(/[^\w.@-]+/g, '_') ?? 'server'
    const file = join(rejected, `${name}[${leaf.fingerprint.replaceAll(':', '').toLowerCase()}].pem`)
    await writeFile(file, leaf.toString(), { mode: 0o600 })
    return file
  }

  /** Where a rejected file has to be moved for its certificate to be trusted. */
  trustedFileFor(rejectedFile: string): string {
    return join(this.folder, 'trusted/certs', basename(rejectedFile))
  }
}

async function applicationUriIn(certificateFile: string): Promise<string | undefined> {
  let pem: string
  try {
    pem = await readFile(certificateFile, 'utf8')
  } catch (thrown) {
    if ((thrown as NodeJS.ErrnoException).code === 'ENOENT') return undefined
    throw thrown
  }
  return applicationUriOf(new X509Certificate(pem))
}

/** The application URI in a certificate (subjectAltName, OPC 10000-6 §6.2.2). */
export const applicationUriOf = (certificate: X509Certificate): string | undefined =>
  /URI:("?)([^",]+)\1/.exec(certificate.subjectAltName ?? '')?.[2]

async function makeOwn(manager: OPCUACertificateManager, certificateFile: string, nowMs: number): Promise<string> {
  const host = hostname()
  const applicationUri = `urn:${host}:${APPLICATION_NAME}`
  await manager.createSelfSignedCertificate({
    applicationUri,
    dns: [host],
    outputFile: certificateFile,
    // X.520 allows 64 characters for a common name.
    subject: `/CN=${`${APPLICATION_NAME}@${host}`.slice(0, 64)}`,
    startDate: new Date(nowMs - BACKDATED_DAYS * DAY_MS),
    validity: VALID_DAYS,
  })
  await chmod(certificateFile, 0o600)
  return applicationUri
}

async function fileWith(certificate: X509Certificate, folder: string): Promise<string | undefined> {
  for (const name of await readdir(folder)) {
    const file = join(folder, name)
    try {
      if (new X509Certificate(await readFile(file)).fingerprint256 === certificate.fingerprint256) return file
    } catch (thrown) {
      // A file that is no certificate may lie there; it is not the one that is looked for.
      if (!(thrown instanceof Error)) throw thrown
    }
  }
  return undefined
}
