/**
 * From a config to a session: find the endpoint that offers the security asked for, let the certificate store decide on the
 * server's certificate, sign in. Every failure is one LastwrapError.
 *
 * The certificate is judged here, before the library connects, because the library only checks one that it fetched itself.
 */
import { X509Certificate } from 'node:crypto'
import type {
  ClientSession,
  EndpointDescription,
  MessageSecurityMode,
  OPCUAClient,
  UserIdentityInfo,
} from 'node-opcua-client'
import type { OpcUaSourceConfig } from '../config/config.ts'
import { LastwrapError } from '../errors.ts'
import { APPLICATION_NAME, applicationUriOf, CertificateStore } from '../security/certificates.ts'
import { RECONNECT } from './backoff.ts'
import { loadOpcUa, type OpcUa } from './opcua-library.ts'
import { certificateTrouble, connectTrouble, type Peer } from './opcua-trouble.ts'
import type { SourcePorts } from './ports.ts'

export interface OpcUaConnection {
  library: OpcUa
  client: OPCUAClient
  session: ClientSession
}

/** What a connection needs to know; a source's config has it all. */
export interface OpcUaPeerConfig
  extends Pick<OpcUaSourceConfig, 'name' | 'endpoint' | 'security' | 'user' | 'keepAliveS'> {
  /** No config names this server: messages speak of the options of `browse`. */
  isLook?: boolean
}

/** Longer than any pause to be ridden out, and longer than a subscription lives without us, ms. */
const SESSION_TIMEOUT_MS = 120_000
const TRANSPORT_TIMEOUT_MS = 5000
/** A request that isn't answered by then means a dead connection, ms. */
const TRANSACTION_TIMEOUT_MS = 5000
/** One attempt to connect, all steps together, ms. */
export const ATTEMPT_TIMEOUT_MS = 15_000
const CLOSE_TIMEOUT_MS = 2000

/** @throws LastwrapError with what a person can do. */
export async function connectOpcUa(
  config: OpcUaPeerConfig,
  ports: SourcePorts,
  timeoutMs = ATTEMPT_TIMEOUT_MS,
): Promise<OpcUaConnection> {
  const peer: Peer = { name: config.isLook === true ? undefined : config.name, endpoint: config.endpoint }
  const library = await loadOpcUa(ports.log)
  const store = await CertificateStore.open(ports.certificatesDir, ports.clock.nowMs())
  // Whatever is open when an attempt fails or takes too long is closed again.
  const open: { client?: OPCUAClient; session?: ClientSession; isOver: boolean } = { isOver: false }
  try {
    return await within(timeoutMs, attempt(config, ports, peer, library, store, open))
  } catch (thrown) {
    open.isOver = true
    await closeOpcUa(open)
    throw connectTrouble(peer, thrown, store.own.certificateFile)
  }
}

async function attempt(
  config: OpcUaPeerConfig,
  ports: SourcePorts,
  peer: Peer,
  library: OpcUa,
  store: CertificateStore,
  open: { client?: OPCUAClient; session?: ClientSession; isOver: boolean },
): Promise<OpcUaConnection> {
  const security = securityOf(config, library)
  const stillWanted = (): void => {
    if (open.isOver) throw new Error('the attempt is over')
  }
  const discovery = library.OPCUAClient.create({
    ...commonOptions(store),
    connectionStrategy: { maxRetry: 0, initialDelay: 100, maxDelay: 100 },
  })
  open.client = discovery
  await discovery.connect(config.endpoint)
  const endpoints = await discovery.getEndpoints()
  await discovery.disconnect()
  stillWanted()
  const endpoint = chooseEndpoint(config, library, endpoints, security)
  await judgeCertificate(config, ports, peer, store, endpoint)
  stillWanted()
  const client = library.OPCUAClient.create({
    ...commonOptions(store),
    ...security,
    ...(config.security.mode === 'none' ? {} : { serverCertificate: endpoint.serverCertificate }),
    endpointMustExist: false,
    keepSessionAlive: true,
    keepAliveInterval: config.keepAliveS * 1000,
    requestedSessionTimeout: SESSION_TIMEOUT_MS,
    connectionStrategy: {
      maxRetry: -1,
      initialDelay: RECONNECT.firstMs,
      maxDelay: RECONNECT.mostMs,
      randomisationFactor: RECONNECT.spread,
    },
  })
  open.client = client
  await client.connect(config.endpoint)
  stillWanted()
  const session = await client.createSession(await identityOf(config, ports, library, endpoint))
  open.session = session
  stillWanted()
  return { library, client, session }
}

/** Closes what is open; never throws, and takes at most about four seconds. */
export async function closeOpcUa(open: { client?: OPCUAClient; session?: ClientSession }): Promise<void> {
  const { client, session } = open
  if (session !== undefined) await quietly(session.close(true))
  if (client !== undefined) await quietly(client.disconnect())
}

/** A peer that is gone can't be taken leave of properly: what fails here has no further consequence. */
async function quietly(closing: Promise<unknown>): Promise<void> {
  await within(CLOSE_TIMEOUT_MS, closing).catch(() => undefined)
}

function commonOptions(store: CertificateStore) {
  return {
    applicationName: APPLICATION_NAME,
    applicationUri: store.own.applicationUri,
    clientName: APPLICATION_NAME,
    clientCertificateManager: store.manager,
    certificateFile: store.own.certificateFile,
    privateKeyFile: store.own.privateKeyFile,
    endpointMustExist: false,
    transportTimeout: TRANSPORT_TIMEOUT_MS,
    defaultTransactionTimeout: TRANSACTION_TIMEOUT_MS,
  }
}

interface Security {
  securityMode: MessageSecurityMode
  securityPolicy: string
}

function securityOf(config: OpcUaPeerConfig, library: OpcUa): Security {
  const { mode, policy } = config.security
  const { MessageSecurityMode, SecurityPolicy } = library
  if (mode === 'none') return { securityMode: MessageSecurityMode.None, securityPolicy: SecurityPolicy.None }
  const known = SecurityPolicy[policy as keyof typeof SecurityPolicy]
  if (known === undefined || known === SecurityPolicy.None || known === SecurityPolicy.Invalid) {
    throw new LastwrapError(
      'wrong_input',
      `The security policy "${policy}" of ${config.name} is unknown: use Basic256Sha256, Aes128_Sha256_RsaOaep or Aes256_Sha256_RsaPss.`,
    )
  }
  return {
    securityMode: mode === 'sign' ? MessageSecurityMode.Sign : MessageSecurityMode.SignAndEncrypt,
    securityPolicy: known,
  }
}

function chooseEndpoint(
  config: OpcUaPeerConfig,
  library: OpcUa,
  endpoints: readonly EndpointDescription[],
  security: Security,
): EndpointDescription {
  const fitting = endpoints.find(
    (each) => each.securityMode === security.securityMode && each.securityPolicyUri === security.securityPolicy,
  )
  if (fitting !== undefined) return fitting
  const offered = endpoints.map((each) => offerOf(each, library)).join('; ')
  const asked = config.security.mode === 'none' ? 'mode none' : `${config.security.policy}, ${config.security.mode}`
  throw new LastwrapError(
    'wrong_input',
    `The server ${config.name} (${config.endpoint}) does not offer ${asked}: write one that it offers ${config.isLook === true ? 'with --policy and --mode' : `under sources.${config.name}.security`} (${offered || 'it offers none'}).`,
  )
}

function offerOf(endpoint: EndpointDescription, library: OpcUa): string {
  const { MessageSecurityMode } = library
  if (endpoint.securityMode === MessageSecurityMode.None) return 'mode none'
  const policy = /#(.*)$/.exec(endpoint.securityPolicyUri ?? '')?.[1] ?? endpoint.securityPolicyUri
  return `${policy}, ${endpoint.securityMode === MessageSecurityMode.Sign ? 'sign' : 'sign_and_encrypt'}`
}

async function judgeCertificate(
  config: OpcUaPeerConfig,
  ports: SourcePorts,
  peer: Peer,
  store: CertificateStore,
  endpoint: EndpointDescription,
): Promise<void> {
  if (config.security.mode === 'none') return
  const chain = endpoint.serverCertificate
  if (chain === null || chain === undefined || chain.length === 0) {
    throw new LastwrapError(
      'certificate_untrusted',
      `The server ${config.name} (${config.endpoint}) shows no certificate: give it one, or choose another security there.`,
    )
  }
  const refusal = await store.refusalOf(chain, hostOf(config.endpoint))
  if (refusal !== undefined) {
    const trusted = refusal.rejectedFile === undefined ? undefined : store.trustedFileFor(refusal.rejectedFile)
    throw certificateTrouble(peer, refusal, trusted, store.folder)
  }
  const certificate = new X509Certificate(chain)
  const uri = applicationUriOf(certificate)
  if (uri !== undefined && uri !== endpoint.server.applicationUri) {
    ports.log.warn(
      `The certificate of ${config.name} is made out to ${uri}, the server calls itself ${endpoint.server.applicationUri}; it is accepted, as its certificate was trusted.`,
    )
  }
}

/** `opc.tcp://[::1]:4840/path` → `::1`. */
const hostOf = (endpoint: string): string => {
  const match = /^opc\.tcp:\/\/(?:\[([^\]]+)\]|([^/:]+))/.exec(endpoint)
  return match?.[1] ?? match?.[2] ?? ''
}

async function identityOf(
  config: OpcUaPeerConfig,
  ports: SourcePorts,
  library: OpcUa,
  endpoint: EndpointDescription,
): Promise<UserIdentityInfo> {
  const { UserTokenType, SecurityPolicy } = library
  if (config.user === undefined) return { type: UserTokenType.Anonymous }
  const password = config.user.password === undefined ? '' : await ports.readSecret(config.user.password)
  const token = endpoint.userIdentityTokens?.find((each) => each.tokenType === UserTokenType.UserName)
  const isPlain = token?.securityPolicyUri === SecurityPolicy.None || !token?.securityPolicyUri
  if (config.security.mode !== 'sign_and_encrypt' && isPlain) {
    ports.log.warn(`The password for ${config.name} travels in clear, as the connection is not encrypted.`)
  }
  return { type: UserTokenType.UserName, userName: config.user.name, password }
}

/** @throws Error `no answer within …` */
async function within<T>(timeoutMs: number, work: Promise<T>): Promise<T> {
  let timer: NodeJS.Timeout | undefined
  const tooLong = new Promise<never>((_, reject) => {
    timer = setTimeout(() => reject(new Error(`no answer within ${timeoutMs / 1000} s`)), timeoutMs)
  })
  try {
    return await Promise.race([work, tooLong])
  } finally {
    clearTimeout(timer)
  }
}
